"""Swaps before the ink runs out: as few loads as may be, swapped where going by park costs least."""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, ends_of


@dataclass(frozen=True)
class Swaps:
    """Where a plan's loads begin: (k,) positions in drawing order, the first 0."""

    starts: NDArray[np.int64]

    def numbers(self, count: int) -> NDArray[np.int64]:
        """(count,) each stroke's load, from 1."""
        begins = np.zeros(count, dtype=np.int64)
        begins[self.starts] = 1
        return np.cumsum(begins)


def no_swaps() -> Swaps:
    """Everything without a swap."""
    return Swaps(np.zeros(1, np.int64))


def swap_at_best(
    strokes: StrokeEnds, plan: Plan, lengths: NDArray[np.float64], most: float, park: NDArray[np.float64]
) -> Swaps:
    """As few loads as the plan's order allows, swapped where going by park adds least travel.

    lengths: (n,) mm drawn by each stroke in drawing order, none above `most`. A shortest way through the possible
    swaps (Beasley, 'Route first, cluster second methods for vehicle routing', 1983), by a sliding minimum.
    """
    into, out = ends_of(strokes, plan)
    from_park, to_park = np.hypot(*(into - park).T), np.hypot(*(out - park).T)
    straight = np.hypot(*(into[1:] - out[:-1]).T)
    extra = np.concatenate([[0.0], to_park[:-1] + from_park[1:] - straight]).tolist()
    drawn = running_mm(lengths).tolist()
    count = len(lengths)
    loads, spent, before = [0] * (count + 1), [0.0] * (count + 1), [0] * (count + 1)
    window: deque[int] = deque()  # positions where the last load may begin, best first
    for position in range(1, count + 1):
        begin = position - 1
        key = (loads[begin], spent[begin] + extra[begin])
        while window and (loads[window[-1]], spent[window[-1]] + extra[window[-1]]) >= key:
            window.pop()
        window.append(begin)
        while window[0] != begin and drawn[position] - drawn[window[0]] > most:
            window.popleft()
        best = window[0]
        loads[position], spent[position], before[position] = loads[best] + 1, spent[best] + extra[best], best
    starts = []
    position = count
    while position > 0:
        position = before[position]
        starts.append(position)
    return Swaps(np.array(starts[::-1], dtype=np.int64))


def running_mm(lengths: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n + 1,) running sums from 0, in whole units of the drawing's quantum so that differences are exact."""
    return offsets(np.ceil(lengths * 1e4 - 1e-6).astype(np.int64)) / 1e4
