"""A few strokes: the best of all orders, directions and entry points, by dynamic programming over sets of strokes.

Held and Karp, 'A dynamic programming approach to sequencing problems' (1962).
"""

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.order.search.neighbours import sample_rings
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, ends_of
from underdraw_stages.order.search.travel_cost import TravelCost

EXHAUSTIVE_STROKES = 7  # a set of n strokes has 2^n parts
ALL_POINTS = 24  # closed strokes of more points are tried at some of them


def best_of_all_orders(strokes: StrokeEnds, park: StrokeEnds, cost: TravelCost) -> Plan:
    """The order from park's exit through all strokes to its entrance that costs least; park comes last in it.

    strokes: up to EXHAUSTIVE_STROKES, at least one.
    """
    ways, stroke_of_way = _ways(strokes)
    into, out = ends_of(strokes, ways)
    leave, arrive = park.last[0], park.first[0]
    first, last = cost.of_steps(into - leave), cost.of_steps(out - arrive)
    between = cost.of_steps(into[None, :, :] - out[:, None, :])
    every = (1 << len(strokes)) - 1
    least = {1 << stroke: np.where(stroke_of_way == stroke, first, np.inf) for stroke in range(len(strokes))}
    before: dict[tuple[int, int], NDArray[np.int64]] = {}
    for visited in range(1, every + 1):
        here = least[visited]
        for stroke in range(len(strokes)):
            if visited >> stroke & 1:
                continue
            reached = here[:, None] + between[:, stroke_of_way == stroke]
            total = least.setdefault(visited | 1 << stroke, np.full(len(stroke_of_way), np.inf))
            total[stroke_of_way == stroke] = reached.min(axis=0)
            before[visited | 1 << stroke, stroke] = reached.argmin(axis=0)
    way, visited, chosen = int(np.argmin(least[every] + last)), every, []
    while True:
        chosen.append(way)
        stroke = int(stroke_of_way[way])
        if visited == 1 << stroke:
            break
        way_here = way - int(np.argmax(stroke_of_way == stroke))
        way, visited = int(before[visited, stroke][way_here]), visited & ~(1 << stroke)
    plan = ways.at(np.array(chosen[::-1]))
    ends = (np.append(plan.order, len(strokes)), np.append(plan.turned, False), np.append(plan.entry, 0))
    return Plan(*ends)


def _ways(strokes: StrokeEnds) -> tuple[Plan, NDArray[np.int64]]:
    """Every way to draw every stroke, and (ways,) which stroke each is of, in their order."""
    picked, stroke_of_picked = sample_rings(strokes)
    order, turned, entry = [], [], []
    for stroke, size in enumerate(np.diff(strokes.ring_start).tolist()):
        points = [0, 0]
        if size > ALL_POINTS:
            points = (picked[stroke_of_picked == stroke] - strokes.ring_start[stroke]).tolist()
        elif size > 1:
            points = list(range(size))
        order += [stroke] * len(points)
        turned += [False] * len(points) if size > 1 else [False, True]
        entry += points
    return Plan(np.array(order), np.array(turned), np.array(entry)), np.array(order)
