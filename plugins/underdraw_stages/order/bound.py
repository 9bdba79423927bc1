"""A length that no order's travel can go below: the lightest tree, with prices that push it towards a tour.

Held and Karp, 'The traveling-salesman problem and minimum spanning trees' (1970, 1971): a tour is a tree over all
strokes with two more edges to park. With a price on every end, added to each edge there and taken off again once for
each edge that a tour has there, the lightest such tree stays a lower bound; the prices are found by ascent.
The ascent looks at near pairs only; the bound itself is then taken over all pairs, so it holds whatever the prices.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.order.apart import Outlines
from underdraw_stages.order.improve import circles
from underdraw_stages.order.kernels import Kernels
from underdraw_stages.order.neighbours import Nodes, near_nodes
from underdraw_stages.order.strokes import Plan, Strokes, ends_of
from underdraw_stages.order.tree import Edges

BOUND_STROKES = 2000  # more would take longer than the search
NEAR = 8
CLIMBS = 150  # steps of the ascent
PATIENCE = 6  # steps without a higher bound before they are made smaller
ROUNDS = 6  # times that distances which a tree rests on are made exact, and the tree found again
ROUNDING_MM = 1e-6  # taken off for each edge: sums of floats may be off by less


@dataclass
class Graph:
    """Nodes with how many free edges a tour has at each (`due`), their strokes, and the near pairs between them."""

    strokes: Strokes
    nodes: Nodes
    park: NDArray[np.float64]
    due: NDArray[np.int64]
    one: NDArray[np.int64]
    two: NDArray[np.int64]
    mm: NDArray[np.float64]
    to_park: NDArray[np.float64]
    rings: NDArray[np.int64]  # (r,) nodes that are closed strokes
    ring_apart: NDArray[np.float64]  # (r, nodes) at least, mm
    exact: NDArray[np.bool_]  # (r, nodes) whether that is the distance itself


def least_travel(strokes: Strokes, park: NDArray[np.float64], plan: Plan, kernels: Kernels) -> float:
    """mm that every travel from park through all strokes and back takes at least; `plan` is one to begin from.

    strokes: up to BOUND_STROKES, at least one.
    """
    into, out = ends_of(strokes, plan)
    hops = np.hypot(*(into[1:] - out[:-1]).T)
    travel = float(hops.sum() + np.hypot(*(into[0] - park)) + np.hypot(*(out[-1] - park)))
    graph = _graph(strokes, park, plan, float(hops.max(initial=0.0)), kernels)
    if len(strokes) == 1:
        to_park = np.sort(np.tile(graph.to_park, 2 if len(graph.to_park) == 1 else 1))
        return float(max(0.0, to_park[:2].sum() - 2 * ROUNDING_MM))
    best = _over_all_pairs(graph, _ascend(graph, travel, kernels))
    return max(0.0, min(travel, best - ROUNDING_MM * (len(strokes) + 1)))


def _graph(strokes: Strokes, park: NDArray[np.float64], plan: Plan, longest: float, kernels: Kernels) -> Graph:
    nodes = Nodes.of(strokes)
    count = len(nodes.owner)
    near, _ = near_nodes(nodes, min(NEAR, max(1, count - 1)), kernels)
    turned = plan.turned.astype(np.int64)
    entered = nodes.of_city[2 * plan.order + turned]
    left = nodes.of_city[2 * plan.order + 1 - turned]
    one = np.concatenate([np.repeat(np.arange(count), near.shape[1]), left[:-1]])
    two = np.concatenate([near.ravel(), entered[1:]])
    real = two >= 0
    pairs = np.unique(np.sort(np.column_stack([one[real], two[real]]), axis=1), axis=0)
    is_ring = strokes.closed[nodes.owner]
    rings = np.flatnonzero(is_ring)
    graph = Graph(
        strokes,
        nodes,
        park,
        np.where(nodes.cities[:, 1] >= 0, 2, 1),
        pairs[:, 0],
        pairs[:, 1],
        np.empty(0),
        np.array([_nearest_to(strokes, nodes, node, park) for node in range(count)]),
        rings,
        _ring_distances(strokes, nodes, rings, 1.5 * longest, kernels),
        np.zeros((len(rings), count), dtype=np.bool_),
    )
    _make_exact(graph, graph.one, graph.two)
    graph.mm = _apart(graph, graph.one, graph.two)
    return graph


def _points(strokes: Strokes, nodes: Nodes, node: int) -> NDArray[np.float64]:
    """(k, 2) all points at which a node may be entered."""
    stroke = nodes.owner[node]
    if strokes.closed[stroke]:
        return strokes.ring[strokes.ring_start[stroke] : strokes.ring_start[stroke + 1]]
    return np.asarray((strokes.last if nodes.cities[node, 0] & 1 else strokes.first)[stroke][None, :])


def _nearest_to(strokes: Strokes, nodes: Nodes, node: int, at: NDArray[np.float64]) -> float:
    return float(np.hypot(*(_points(strokes, nodes, node) - at).T).min())


def _ring_distances(
    strokes: Strokes, nodes: Nodes, rings: NDArray[np.int64], far: float, kernels: Kernels
) -> NDArray[np.float64]:
    """(rings, nodes) mm at least."""
    if not len(rings):
        return np.empty((0, len(nodes.owner)))
    order = np.argsort(nodes.node, kind="stable")
    start = np.searchsorted(nodes.node[order], np.arange(len(nodes.owner) + 1))
    points = nodes.points[order]
    cover = np.zeros(len(nodes.owner))
    for node in rings.tolist():
        every, some = _points(strokes, nodes, node), points[start[node] : start[node + 1]]
        gaps = every[:, None, :] - some[None, :, :]
        cover[node] = np.hypot(gaps[..., 0], gaps[..., 1]).min(axis=1).max()
    middle, radius = circles(strokes)
    middles, radii = points[start[:-1]].copy(), np.zeros(len(nodes.owner))
    middles[rings], radii[rings] = middle[nodes.owner[rings]], radius[nodes.owner[rings]]
    columns = (points[:, 0], points[:, 1], cover, middles[:, 0], middles[:, 1], radii)
    outlines = kernels.arrays(Outlines(start, *(np.ascontiguousarray(column) for column in columns)))
    out = np.empty(len(rings) * len(nodes.owner))
    rows, flat = (rings, out) if kernels.compiled else (rings.tolist(), out.tolist())
    kernels.least_apart(outlines, rows, far, flat)
    return np.asarray(flat).reshape(len(rings), len(nodes.owner))


def _make_exact(graph: Graph, one: NDArray[np.int64], two: NDArray[np.int64]) -> int:
    """Find the distances of these pairs exactly; returns how many were not yet."""
    row = np.full(len(graph.due), -1)
    row[graph.rings] = np.arange(len(graph.rings))
    made = 0
    for a, b in zip(one.tolist(), two.tolist(), strict=True):
        if row[a] < 0 and row[b] < 0:
            continue
        if (row[a] >= 0 and graph.exact[row[a], b]) or (row[b] >= 0 and graph.exact[row[b], a]):
            continue
        gaps = (
            _points(graph.strokes, graph.nodes, a)[:, None, :] - _points(graph.strokes, graph.nodes, b)[None, :, :]
        ).reshape(-1, 2)
        far = float(np.sqrt((gaps * gaps).sum(axis=1).min()))
        for here, there in ((a, b), (b, a)):
            if row[here] >= 0:
                graph.ring_apart[row[here], there] = far
                graph.exact[row[here], there] = True
        made += 1
    return made


def _apart(graph: Graph, one: NDArray[np.int64], two: NDArray[np.int64]) -> NDArray[np.float64]:
    """(e,) mm between pairs of nodes, at least."""
    at = _places(graph)
    mm = np.hypot(*(at[one] - at[two]).T)
    row = np.full(len(graph.due), -1)
    row[graph.rings] = np.arange(len(graph.rings))
    for a, b in ((one, two), (two, one)):
        with_ring = row[a] >= 0
        mm[with_ring] = graph.ring_apart[row[a[with_ring]], b[with_ring]]
    return np.asarray(mm)


def _places(graph: Graph) -> NDArray[np.float64]:
    """(nodes, 2) where open ends lie; a ring's first point for its node."""
    odd = graph.nodes.cities[:, 0] & 1
    return np.where(odd[:, None] == 1, graph.strokes.last[graph.nodes.owner], graph.strokes.first[graph.nodes.owner])


