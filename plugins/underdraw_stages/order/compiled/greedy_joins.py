"""StrokeEnds joined greedily: links between ends, and lightest trees over given edges or over all pairs.

Runs as it stands or compiled.
"""

from math import inf, sqrt
from typing import NamedTuple

from underdraw_stages.order.compiled import Reals, Wholes


def root(group: Wholes, stroke: int) -> int:
    """The stroke that names a stroke's group, a forest of parents; shortens the way there.

    The same as `underdraw.drawing.groups`, in the form that a compiler takes.
    """
    while group[stroke] != stroke:
        group[stroke] = group[group[stroke]]
        stroke = group[stroke]
    return stroke


class Links(NamedTuple):
    """What is linked so far. Stroke s has cities 2s and 2s + 1."""

    link: Wholes  # (2n,) the city that each is linked to, or -1
    group: Wholes  # (n,) each stroke's own number, to begin with; strokes linked to each other form a group
    one: Wholes  # (nodes,) a node's cities; -1 where it has no second
    two: Wholes


def link(links: Links, low: Wholes, high: Wholes, groups: int) -> int:
    """Link pairs of nodes, in their order, where both have free ends in different groups; returns the groups left."""
    for k in range(len(low)):
        a, b = links.one[low[k]], links.one[high[k]]
        if links.link[a] >= 0:
            a = links.two[low[k]]
        if links.link[b] >= 0:
            b = links.two[high[k]]
        if a < 0 or b < 0 or links.link[a] >= 0 or links.link[b] >= 0:
            continue
        first, second = root(links.group, a >> 1), root(links.group, b >> 1)
        if first == second:
            continue
        links.link[a] = b
        links.link[b] = a
        links.group[second] = first
        groups -= 1
        if groups == 1:
            break
    return groups


class TreeEdges(NamedTuple):
    """Edges between strokes, and room to work in."""

    one: Wholes  # (e,) strokes
    two: Wholes
    group: Wholes  # (n,) each stroke's own number, to begin with
    chosen: Wholes  # (n - 1,) the tree's edges


def lightest_tree(edges: TreeEdges, order: Wholes) -> int:
    """Choose edges in the order given wherever they join two groups (Kruskal 1956); returns how many."""
    count = 0
    for k in range(len(order)):
        edge = order[k]
        first, second = root(edges.group, edges.one[edge]), root(edges.group, edges.two[edge])
        if first != second:
            edges.group[second] = first
            edges.chosen[count] = edge
            count += 1
            if count == len(edges.chosen):
                break
    return count


class Pairs(NamedTuple):
    """Nodes, all pairs of which may be joined, and room to work in; mm."""

    x: Reals  # (nodes,) where an open end lies; unused for a ring
    y: Reals
    price: Reals  # (nodes,) added to the length of each edge there
    inner: Reals  # (levels × nodes,) and to that of an edge whose ends are in one odd set
    odd: Wholes  # (levels × nodes,) which odd set each is in, or -1
    mate: Wholes  # (nodes,) the other end of the same stroke; of a ring, itself
    row: Wholes  # (nodes,) a ring's row in `ring_mm`, -1 for an open end
    ring_mm: Reals  # (rings × nodes,) distances of rings
    least: Reals  # (nodes,) how near the tree is, infinite at first
    source: Wholes  # (nodes,) from which of its nodes
    inside: Wholes  # (nodes,) 1 for the tree's nodes, 0 at first
    one: Wholes  # (strokes - 1,) the tree's edges
    two: Wholes


def lightest_of_all(p: Pairs) -> float:
    """Find the lightest tree over all pairs (Prim 1957), a stroke's two ends being one; returns its weight."""
    nodes, total, node = len(p.x), 0.0, 0
    for step in range(len(p.one) + 1):
        for turn in range(2):
            new = node if turn == 0 else p.mate[node]
            if p.inside[new]:
                continue
            p.inside[new] = 1
            for j in range(nodes):
                if p.inside[j]:
                    continue
                if p.row[new] >= 0:
                    mm = p.ring_mm[p.row[new] * nodes + j]
                elif p.row[j] >= 0:
                    mm = p.ring_mm[p.row[j] * nodes + new]
                else:
                    dx, dy = p.x[new] - p.x[j], p.y[new] - p.y[j]
                    mm = sqrt(dx * dx + dy * dy)
                weight = mm + p.price[new] + p.price[j]
                for level in range(0, len(p.odd), nodes):
                    if p.odd[level + new] >= 0 and p.odd[level + new] == p.odd[level + j]:
                        weight += p.inner[level + new]
                if weight < p.least[j]:
                    p.least[j] = weight
                    p.source[j] = new
        if step == len(p.one):
            break
        best, node = inf, -1
        for j in range(nodes):
            if not p.inside[j] and p.least[j] < best:
                best, node = p.least[j], j
        total += best
        p.one[step] = p.source[node]
        p.two[step] = node
    return total


KERNELS = ["root", "link", "lightest_tree", "lightest_of_all"]
