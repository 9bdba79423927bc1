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

from underdraw_stages.order.bound.graph import Graph, graph_of, make_exact, positions
from underdraw_stages.order.compiled.greedy_joins import Pairs, TreeEdges
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, ends_of

BOUND_STROKES = 2000  # more would take longer than the search
CLIMBS = 120  # steps of the ascent
PATIENCE = 8  # steps without a higher bound before they are made smaller
ROUNDS = 6  # times that distances which a tree rests on are made exact, and the tree found again
ROUNDING_MM = 1e-6  # taken off for each edge: sums of floats may be off by less


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

    def returned(self, degree: NDArray[np.int64]) -> float:
        """What every tour pays more than its length; it is taken off again."""
        return float((self.node * degree).sum() - self.toll.sum())


def least_travel(strokes: StrokeEnds, park: NDArray[np.float64], plan: Plan, kernels: Kernels) -> float:
    """mm that every travel from park through all strokes and back takes at least; `plan` is one to begin from.

    strokes: up to BOUND_STROKES, at least one.
    """
    into, out = ends_of(strokes, plan)
    hops = np.hypot(*(into[1:] - out[:-1]).T)
    travel = float(hops.sum() + np.hypot(*(into[0] - park)) + np.hypot(*(out[-1] - park)))
    graph = graph_of(strokes, park, plan, float(hops.max(initial=0.0)), kernels)
    if len(strokes) == 1:
        to_park = np.sort(np.tile(graph.to_park, 2 if len(graph.to_park) == 1 else 1))
        return float(max(0.0, to_park[:2].sum() - 2 * ROUNDING_MM))
    best = _over_all_pairs(graph, _ascend(graph, travel, kernels), kernels)
    return max(0.0, min(travel, best - ROUNDING_MM * (len(strokes) + 1)))


def _ascend(graph: Graph, travel: float, kernels: Kernels) -> Prices:
    """Prices that make the tree over near pairs heavy."""
    count, odd = len(graph.strokes), graph.odd
    sets = int(odd.max(initial=-1)) + 1
    prices = best_prices = Prices(np.zeros(len(graph.degree)), np.zeros(sets))
    best, size, waited = -np.inf, 1.0, 0
    one, two = graph.nodes.stroke[graph.one], graph.nodes.stroke[graph.two]
    within = (odd[:, graph.one] >= 0) & (odd[:, graph.one] == odd[:, graph.two])
    order = np.argsort(graph.mm, kind="stable")
    node_slope, toll_slope = np.zeros(len(graph.degree)), np.zeros(sets)
    for _ in range(CLIMBS):
        out = prices.out(odd)
        weights = graph.mm + out[graph.one] + out[graph.two] + (within * prices.inner(odd)[:, graph.one]).sum(axis=0)
        edges = kernels.arrays(TreeEdges(one, two, np.arange(count), np.zeros(count - 1, np.int64)))
        order = order[np.argsort(weights[order], kind="stable")]  # nearly sorted already, and quick for that
        kernels.lightest_tree(edges, order if kernels.compiled else order.tolist())
        tree = np.asarray(edges.chosen)
        park = np.argpartition(graph.to_park + out, 1)[:2]
        bound = float(weights[tree].sum() + (graph.to_park + out)[park].sum()) - prices.returned(graph.degree)
        if bound > best:
            best, best_prices, waited = bound, prices, 0
        else:
            waited += 1
            if waited >= PATIENCE:
                size, waited = size / 2, 0
        ends = np.concatenate([graph.one[tree], graph.two[tree], park])
        outer = ~within[:, tree]
        leaving = [odd[:, graph.one[tree]][outer], odd[:, graph.two[tree]][outer], odd[:, park].ravel()]
        slope = np.bincount(ends, minlength=len(graph.degree)) - graph.degree
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
        bound = max(bound, weight + float(park.sum()) - prices.returned(graph.degree))
        if not make_exact(graph, one, two):
            break
    return bound


def _lightest_of_all(
    graph: Graph, prices: Prices, kernels: Kernels
) -> tuple[float, NDArray[np.int64], NDArray[np.int64]]:
    """The weight of the lightest tree over all pairs, and the nodes that its edges join."""
    nodes, strokes = len(graph.degree), len(graph.strokes)
    at, cities = positions(graph), graph.nodes.node_of_city.reshape(-1, 2)[graph.nodes.stroke]
    pairs = kernels.arrays(
        Pairs(
            x=np.ascontiguousarray(at[:, 0]),
            y=np.ascontiguousarray(at[:, 1]),
            price=prices.out(graph.odd),
            inner=prices.inner(graph.odd).ravel(),
            odd=graph.odd.ravel(),
            mate=np.where(cities[:, 0] == np.arange(nodes), cities[:, 1], cities[:, 0]),
            row=graph.row,
            ring_mm=graph.ring_mm.ravel(),
            least=np.full(nodes, np.inf),
            source=np.full(nodes, -1),
            inside=np.zeros(nodes, dtype=np.int64),
            one=np.zeros(strokes - 1, dtype=np.int64),
            two=np.zeros(strokes - 1, dtype=np.int64),
        )
    )
    weight = kernels.lightest_of_all(pairs)
    return weight, np.asarray(pairs.one, dtype=np.int64), np.asarray(pairs.two, dtype=np.int64)
