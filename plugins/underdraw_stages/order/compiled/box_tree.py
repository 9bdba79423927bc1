"""Nearest neighbours among many points that belong to nodes: a balanced tree of boxes, built by sorting.

A node is what others are near to: one end of an open stroke, or a closed stroke with many points. Of several points
of one node only the nearest counts. Like `local_search`, the look-up runs as it stands or compiled.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw_stages.order.compiled import Reals, Wholes

LEAF = 8  # points to a box that is not split further
DEEPEST = 64  # levels of a tree; 2^64 leaves are never reached


class BoxTree(NamedTuple):
    """Points sorted into the leaves of a complete binary tree; box i has children 2i + 1 and 2i + 2."""

    x: Reals  # (n,) points in leaf order
    y: Reals
    node: Wholes  # (n,) which node each belongs to
    stroke: Wholes  # (nodes,) which stroke each node belongs to
    node_start: Wholes  # (nodes + 1,) into node_point
    node_point: Wholes  # (n,) the points of each node, as positions in leaf order
    left: Reals  # (boxes,)
    top: Reals
    right: Reals
    bottom: Reals
    start: Wholes  # (boxes,) its points
    stop: Wholes
    leaves: int


def build_boxes(points: NDArray[np.float64], node: NDArray[np.int64], stroke: NDArray[np.int64]) -> BoxTree:
    """Sort (n, 2) points into boxes of at most LEAF points, halving the longer side. All arrays are numpy's."""
    count = len(points)
    depth = 0
    while (count >> depth) > LEAF:
        depth += 1
    order = np.arange(count)
    starts = np.array([0, count], dtype=np.int64)
    levels: list[tuple[NDArray[Any], ...]] = []
    for level in range(depth + 1):
        sorted_points = points[order]
        low = np.minimum.reduceat(sorted_points, starts[:-1], axis=0)
        high = np.maximum.reduceat(sorted_points, starts[:-1], axis=0)
        levels.append((low, high, starts[:-1], starts[1:]))
        if level == depth:
            break
        box = np.repeat(np.arange(len(starts) - 1), np.diff(starts))
        tall = (high - low)[:, 1] > (high - low)[:, 0]
        along = np.where(tall[box], sorted_points[:, 1], sorted_points[:, 0])
        order = order[np.lexsort((along, box))]
        middles = starts[:-1] + np.diff(starts) // 2
        starts = np.sort(np.concatenate([starts, middles]))
    low, high = (np.concatenate([level[k] for level in levels]) for k in (0, 1))
    start, stop = (np.concatenate([level[k] for level in levels]).astype(np.int64) for k in (2, 3))
    node_here = node[order].astype(np.int64)
    node_start = offsets(np.bincount(node_here, minlength=len(stroke)))
    return BoxTree(
        np.ascontiguousarray(points[order, 0]),
        np.ascontiguousarray(points[order, 1]),
        node_here,
        stroke.astype(np.int64),
        node_start,
        np.argsort(node_here, kind="stable").astype(np.int64),
        left=np.ascontiguousarray(low[:, 0]),
        top=np.ascontiguousarray(low[:, 1]),
        right=np.ascontiguousarray(high[:, 0]),
        bottom=np.ascontiguousarray(high[:, 1]),
        start=start,
        stop=stop,
        leaves=1 << depth,
    )


def outside(boxes: BoxTree, box: int, x: float, y: float) -> float:
    """Squared distance from a point to a box, 0 within it."""
    dx = max(boxes.left[box] - x, 0.0, x - boxes.right[box])
    dy = max(boxes.top[box] - y, 0.0, y - boxes.bottom[box])
    return dx * dx + dy * dy


def keep_nearest(near: Wholes, near_mm: Reals, at: int, k: int, node: int, distance: float) -> None:
    """Put a node into the sorted list at..at + k - 1, once, by distance and then by number."""
    position = at + k - 1
    for i in range(at, at + k):
        if near[i] == node:
            if near_mm[i] <= distance:
                return
            position = i
            break
    if near[position] != node and near[position] >= 0 and (near_mm[position], near[position]) <= (distance, node):
        return
    while position > at and (near[position - 1] < 0 or (near_mm[position - 1], near[position - 1]) > (distance, node)):
        near[position] = near[position - 1]
        near_mm[position] = near_mm[position - 1]
        position -= 1
    near[position] = node
    near_mm[position] = distance


def nearest_nodes(boxes: BoxTree, k: int, first: int, last: int, near: Wholes, near_mm: Reals) -> None:
    """For nodes first..last - 1 the k nearest nodes of other strokes, in near[node × k:], with squared distances.

    `near` comes filled with -1, `near_mm` with infinity.
    """
    stack = [0] * (2 * DEEPEST)
    boxes_above_leaves = boxes.leaves - 1
    for node in range(first, last):
        at = node * k
        own = boxes.stroke[node]
        for i in range(boxes.node_start[node], boxes.node_start[node + 1]):
            x, y = boxes.x[boxes.node_point[i]], boxes.y[boxes.node_point[i]]
            stack[0] = 0
            depth = 1
            while depth > 0:
                depth -= 1
                box = stack[depth]
                if outside(boxes, box, x, y) > near_mm[at + k - 1]:
                    continue
                if box >= boxes_above_leaves:
                    for point in range(boxes.start[box], boxes.stop[box]):
                        other = boxes.node[point]
                        if boxes.stroke[other] == own:
                            continue
                        dx, dy = boxes.x[point] - x, boxes.y[point] - y
                        distance = dx * dx + dy * dy
                        if distance <= near_mm[at + k - 1]:
                            keep_nearest(near, near_mm, at, k, other, distance)
                    continue
                one, two = 2 * box + 1, 2 * box + 2
                if outside(boxes, one, x, y) < outside(boxes, two, x, y):
                    one, two = two, one
                stack[depth] = one
                stack[depth + 1] = two
                depth += 2


KERNELS = ["outside", "keep_nearest", "nearest_nodes"]
