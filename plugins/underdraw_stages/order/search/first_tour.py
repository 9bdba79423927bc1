"""A first tour: the shortest links first (greedy matching of ends), then those between the groups they made, and so on.

Bentley, 'Fast algorithms for geometric traveling salesman problems' (1992): greedy starts end up best after a local
search. Like `local_search`, the loops run as they stand or compiled.
"""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.groups import roots
from underdraw_stages.order.compiled import Wholes
from underdraw_stages.order.compiled.greedy_joins import Links
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.search.neighbours import Near, Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import Plan

GROUPS_NEAREST = 5  # neighbours of a group's end, from the second round on


def greedy_plan(found: Near, kernels: Kernels) -> Plan:
    """All strokes in one tour that begins at the last of them (park)."""
    nodes = found.nodes
    count = len(nodes.node_of_city) // 2
    links = kernels.arrays(
        Links(np.full(2 * count, -1), np.arange(count), nodes.cities[:, 0].copy(), nodes.cities[:, 1].copy())
    )
    groups = kernels.link(links, *_by_length(np.arange(len(nodes.stroke)), found.near, found.mm, kernels), count)
    while groups > 1:
        ends, subset = _free_ends(nodes, links)
        found = near_nodes(subset, min(GROUPS_NEAREST, groups - 1))
        near = np.where(found.near >= 0, ends[found.near], -1)
        groups = kernels.link(links, *_by_length(ends, near, found.mm, kernels), groups)
    return _walk(np.asarray(links.link), count - 1)


def _by_length(
    ends: NDArray[np.int64], near: NDArray[np.int64], mm: NDArray[np.float64], kernels: Kernels
) -> tuple[Wholes, Wholes]:
    """Pairs of nodes, the nearest first, each pair once; equal ones by their numbers."""
    one = np.repeat(ends, near.shape[1])
    two, far = near.ravel(), mm.ravel()
    real = two >= 0
    low, high, far = np.minimum(one, two)[real], np.maximum(one, two)[real], far[real]
    order = np.lexsort((high, low, far))
    low, high = low[order], high[order]
    return (low, high) if kernels.compiled else (low.tolist(), high.tolist())


def _free_ends(nodes: Nodes, links: Links) -> tuple[NDArray[np.int64], Nodes]:
    """The nodes that can still be linked, and their points, each with the group of strokes that it is an end of."""
    link, group = np.asarray(links.link), roots(links.group)
    free = (link[nodes.cities[:, 0]] < 0) | ((nodes.cities[:, 1] >= 0) & (link[nodes.cities[:, 1]] < 0))
    ends = np.flatnonzero(free)
    number = np.full(len(free), -1)
    number[ends] = np.arange(len(ends))
    kept = free[nodes.node]
    return ends, Nodes(
        nodes.points[kept], number[nodes.node[kept]], group[nodes.stroke[ends]], nodes.cities[ends], nodes.node_of_city
    )


def _walk(link: NDArray[np.int64], start: int) -> Plan:
    """Follow the links from a stroke to the end of its group, and from there all round."""
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
