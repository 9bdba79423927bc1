"""Strokes' ends and rings as a graph: which are near which, and how far they are apart at least.

A ring's distances are found from below, and made exact where a bound rests on them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.order.bound.odd_sets import odd_sets
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.compiled.lower_distances import Outlines
from underdraw_stages.order.search.neighbours import Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds

NEAR = 8  # near pairs of each node


@dataclass
class Graph:
    """Nodes with how many free edges a tour has at each (`degree`), their strokes, and the near pairs between them."""

    strokes: StrokeEnds
    nodes: Nodes
    park: NDArray[np.float64]
    degree: NDArray[np.int64]
    one: NDArray[np.int64]
    two: NDArray[np.int64]
    mm: NDArray[np.float64]
    to_park: NDArray[np.float64]
    rings: NDArray[np.int64]  # (r,) nodes that are closed strokes
    row: NDArray[np.int64]  # (nodes,) which of those, -1 for others
    ring_mm: NDArray[np.float64]  # (r, nodes) at least, mm
    ring_mm_exact: NDArray[np.bool_]  # (r, nodes) whether that is the distance itself
    odd: NDArray[np.int64]  # (levels, nodes) which odd set each is in, or -1


def graph_of(strokes: StrokeEnds, park: NDArray[np.float64], plan: Plan, longest: float, kernels: Kernels) -> Graph:
    """The graph of strokes; the plan's own travels are near pairs too. longest: mm, the longest of these."""
    nodes = Nodes.of(strokes)
    count = len(nodes.stroke)
    near = near_nodes(nodes, min(NEAR, max(1, count - 1))).near
    turned = plan.turned.astype(np.int64)
    entered = nodes.node_of_city[2 * plan.order + turned]
    left = nodes.node_of_city[2 * plan.order + 1 - turned]
    one = np.concatenate([np.repeat(np.arange(count), near.shape[1]), left[:-1]])
    two = np.concatenate([near.ravel(), entered[1:]])
    real = two >= 0
    pairs = np.unique(np.sort(np.column_stack([one[real], two[real]]), axis=1), axis=0)
    is_ring = strokes.closed[nodes.stroke]
    rings = np.flatnonzero(is_ring)
    row = np.full(count, -1)
    row[rings] = np.arange(len(rings))
    graph = Graph(
        strokes,
        nodes,
        park,
        np.where(nodes.cities[:, 1] >= 0, 2, 1),
        pairs[:, 0],
        pairs[:, 1],
        np.empty(0),
        park_distances(strokes, nodes, rings, park),
        rings,
        row,
        ring_distances(strokes, nodes, rings, 1.5 * longest, kernels),
        np.zeros((len(rings), count), dtype=np.bool_),
        np.empty((0, count), dtype=np.int64),
    )
    make_exact(graph, graph.one, graph.two)
    graph.mm = distances(graph, graph.one, graph.two)
    graph.odd = odd_sets(graph.degree == 1, graph.one, graph.two, graph.mm)
    return graph


def entry_points(strokes: StrokeEnds, nodes: Nodes, node: int) -> NDArray[np.float64]:
    """(k, 2) all points at which a node may be entered."""
    stroke = nodes.stroke[node]
    first, last = strokes.ring_start[stroke], strokes.ring_start[stroke + 1]
    if last > first:
        return strokes.ring[first:last]
    return np.asarray((strokes.last if nodes.cities[node, 0] & 1 else strokes.first)[stroke][None, :])


def park_distances(
    strokes: StrokeEnds, nodes: Nodes, rings: NDArray[np.int64], park: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(nodes,) mm from park to each, a ring's nearest point."""
    odd = nodes.cities[:, 0] & 1
    ends = np.where(odd[:, None] == 1, strokes.last[nodes.stroke], strokes.first[nodes.stroke])
    from_park = np.hypot(*(ends - park).T)
    for node in rings.tolist():
        from_park[node] = np.hypot(*(entry_points(strokes, nodes, node) - park).T).min()
    return np.asarray(from_park)


def ring_distances(
    strokes: StrokeEnds, nodes: Nodes, rings: NDArray[np.int64], far: float, kernels: Kernels
) -> NDArray[np.float64]:
    """(rings, nodes) mm at least; below `far` mm that is close to the distance itself."""
    if not len(rings):
        return np.empty((0, len(nodes.stroke)))
    order = np.argsort(nodes.node, kind="stable")
    start = np.searchsorted(nodes.node[order], np.arange(len(nodes.stroke) + 1))
    points = nodes.points[order]
    sample_gap = np.zeros(len(nodes.stroke))
    for node in rings.tolist():
        every, some = entry_points(strokes, nodes, node), points[start[node] : start[node + 1]]
        gaps = every[:, None, :] - some[None, :, :]
        sample_gap[node] = np.hypot(gaps[..., 0], gaps[..., 1]).min(axis=1).max()
    middle, radius = strokes.circles()
    middles, radii = points[start[:-1]].copy(), np.zeros(len(nodes.stroke))
    middles[rings], radii[rings] = middle[nodes.stroke[rings]], radius[nodes.stroke[rings]]
    columns = (points[:, 0], points[:, 1], sample_gap, middles[:, 0], middles[:, 1], radii)
    outlines = kernels.arrays(Outlines(start, *(np.ascontiguousarray(column) for column in columns)))
    out = np.empty(len(rings) * len(nodes.stroke))
    rows, values = (rings, out) if kernels.compiled else (rings.tolist(), out.tolist())
    kernels.lower_distances(outlines, rows, far, values)
    return np.asarray(values).reshape(len(rings), len(nodes.stroke))


def make_exact(graph: Graph, one: NDArray[np.int64], two: NDArray[np.int64]) -> int:
    """Find the distances of these pairs exactly; returns how many were not yet."""
    row, made = graph.row, 0
    for a, b in zip(one.tolist(), two.tolist(), strict=True):
        if row[a] < 0 and row[b] < 0:
            continue
        if (row[a] >= 0 and graph.ring_mm_exact[row[a], b]) or (row[b] >= 0 and graph.ring_mm_exact[row[b], a]):
            continue
        points, others = (entry_points(graph.strokes, graph.nodes, node) for node in (a, b))
        gaps = (points[:, None, :] - others[None, :, :]).reshape(-1, 2)
        apart_mm = float(np.sqrt((gaps * gaps).sum(axis=1).min()))
        for here, there in ((a, b), (b, a)):
            if row[here] >= 0:
                graph.ring_mm[row[here], there] = apart_mm
                graph.ring_mm_exact[row[here], there] = True
        made += 1
    return made


def distances(graph: Graph, one: NDArray[np.int64], two: NDArray[np.int64]) -> NDArray[np.float64]:
    """(e,) mm between pairs of nodes, at least."""
    at = positions(graph)
    mm = np.hypot(*(at[one] - at[two]).T)
    row = graph.row
    for a, b in ((one, two), (two, one)):
        with_ring = row[a] >= 0
        mm[with_ring] = graph.ring_mm[row[a[with_ring]], b[with_ring]]
    return np.asarray(mm)


def positions(graph: Graph) -> NDArray[np.float64]:
    """(nodes, 2) where open ends are; a ring's first point for its node."""
    odd = graph.nodes.cities[:, 0] & 1
    return np.where(odd[:, None] == 1, graph.strokes.last[graph.nodes.stroke], graph.strokes.first[graph.nodes.stroke])
