"""A length that no order's travel can go below: the lightest tree, with prices that push it towards a tour.

Held and Karp, 'The traveling-salesman problem and minimum spanning trees' (1970, 1971): a tour is a tree over all
strokes with two more edges to park. With a price on every end, added to each edge there and taken off again once for
each edge that a tour has there, the lightest such tree stays a lower bound. So it does with a toll on every small odd
set of ends, taken off each edge that leaves it and added once: at least one must. Both are found by ascent.
The ascent looks at near pairs only; the bound itself is then taken over all pairs, so it holds whatever the prices.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.order.bound.odd_sets import odd_sets
from underdraw_stages.order.compiled.greedy_joins import Edges, Pairs
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.compiled.lower_distances import Outlines
from underdraw_stages.order.search.annealing import circles
from underdraw_stages.order.search.neighbours import Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import Plan, Strokes, ends_of

BOUND_STROKES = 2000  # more would take longer than the search
NEAR = 8
CLIMBS = 120  # steps of the ascent
PATIENCE = 8  # steps without a higher bound before they are made smaller
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
    row: NDArray[np.int64]  # (nodes,) which of those, -1 for others
    ring_apart: NDArray[np.float64]  # (r, nodes) at least, mm
    exact: NDArray[np.bool_]  # (r, nodes) whether that is the distance itself
    odd: NDArray[np.int64]  # (levels, nodes) which odd set each is in, or -1


@dataclass(frozen=True)
class Prices:
    """mm. node: (nodes,) on each edge there; toll: (sets,) off each edge that leaves an odd set, not below 0."""

    node: NDArray[np.float64]
    toll: NDArray[np.float64]

    def out(self, odd: NDArray[np.int64]) -> NDArray[np.float64]:
        """(nodes,) what an edge pays at each of its ends if it leaves their odd sets."""
        return np.asarray(self.node - np.append(self.toll, 0.0)[odd].sum(axis=0))

    def inner(self, odd: NDArray[np.int64]) -> NDArray[np.float64]:
        """(levels, nodes) what an edge within one odd set pays on top of that: its toll twice."""
        return np.asarray(2 * np.append(self.toll, 0.0)[odd])

    def returned(self, due: NDArray[np.int64]) -> float:
        """What every tour pays more than its length; it is taken off again."""
        return float((self.node * due).sum() - self.toll.sum())


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
    best = _over_all_pairs(graph, _ascend(graph, travel, kernels), kernels)
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
        _to_park(strokes, nodes, rings, park),
        rings,
        row,
        _ring_distances(strokes, nodes, rings, 1.5 * longest, kernels),
        np.zeros((len(rings), count), dtype=np.bool_),
        np.empty((0, count), dtype=np.int64),
    )
    _make_exact(graph, graph.one, graph.two)
    graph.mm = _apart(graph, graph.one, graph.two)
    graph.odd = odd_sets(graph.due == 1, graph.one, graph.two, graph.mm)
    return graph


def _points(strokes: Strokes, nodes: Nodes, node: int) -> NDArray[np.float64]:
    """(k, 2) all points at which a node may be entered."""
    stroke = nodes.owner[node]
    first, last = strokes.ring_start[stroke], strokes.ring_start[stroke + 1]
    if last > first:
        return strokes.ring[first:last]
    return np.asarray((strokes.last if nodes.cities[node, 0] & 1 else strokes.first)[stroke][None, :])


def _to_park(
    strokes: Strokes, nodes: Nodes, rings: NDArray[np.int64], park: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(nodes,) mm from park to each, a ring's nearest point."""
    odd = nodes.cities[:, 0] & 1
    ends = np.where(odd[:, None] == 1, strokes.last[nodes.owner], strokes.first[nodes.owner])
    far = np.hypot(*(ends - park).T)
    for node in rings.tolist():
        far[node] = np.hypot(*(_points(strokes, nodes, node) - park).T).min()
    return np.asarray(far)


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
    kernels.lower_distances(outlines, rows, far, flat)
    return np.asarray(flat).reshape(len(rings), len(nodes.owner))


def _make_exact(graph: Graph, one: NDArray[np.int64], two: NDArray[np.int64]) -> int:
    """Find the distances of these pairs exactly; returns how many were not yet."""
    row, made = graph.row, 0
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
    row = graph.row
    for a, b in ((one, two), (two, one)):
        with_ring = row[a] >= 0
        mm[with_ring] = graph.ring_apart[row[a[with_ring]], b[with_ring]]
    return np.asarray(mm)


def _places(graph: Graph) -> NDArray[np.float64]:
    """(nodes, 2) where open ends lie; a ring's first point for its node."""
    odd = graph.nodes.cities[:, 0] & 1
    return np.where(odd[:, None] == 1, graph.strokes.last[graph.nodes.owner], graph.strokes.first[graph.nodes.owner])


