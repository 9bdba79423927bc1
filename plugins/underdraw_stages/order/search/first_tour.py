"""A first tour: the shortest links first (greedy matching of ends), then the pieces that came of it, and so on.

Bentley, 'Fast algorithms for geometric traveling salesman problems' (1992): greedy starts end up best after a local
search. Like `local_search`, the loops run as they stand or compiled.
"""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.groups import roots
from underdraw_stages.order.compiled import Wholes
from underdraw_stages.order.compiled.greedy_joins import Links
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.search.neighbours import Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import Plan

PIECES_NEAREST = 5  # neighbours of a piece's end, from the second round on


def greedy_plan(nodes: Nodes, near: NDArray[np.int64], near_mm: NDArray[np.float64], kernels: Kernels) -> Plan:
    """All strokes in one tour that begins at the last of them (park)."""
    count = len(nodes.node_of_city) // 2
    links = kernels.arrays(
        Links(np.full(2 * count, -1), np.arange(count), nodes.cities[:, 0].copy(), nodes.cities[:, 1].copy())
    )
    pieces = kernels.link(links, *_by_length(np.arange(len(nodes.stroke)), near, near_mm, kernels), count)
    while pieces > 1:
        ends, subset = _loose_ends(nodes, links)
        found, far = near_nodes(subset, min(PIECES_NEAREST, pieces - 1), kernels)
        found = np.where(found >= 0, ends[found], -1)
        pieces = kernels.link(links, *_by_length(ends, found, far, kernels), pieces)
    return _walk(np.asarray(links.link), count - 1)


def _by_length(
    ends: NDArray[np.int64], near: NDArray[np.int64], near_mm: NDArray[np.float64], kernels: Kernels
) -> tuple[Wholes, Wholes]:
    """Pairs of nodes, the nearest first, each pair once; equal ones by their numbers."""
    one = np.repeat(ends, near.shape[1])
    two, far = near.ravel(), near_mm.ravel()
    real = two >= 0
    low, high, far = np.minimum(one, two)[real], np.maximum(one, two)[real], far[real]
    order = np.lexsort((high, low, far))
    low, high = low[order], high[order]
    return (low, high) if kernels.compiled else (low.tolist(), high.tolist())


def _loose_ends(nodes: Nodes, links: Links) -> tuple[NDArray[np.int64], Nodes]:
    """The nodes that can still be linked, and their points, owned by the pieces that they are ends of."""
    link, group = np.asarray(links.link), roots(links.group)
    loose = (link[nodes.cities[:, 0]] < 0) | ((nodes.cities[:, 1] >= 0) & (link[nodes.cities[:, 1]] < 0))
    ends = np.flatnonzero(loose)
    number = np.full(len(loose), -1)
    number[ends] = np.arange(len(ends))
    kept = loose[nodes.node]
    return ends, Nodes(
        nodes.points[kept], number[nodes.node[kept]], group[nodes.stroke[ends]], nodes.cities[ends], nodes.node_of_city
    )


def _walk(link: NDArray[np.int64], start: int) -> Plan:
    """Follow the links from a stroke to the end of its piece, and from there all round."""
    links = link.tolist()
    city = 2 * start
    while links[city] >= 0 and links[city] >> 1 != start:
        city = links[city] ^ 1
    order, turned = [], []
    while city >= 0:
        order.append(city >> 1)
        turned.append(bool(city & 1))
        city = links[city ^ 1]
    at = order.index(start)
    order, turned = order[at:] + order[:at], turned[at:] + turned[:at]
    return Plan(np.array(order), np.array(turned), np.zeros(len(order), dtype=np.int64))
