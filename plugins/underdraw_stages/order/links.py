"""Links between ends, made one by one while no tour closes too early. Runs as it stands or compiled."""

from typing import NamedTuple

from underdraw_stages.order.flat import Wholes


class Links(NamedTuple):
    """What is linked so far. Stroke s has cities 2s and 2s + 1."""

    link: Wholes  # (2n,) the city that each is linked to, or -1
    piece: Wholes  # (n,) a forest whose roots name the pieces that strokes are in
    one: Wholes  # (nodes,) a node's cities; -1 where it has no second
    two: Wholes


def root(links: Links, stroke: int) -> int:
    """The name of a stroke's piece; shortens the way there."""
    piece = links.piece
    while piece[stroke] != stroke:
        piece[stroke] = piece[piece[stroke]]
        stroke = piece[stroke]
    return stroke


def link(links: Links, low: Wholes, high: Wholes, pieces: int) -> int:
    """Link pairs of nodes, in their order, where both have loose ends in different pieces; returns the pieces left."""
    for k in range(len(low)):
        a, b = links.one[low[k]], links.one[high[k]]
        if links.link[a] >= 0:
            a = links.two[low[k]]
        if links.link[b] >= 0:
            b = links.two[high[k]]
        if a < 0 or b < 0 or links.link[a] >= 0 or links.link[b] >= 0:
            continue
        first, second = root(links, a >> 1), root(links, b >> 1)
        if first == second:
            continue
        links.link[a] = b
        links.link[b] = a
        links.piece[second] = first
        pieces -= 1
        if pieces == 1:
            break
    return pieces


KERNELS = ["root", "link"]
