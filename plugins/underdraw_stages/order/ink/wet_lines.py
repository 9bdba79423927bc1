"""Strokes that cross a line that is still wet, which smears it, and an order that lets it dry where that costs little.

A stroke that crosses a wet one is moved to a later position of the same load, if the marker's way grows by less than
`LITTLE_S`. All such moves of a round are made at once, and kept if fewer crossings are wet afterwards.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.machine.clock import Schedule
from underdraw.machine.timing import rest_to_rest
from underdraw.machine.travel import swap_strokes
from underdraw.plugins.parts import Installed

Array = NDArray[np.float64]
Index = NDArray[np.int64]

LITTLE_S = 5.0  # of travel that one crossing less may cost: a smear costs more
ROUNDS = 8


@dataclass(frozen=True)
class Drying:
    """A drawing in the order found, and how many of its strokes cross a wet line: before, and in it."""

    drawing: Drawing
    before: int
    after: int


def let_dry(drawing: Drawing, registry: Installed, rounds: int = ROUNDS) -> Drying | None:
    """The same strokes in an order with fewer wet crossings; None where no marker of the job has `dries`.

    rounds: how often strokes are moved; 0 counts the crossings and keeps the order.
    """
    dries = drying_seconds(drawing)
    if not dries.any():
        return None
    pairs = crossings(drawing)
    order = np.arange(len(drawing))
    best, least = order, np.inf
    before = 0
    for turn in range(rounds + 1):
        tried = drawing.select(order)
        place = np.argsort(order)
        schedule = Schedule.of(tried, registry)
        wet = wet_pairs(place[pairs], schedule, dries[order])
        if turn == 0:
            before = wet_strokes(wet)
        if wet_strokes(wet) >= least:
            break
        best, least = order, wet_strokes(wet)
        if turn == rounds:
            break
        later = moved_later(tried, wet, schedule, dries[order])
        if (later == np.arange(len(order))).all():
            break
        order = order[later]
    return Drying(drawing.select(best), before, int(least))


def drying_seconds(drawing: Drawing) -> Array:
    """(s,) how long each stroke's line stays wet; 0 where the job does not set it."""
    by_name = {name: drawing.job.marker(name).dries or 0.0 for name in set(drawing.marker.tolist())}
    return np.array([by_name[name] for name in drawing.marker.tolist()], dtype=np.float64)


def crossings(drawing: Drawing) -> Index:
    """(k, 2) strokes that cross: a point within one is a point within the other (OGC 06-103r4, 6.1.15.3)."""
    lines = drawing.part_lines()
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    once = first < second
    first, second = first[once], second[once]
    across = shapely.crosses(lines[first], lines[second])
    return np.column_stack([first[across], second[across]]).astype(np.int64)


def wet_pairs(pairs: Index, schedule: Schedule, dries: Array) -> Index:
    """(w, 2) of these pairs, earlier and later stroke, those whose first line is wet when the second is drawn."""
    pairs = np.sort(pairs, axis=1)
    dry = schedule.lift[pairs[:, 0]] + dries[pairs[:, 0]]
    return pairs[schedule.touch[pairs[:, 1]] < dry]


def wet_strokes(pairs: Index) -> int:
    """How many strokes cross a wet line."""
    return len(np.unique(pairs[:, 1]))


def moved_later(drawing: Drawing, wet: Index, schedule: Schedule, dries: Array) -> Index:
    """(s,) an order in which strokes of wet pairs come later in their load, where the way there is not much longer."""
    machine = drawing.job.machine
    first, last = drawing.coords[drawing.parts[:-1]], drawing.coords[drawing.parts[1:] - 1]
    swaps = np.append(swap_strokes(drawing), len(drawing))
    dry_at: dict[int, float] = {}
    for earlier, later in wet.tolist():
        dry_at[later] = max(dry_at.get(later, 0.0), float(schedule.lift[earlier] + dries[earlier]))
    after: dict[int, list[int]] = {}
    touched: set[int] = set()  # neighbours of strokes that move, so that each way is counted once
    for stroke, dry in sorted(dry_at.items()):
        end = int(swaps[np.searchsorted(swaps, stroke, side="right")])
        begin = max(stroke + 1, int(np.searchsorted(schedule.lift, dry)))
        places = np.array(
            [at for at in range(begin, end) if at not in touched and at + 1 not in touched], dtype=np.int64
        )
        if {stroke - 1, stroke, stroke + 1} & touched or not len(places):
            continue
        extra = detour(places, stroke, first, last, end, machine.rapid, machine.acceleration)
        best = int(extra.argmin())
        if extra[best] <= LITTLE_S:
            at = int(places[best])
            after.setdefault(at, []).append(stroke)
            touched |= {stroke - 1, stroke, stroke + 1, at, at + 1}
    moved = {stroke for group in after.values() for stroke in group}
    order: list[int] = []
    for stroke in range(len(drawing)):
        order += [] if stroke in moved else [stroke]
        order += after.get(stroke, [])
    return np.array(order, dtype=np.int64)


def detour(places: Index, stroke: int, first: Array, last: Array, end: int, rapid: float, acceleration: float) -> Array:
    """(p,) s that the way grows by if a stroke is drawn after each of these and not where it is; `end` of its load."""

    def seconds(a: Array, b: Array) -> Array:
        return np.asarray(rest_to_rest(np.hypot(*(a - b).T), rapid, acceleration))

    before, following = max(stroke - 1, 0), min(stroke + 1, len(first) - 1)
    left = seconds(last[[before]], first[[following]]) - (
        seconds(last[[before]], first[[stroke]]) + seconds(last[[stroke]], first[[following]])
    )
    following_of = np.minimum(places + 1, len(first) - 1)
    there = seconds(last[places], first[[stroke]])
    onward = seconds(np.repeat(last[[stroke]], len(places), axis=0), first[following_of])
    was = seconds(last[places], first[following_of])
    return there + np.where(places + 1 < end, onward - was, 0.0) + left