def _ascend(graph: Graph, travel: float, kernels: Kernels) -> NDArray[np.float64]:
    """(nodes,) prices in mm that make the tree over near pairs heavy."""
    count = len(graph.strokes)
    prices = np.zeros(len(graph.due))
    best, best_prices, size, waited = -np.inf, prices, 1.0, 0
    owner = graph.nodes.owner
    one, two = owner[graph.one], owner[graph.two]
    slope_before = np.zeros(len(prices), dtype=np.int64)
    for _ in range(CLIMBS):
        weights = graph.mm + prices[graph.one] + prices[graph.two]
        edges = kernels.arrays(Edges(one, two, np.arange(count), np.zeros(count - 1, np.int64)))
        order = np.argsort(weights, kind="stable")
        kernels.lightest_tree(edges, order if kernels.compiled else order.tolist())
        tree = np.asarray(edges.chosen)
        park = np.argpartition(graph.to_park + prices, 1)[:2]
        bound = weights[tree].sum() + (graph.to_park + prices)[park].sum() - (prices * graph.due).sum()
        if bound > best:
            best, best_prices, waited = bound, prices, 0
        else:
            waited += 1
            if waited >= PATIENCE:
                size, waited = size / 2, 0
        ends = np.concatenate([graph.one[tree], graph.two[tree], park])
        slope = np.bincount(ends, minlength=len(prices)) - graph.due
        steep = float((slope * slope).sum())
        if steep == 0 or travel - bound <= 1e-9:
            break
        prices = prices + size * (travel - bound) / steep * (0.7 * slope + 0.3 * slope_before)
        slope_before = slope
    return best_prices