def _ascend(graph: Graph, travel: float, kernels: Kernels) -> Prices:
    """Prices that make the tree over near pairs heavy."""
    count, odd = len(graph.strokes), graph.odd
    sets = int(odd.max(initial=-1)) + 1
    prices = best_prices = Prices(np.zeros(len(graph.due)), np.zeros(sets))
    best, size, waited = -np.inf, 1.0, 0
    one, two = graph.nodes.owner[graph.one], graph.nodes.owner[graph.two]
    within = (odd[:, graph.one] >= 0) & (odd[:, graph.one] == odd[:, graph.two])
    order = np.argsort(graph.mm, kind="stable")
    node_slope, toll_slope = np.zeros(len(graph.due)), np.zeros(sets)
    for _ in range(CLIMBS):
        out = prices.out(odd)
        weights = graph.mm + out[graph.one] + out[graph.two] + (within * prices.inner(odd)[:, graph.one]).sum(axis=0)
        edges = kernels.arrays(Edges(one, two, np.arange(count), np.zeros(count - 1, np.int64)))
        order = order[np.argsort(weights[order], kind="stable")]  # nearly sorted already, and quick for that
        kernels.lightest_tree(edges, order if kernels.compiled else order.tolist())
        tree = np.asarray(edges.chosen)
        park = np.argpartition(graph.to_park + out, 1)[:2]
        bound = float(weights[tree].sum() + (graph.to_park + out)[park].sum()) - prices.returned(graph.due)
        if bound > best:
            best, best_prices, waited = bound, prices, 0
        else:
            waited += 1
            if waited >= PATIENCE:
                size, waited = size / 2, 0
        ends = np.concatenate([graph.one[tree], graph.two[tree], park])
        outer = ~within[:, tree]
        leaving = [odd[:, graph.one[tree]][outer], odd[:, graph.two[tree]][outer], odd[:, park].ravel()]
        slope = np.bincount(ends, minlength=len(graph.due)) - graph.due
        toll = 1 - np.bincount(np.concatenate(leaving) + 1, minlength=sets + 1)[1:]
        toll = np.where((toll < 0) & (prices.toll <= 0), 0, toll)
        steep = float((slope * slope).sum() + (toll * toll).sum())
        if steep == 0 or travel - bound <= 1e-9:
            break
        step = size * (travel - bound) / steep
        node_slope, toll_slope = 0.7 * slope + 0.3 * node_slope, 0.7 * toll + 0.3 * toll_slope
        prices = Prices(prices.node + step * node_slope, np.maximum(0.0, prices.toll + step * toll_slope))
    return best_prices


def _over_all_pairs(graph: Graph, prices: Prices, kernels: Kernels) -> float:
    """The bound that these prices give, over all pairs; made sharper while it rests on distances not yet exact."""
    bound = -np.inf
    for _ in range(ROUNDS):
        weight, one, two = _lightest_of_all(graph, prices, kernels)
        park = np.sort(graph.to_park + prices.out(graph.odd))[:2]
        bound = max(bound, weight + float(park.sum()) - prices.returned(graph.due))
        if not _make_exact(graph, one, two):
            break
    return bound


def _lightest_of_all(
    graph: Graph, prices: Prices, kernels: Kernels
) -> tuple[float, NDArray[np.int64], NDArray[np.int64]]:
    """The weight of the lightest tree over all pairs, and the nodes that its edges join."""
    nodes, strokes = len(graph.due), len(graph.strokes)
    at, cities = _places(graph), graph.nodes.of_city.reshape(-1, 2)[graph.nodes.owner]
    pairs = kernels.arrays(
        Pairs(
            x=np.ascontiguousarray(at[:, 0]),
            y=np.ascontiguousarray(at[:, 1]),
            price=prices.out(graph.odd),
            inner=prices.inner(graph.odd).ravel(),
            odd=graph.odd.ravel(),
            mate=np.where(cities[:, 0] == np.arange(nodes), cities[:, 1], cities[:, 0]),
            row=graph.row,
            apart=graph.ring_apart.ravel(),
            least=np.full(nodes, np.inf),
            source=np.full(nodes, -1),
            inside=np.zeros(nodes, dtype=np.int64),
            one=np.zeros(strokes - 1, dtype=np.int64),
            two=np.zeros(strokes - 1, dtype=np.int64),
        )
    )
    weight = kernels.lightest_of_all(pairs)
    return weight, np.asarray(pairs.one, dtype=np.int64), np.asarray(pairs.two, dtype=np.int64)
