"""The best ends and entry points for strokes in a given order, all at once: a shortest way through layers.

Each stroke is a layer of ways to draw it; the way from park through one of each and back is found by dynamic
programming (Bellman 1957). Runs as it stands or compiled.
"""

from math import inf, sqrt
from typing import NamedTuple

from underdraw_stages.order.compiled import Reals, Wholes


class Layers(NamedTuple):
    """n strokes in drawing order, and the ways to draw each; mm."""

    start: Wholes  # (n + 1,) into the ways
    into_x: Reals  # (ways,) where a stroke drawn that way begins
    into_y: Reals
    out_x: Reals  # and ends
    out_y: Reals
    spent: Reals  # (ways,) room to work in
    before: Wholes
    chosen: Wholes  # (n,) the answer
    knee: float


def cost(mm: float, knee: float) -> float:
    """The cost of a travel, as in `local_search.cost`: a compiler's cache watches only the file that it compiles."""
    if mm >= knee:
        return mm + knee
    return 2.0 * sqrt(knee * mm)


def shortest_path(s: Layers, from_x: float, from_y: float, to_x: float, to_y: float) -> float:
    """Choose one way of each layer so that going from one point through all to the other costs least; returns that."""
    count = len(s.start) - 1
    for way in range(s.start[0], s.start[1]):
        dx, dy = s.into_x[way] - from_x, s.into_y[way] - from_y
        s.spent[way] = cost(sqrt(dx * dx + dy * dy), s.knee)
        s.before[way] = -1
    for layer in range(1, count):
        for way in range(s.start[layer], s.start[layer + 1]):
            least, best = inf, -1
            for last in range(s.start[layer - 1], s.start[layer]):
                if s.spent[last] < least:
                    dx, dy = s.into_x[way] - s.out_x[last], s.into_y[way] - s.out_y[last]
                    here = s.spent[last] + cost(sqrt(dx * dx + dy * dy), s.knee)
                    if here < least:
                        least, best = here, last
            s.spent[way] = least
            s.before[way] = best
    least, best = inf, -1
    for last in range(s.start[count - 1], s.start[count]):
        dx, dy = to_x - s.out_x[last], to_y - s.out_y[last]
        here = s.spent[last] + cost(sqrt(dx * dx + dy * dy), s.knee)
        if here < least:
            least, best = here, last
    for layer in range(count - 1, -1, -1):
        s.chosen[layer] = best
        best = s.before[best]
    return least


KERNELS = ["cost", "shortest_path"]