def _over_all_pairs(graph: Graph, prices: NDArray[np.float64]) -> float:
    """The bound that these prices give, over all pairs; made sharper while it rests on distances not yet exact."""
    bound = -np.inf
    for _ in range(ROUNDS):
        weight, one, two = _lightest_of_all(graph, prices)
        park = np.sort(graph.to_park + prices)[:2]
        bound = max(bound, weight + float(park.sum()) - float((prices * graph.due).sum()))
        if not _make_exact(graph, one, two):
            break
    return bound


def _lightest_of_all(graph: Graph, prices: NDArray[np.float64]) -> tuple[float, NDArray[np.int64], NDArray[np.int64]]:
    """The weight of the lightest tree over all pairs, and its edges (Prim 1957); a stroke's two ends are one."""
    nodes, owner = len(prices), graph.nodes.owner
    at = _places(graph)
    row = np.full(nodes, -1)
    row[graph.rings] = np.arange(len(graph.rings))
    mates = np.where(graph.nodes.of_city.reshape(-1, 2)[owner, 0] == np.arange(nodes), 1, 0)
    mates = graph.nodes.of_city.reshape(-1, 2)[owner, mates]
    least = np.full(nodes, np.inf)
    source = np.full(nodes, -1)
    inside = np.zeros(nodes, dtype=np.bool_)
    total, one, two = 0.0, [], []
    x, y = at[:, 0].copy(), at[:, 1].copy()
    node = 0
    for _ in range(len(graph.strokes)):
        for new in {node, int(mates[node])}:
            if row[new] >= 0:
                mm = graph.ring_apart[row[new]]
            else:
                mm = np.sqrt((x - x[new]) ** 2 + (y - y[new]) ** 2)
                mm[graph.rings] = graph.ring_apart[:, new]
            weight = mm + (prices + prices[new])
            nearer = weight < least
            least[nearer] = weight[nearer]
            source[nearer] = new
            inside[new] = True
        least[inside] = np.inf
        node = int(np.argmin(least))
        if np.isinf(least[node]):
            break
        total += float(least[node])
        one.append(int(source[node]))
        two.append(node)
    return total, np.array(one, dtype=np.int64), np.array(two, dtype=np.int64)
