"""The lightest tree over strokes, edge by edge; runs as it stands or compiled."""

from typing import NamedTuple

from underdraw_stages.order.flat import Wholes


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


KERNELS = ["top", "lightest_tree"]
