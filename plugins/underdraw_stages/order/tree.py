"""The lightest tree over strokes: over given edges, or over all pairs. Runs as it stands or compiled."""

from math import inf, sqrt
from typing import NamedTuple

from underdraw_stages.order.flat import Reals, Wholes


class Edges(NamedTuple):
    """Edges between strokes, and room to work in."""

    one: Wholes  # (e,) strokes
    two: Wholes
    piece: Wholes  # (n,) each stroke's own number, to begin with
    chosen: Wholes  # (n - 1,) the tree's edges


def top(piece: Wholes, stroke: int) -> int:
    """The name of the piece that a stroke is in; shortens the way there."""
    while piece[stroke] != stroke:
        piece[stroke] = piece[piece[stroke]]
        stroke = piece[stroke]
    return stroke


def lightest_tree(edges: Edges, order: Wholes) -> int:
    """Choose edges in the order given wherever they join two pieces (Kruskal 1956); returns how many."""
    count = 0
    for k in range(len(order)):
        edge = order[k]
        first, second = top(edges.piece, edges.one[edge]), top(edges.piece, edges.two[edge])
        if first != second:
            edges.piece[second] = first
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
    row: Wholes  # (nodes,) a ring's row in `apart`, -1 for an open end
    apart: Reals  # (rings × nodes,) distances of rings
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
                    mm = p.apart[p.row[new] * nodes + j]
                elif p.row[j] >= 0:
                    mm = p.apart[p.row[j] * nodes + new]
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


KERNELS = ["top", "lightest_tree", "lightest_of_all"]
