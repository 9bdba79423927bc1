"""A few strokes: the best of all orders, directions and entry points, by dynamic programming over sets of strokes.

Held and Karp, 'A dynamic programming approach to sequencing problems' (1962).
"""

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.order.search.neighbours import sample_rings
from underdraw_stages.order.search.stroke_ends import Plan, Strokes, ends_of
from underdraw_stages.order.search.travel_cost import Pace

FEW_STROKES = 7  # a set of n strokes has 2^n parts
ALL_POINTS = 24  # closed strokes of more points are tried at some of them


def best_of_all_orders(strokes: Strokes, park: Strokes, pace: Pace) -> Plan:
    """The order from park's exit through all strokes to its entrance that costs least; park comes last in it.

    strokes: up to FEW_STROKES, at least one.
    """
    ways, of = _ways(strokes)
    into, out = ends_of(strokes, ways)
    leave, arrive = park.last[0], park.first[0]
    first, last = _cost(into - leave, pace), _cost(out - arrive, pace)
    between = _cost(into[None, :, :] - out[:, None, :], pace)
    every = (1 << len(strokes)) - 1
    least = {1 << stroke: np.where(of == stroke, first, np.inf) for stroke in range(len(strokes))}
    before: dict[tuple[int, int], NDArray[np.int64]] = {}
    for visited in range(1, every + 1):
        here = least[visited]
        for stroke in range(len(strokes)):
            if visited >> stroke & 1:
                continue
            reached = here[:, None] + between[:, of == stroke]
            total = least.setdefault(visited | 1 << stroke, np.full(len(of), np.inf))
            total[of == stroke] = reached.min(axis=0)
            before[visited | 1 << stroke, stroke] = reached.argmin(axis=0)
    way, visited, chosen = int(np.argmin(least[every] + last)), every, []
    while True:
        chosen.append(way)
        stroke = int(of[way])
        if visited == 1 << stroke:
            break
        way_here = way - int(np.argmax(of == stroke))
        way, visited = int(before[visited, stroke][way_here]), visited & ~(1 << stroke)
    plan = ways.at(np.array(chosen[::-1]))
    ends = (np.append(plan.order, len(strokes)), np.append(plan.turned, False), np.append(plan.entry, 0))
    return Plan(*ends)


def _ways(strokes: Strokes) -> tuple[Plan, NDArray[np.int64]]:
    """Every way to draw every stroke, and (ways,) which stroke each is of, in their order."""
    picked, of_ring = sample_rings(strokes)
    order, turned, entry = [], [], []
    for stroke, size in enumerate(np.diff(strokes.ring_start).tolist()):
        points = [0, 0]
        if size > ALL_POINTS:
            points = (picked[of_ring == stroke] - strokes.ring_start[stroke]).tolist()
        elif size > 1:
            points = list(range(size))
        order += [stroke] * len(points)
        turned += [False] * len(points) if size > 1 else [False, True]
        entry += points
    return Plan(np.array(order), np.array(turned), np.array(entry)), np.array(order)


def _cost(apart: NDArray[np.float64], pace: Pace) -> NDArray[np.float64]:
    """Cost of travels; the same as `local_search.cost`."""
    mm = np.sqrt((apart * apart).sum(axis=-1))
    return np.asarray(np.where(mm >= pace.knee, mm + pace.knee, 2 * np.sqrt(pace.knee * mm)))
