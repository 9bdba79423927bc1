"""Which ends lie near which: lists of near cities, for the search to try."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets, row_positions
from underdraw_stages.order.search.stroke_ends import StrokeEnds

NEAREST = 8  # nodes in a list; the search's gain is small beyond (Johnson and McGeoch 1997 use 20 quadrant neighbours)
RING_POINTS = 16  # of a usual ring, to look for neighbours from; the entry itself may be any point
LEAST_RING_POINTS = 4
ALL_RING_POINTS = 400_000  # of all rings together, so that memory does not grow with their detail
HANDFUL = 12  # nodes to a box, from whose size the first reach comes
GROWTH = 1.6  # of the reach of a node whose list is not full
LEAST_REACH = 1e-6  # mm
AT_ONCE = 20_000  # nodes looked at together, so that memory does not grow with their number


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


@dataclass(frozen=True)
class Near:
    """(n, k) the nearest nodes of other strokes to each of n, nearest first, -1 where there are no more; mm: how far.

    Of equally near ones the first.
    """

    nodes: Nodes
    near: NDArray[np.int64]
    mm: NDArray[np.float64]

    def renumbered(self, order: NDArray[np.int64], nodes: Nodes) -> "Near":
        """The same for strokes in another order, with their own nodes."""
        place = np.empty(len(order), dtype=np.int64)
        place[order] = np.arange(len(order))
        city = self.nodes.cities[:, 0]
        number = nodes.node_of_city[2 * place[city >> 1] + (city & 1)]
        near, mm = np.empty_like(self.near), np.empty_like(self.mm)
        near[number], mm[number] = np.where(self.near >= 0, number[self.near], -1), self.mm
        return Near(nodes, near, mm)


def near_nodes(nodes: Nodes, k: int) -> Near:
    """The k nearest of each node: all within its reach are looked at, and the reach grows where those are too few."""
    count = len(nodes.stroke)
    found = Near(nodes, np.full((count, k), -1), np.full((count, k), np.inf))
    shape = shapes_of(nodes)
    bounds = shapely.bounds(shape)
    farthest = 2 * float(np.hypot(*np.ptp(nodes.points, axis=0))) + LEAST_REACH
    reach = np.clip(handful_reach((bounds[:, :2] + bounds[:, 2:]) / 2), LEAST_REACH, farthest)
    asked = np.flatnonzero(rank_in_place(bounds) <= k + 1)  # of many in one place no list has more
    tree = shapely.STRtree(shape[asked])
    waiting = np.arange(count)
    while len(waiting):
        for some in np.array_split(waiting, -(-len(waiting) // AT_ONCE)):
            one, two = tree.query(shape[some], predicate="dwithin", distance=reach[some])
            one, two = some[one], asked[two]
            others = nodes.stroke[one] != nodes.stroke[two]
            one, two = one[others], two[others]
            mm = shapely.distance(shape[one], shape[two])
            sequence = np.lexsort((two, mm, one))
            one, two, mm = one[sequence], two[sequence], mm[sequence]
            place = np.arange(len(one)) - np.searchsorted(one, one)
            listed = place < k
            found.near[one[listed], place[listed]] = two[listed]
            found.mm[one[listed], place[listed]] = mm[listed]
        waiting = waiting[np.isinf(found.mm[waiting, -1]) & (reach[waiting] < farthest)]
        reach[waiting] = np.minimum(GROWTH * reach[waiting], farthest)
    return found


def shapes_of(nodes: Nodes) -> NDArray[Any]:
    """(nodes,) a Point, or the MultiPoint of a ring's."""
    order = np.argsort(nodes.node, kind="stable")
    points, node = nodes.points[order], nodes.node[order]
    counts = np.bincount(node, minlength=len(nodes.stroke))
    shape = np.asarray(shapely.points(points[offsets(counts)[:-1]]))
    many = counts > 1
    if many.any():
        of_many = many[node]
        shape[many] = shapely.multipoints(shapely.points(points[of_many]), indices=(np.cumsum(many) - 1)[node[of_many]])
    return shape


def handful_reach(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) mm, about as far from each of (n, 2) points as a handful of them lie: half the diagonal of its box.

    The boxes are halved across their longer sides until each holds a handful.
    """
    order, starts = np.arange(len(points)), np.array([0, len(points)])
    while True:
        low, high = (extreme.reduceat(points[order], starts[:-1]) for extreme in (np.minimum, np.maximum))
        counts = np.diff(starts)
        if counts.max() <= HANDFUL:
            break
        box = np.repeat(np.arange(len(counts)), counts)
        sides = high - low
        axis = (sides[:, 1] > sides[:, 0]).astype(np.int64)[box]
        order = order[np.lexsort((points[order, axis], box))]
        starts = np.union1d(starts, starts[:-1] + counts // 2)
    reach = np.empty(len(points))
    reach[order] = np.repeat(np.hypot(*(high - low).T) / 2, counts)
    return reach


def rank_in_place(bounds: NDArray[np.float64]) -> NDArray[np.int64]:
    """(n,) how many with the same (n, 4) bounds come before each."""
    _, place, counts = np.unique(bounds, axis=0, return_inverse=True, return_counts=True)
    rank = np.empty(len(bounds), dtype=np.int64)
    rank[np.argsort(place.reshape(-1), kind="stable")] = row_positions(counts)
    return rank


def near_cities(found: Near) -> tuple[NDArray[np.int64], NDArray[np.float64], int]:
    """The same lists for cities, flat: (2n × width,) cities, their distances, and the width.

    A node with two cities stands in a list as both, one behind the other.
    """
    nodes, near = found.nodes, found.near
    doubled = bool((nodes.cities[:, 1] >= 0).any())
    if not doubled:
        cities = np.where(near >= 0, nodes.cities[near, 0], -1)
        return cities[nodes.node_of_city].ravel(), found.mm[nodes.node_of_city].ravel(), near.shape[1]
    count, k = near.shape
    cities = np.where(near[:, :, None] >= 0, nodes.cities[near], -1).reshape(count, 2 * k)
    distance = np.repeat(found.mm, 2, axis=1)
    front = np.argsort(cities < 0, axis=1, kind="stable")
    cities, distance = np.take_along_axis(cities, front, axis=1), np.take_along_axis(distance, front, axis=1)
    return cities[nodes.node_of_city].ravel(), distance[nodes.node_of_city].ravel(), 2 * k
