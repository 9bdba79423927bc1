"""Which ends lie near which: lists of near cities, for the search to try."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets, row_positions
from underdraw_stages.order.compiled.box_tree import build_boxes
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.search.stroke_ends import StrokeEnds

NEAREST = 8  # nodes in a list; the search's gain is small beyond (Johnson and McGeoch 1997 use 20 quadrant neighbours)
RING_POINTS = 16  # of a usual ring, to look for neighbours from; the entry itself may be any point
LEAST_RING_POINTS = 4
ALL_RING_POINTS = 400_000  # of all rings together, so that memory does not grow with their detail
BRUTE = 2000  # points up to which all distances at once are quicker than a tree


@dataclass(frozen=True)
class Nodes:
    """What can be near: the two ends of an open stroke, or a whole closed one (or one of no length).

    points: (p, 2) mm; node: (p,) which node each belongs to; stroke: (nodes,) its stroke; cities: (nodes, 2) its
    cities, the second -1 where it has one; node_of_city: (2n,) back again.
    """

    points: NDArray[np.float64]
    node: NDArray[np.int64]
    stroke: NDArray[np.int64]
    cities: NDArray[np.int64]
    node_of_city: NDArray[np.int64]

    @classmethod
    def of(cls, strokes: StrokeEnds) -> "Nodes":
        """Ends, and enough points of each ring to tell what is near."""
        count = len(strokes)
        both = strokes.pointlike
        node_of_city = np.empty((count, 2), dtype=np.int64)
        starts = offsets(np.where(both, 1, 2))
        node_of_city[:, 0] = starts[:-1]
        node_of_city[:, 1] = np.where(both, starts[:-1], starts[:-1] + 1)
        stroke = np.repeat(np.arange(count), np.where(both, 1, 2))
        cities = np.full((starts[-1], 2), -1, dtype=np.int64)
        cities[node_of_city[:, 1], 0] = 2 * np.arange(count) + 1
        cities[node_of_city[:, 0], 0] = 2 * np.arange(count)
        cities[node_of_city[both, 0], 1] = 2 * np.flatnonzero(both) + 1
        picked, ring_of_picked = sample_rings(strokes)
        is_open = ~strokes.closed
        two_ended = is_open & ~both
        points = np.concatenate([strokes.first[is_open], strokes.last[two_ended], strokes.ring[picked]])
        node = np.concatenate([node_of_city[is_open, 0], node_of_city[two_ended, 1], node_of_city[ring_of_picked, 0]])
        return cls(points, node, stroke, cities, node_of_city.ravel())


def sample_rings(strokes: StrokeEnds) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Points spread over each ring, more of a longer one: their indices into `strokes.ring`, and the stroke of each."""
    rings = np.flatnonzero(strokes.closed)
    if not len(rings):
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    starts, sizes = strokes.ring_start[rings], np.diff(strokes.ring_start)[rings]
    steps = np.hypot(*np.diff(strokes.ring, axis=0, append=strokes.ring[:1]).T)
    steps[starts + sizes - 1] = 0.0  # not from one ring to the next
    share = np.add.reduceat(steps, starts)
    budget = min(RING_POINTS * len(rings), ALL_RING_POINTS)
    taken = np.ceil(budget * share / max(share.sum(), 1e-9)).astype(np.int64)
    taken = np.minimum(np.maximum(taken, LEAST_RING_POINTS), sizes)
    ring_index = np.repeat(np.arange(len(rings)), taken)
    step = row_positions(taken)
    return starts[ring_index] + step * sizes[ring_index] // taken[ring_index], rings[ring_index]


def near_nodes(nodes: Nodes, k: int, kernels: Kernels) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """(nodes, k) nearest nodes of other strokes, nearest first, -1 where there are no more; and how far (mm)."""
    count = len(nodes.stroke)
    if not kernels.compiled and len(nodes.points) <= BRUTE:
        return _near_by_all_distances(nodes, k)
    boxes = kernels.arrays(build_boxes(nodes.points, nodes.node, nodes.stroke))
    near, near_mm = np.full(count * k, -1, dtype=np.int64), np.full(count * k, np.inf)
    lists = (near, near_mm) if kernels.compiled else (near.tolist(), near_mm.tolist())
    kernels.nearest_nodes(boxes, k, 0, count, *lists)
    return np.asarray(lists[0]).reshape(count, k), np.sqrt(np.asarray(lists[1])).reshape(count, k)


def squared_distances(nodes: Nodes) -> NDArray[np.float64]:
    """(nodes, nodes) least distance between points of each pair, squared, in mm²: as the tree compares them."""
    order = np.argsort(nodes.node, kind="stable")
    points, starts = nodes.points[order], np.searchsorted(nodes.node[order], np.arange(len(nodes.stroke)))
    squared, y = (np.subtract.outer(points[:, axis], points[:, axis]) for axis in (0, 1))
    squared *= squared
    y *= y
    squared += y
    if len(starts) == len(points):  # ends alone
        return squared
    of_points = np.minimum.reduceat(squared, starts, axis=0).T  # symmetric: rows twice, which is quicker than columns
    return np.minimum.reduceat(np.ascontiguousarray(of_points), starts, axis=0)


def _near_by_all_distances(nodes: Nodes, k: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    squared = squared_distances(nodes)
    squared[nodes.stroke[:, None] == nodes.stroke[None, :]] = np.inf
    near = _least_of_rows(squared, min(k, len(squared)))
    near_mm = np.sqrt(np.take_along_axis(squared, near, axis=1))
    near[np.isinf(near_mm)] = -1
    if near.shape[1] < k:
        spare = ((0, 0), (0, k - near.shape[1]))
        near, near_mm = np.pad(near, spare, constant_values=-1), np.pad(near_mm, spare, constant_values=np.inf)
    return near, near_mm


def _least_of_rows(values: NDArray[np.float64], k: int) -> NDArray[np.int64]:
    """(n, k) columns of each row's least values, least first; of equal ones the first, as a stable sort has them."""
    bound = np.partition(values, k - 1, axis=1)[:, k - 1 : k]
    row, column = np.nonzero(values <= bound)
    sequence = np.lexsort((values[row, column], row))
    starts = np.searchsorted(row, np.arange(len(values)))
    least: NDArray[np.int64] = column[sequence][starts[:, None] + np.arange(k)]
    return least


def near_cities(
    nodes: Nodes, near: NDArray[np.int64], near_mm: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64], int]:
    """The same lists for cities, flat: (2n × width,) cities, their distances, and the width.

    A node with two cities stands in a list as both, one behind the other.
    """
    doubled = bool((nodes.cities[:, 1] >= 0).any())
    if not doubled:
        cities = np.where(near >= 0, nodes.cities[near, 0], -1)
        return cities[nodes.node_of_city].ravel(), near_mm[nodes.node_of_city].ravel(), near.shape[1]
    count, k = near.shape
    cities = np.where(near[:, :, None] >= 0, nodes.cities[near], -1).reshape(count, 2 * k)
    distance = np.repeat(near_mm, 2, axis=1)
    front = np.argsort(cities < 0, axis=1, kind="stable")
    cities, distance = np.take_along_axis(cities, front, axis=1), np.take_along_axis(distance, front, axis=1)
    return cities[nodes.node_of_city].ravel(), distance[nodes.node_of_city].ravel(), 2 * k
