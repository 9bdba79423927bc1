"""Courses: the ways that lines take over a side, each in its own direction as far as its neighbours leave it room.

The lines of one side are carried outwards together, in small steps. In each step a line wants its own slope; where two
neighbours close in on each other, they may do so only as fast as is left of the room between them. That is the nearest
set of slopes under bounds on their differences: isotonic regression, by pooling adjacent violators (Barlow,
Bartholomew, Bremner and Brunk: Statistical Inference under Order Restrictions, 1972). Since no step takes more than the
room there is, no two courses ever cross.
"""

import math

import numpy as np

from underdraw.drawing.ragged import Floats

STEEPEST = math.tan(math.radians(80))  # slope along the edge at which a line may leave the face
GRAZING = math.tan(math.radians(55))  # a line that leaves at a flatter angle is bent to this one
STEPS = 64
EASE = 1 / 16  # of the side's width: within this a grazing line has mostly bent
ROOM_KEPT = 0.4  # of the room between two neighbours, the share that is left at the image's edge at least
WALL_ROOM_KEPT = 0.1  # the same, between a line and the end of the side
LAG = 1 / 4  # of the side's width: within this, neighbours that close in on each other become parallel
WALL_WEIGHT = 1e9  # the side's ends stand still


def courses(along: Floats, slope: Floats, width: float, low: float, high: float) -> tuple[Floats, Floats]:
    """Where lines that leave the face at `along` (k,) with `slope` (k,) run: (depths (m,), places (k, m)).

    slope: mm along the edge for each mm outwards. Depths go from 0 to `width`. Places stay from `low` to `high`, in
    the order of the start (of equal starts: of the slopes), and neighbours keep `ROOM_KEPT` of their distance.
    """
    order = np.lexsort((slope, along))
    at = np.concatenate([[low], np.clip(along[order], low, high), [high]])
    own = np.concatenate([[0.0], np.clip(slope[order], -STEEPEST, STEEPEST), [0.0]])
    eased = np.clip(own, -GRAZING, GRAZING)
    weight = np.ones(len(at))
    weight[[0, -1]] = WALL_WEIGHT
    room = np.diff(at)
    kept = ROOM_KEPT * room
    kept[[0, -1]] = WALL_ROOM_KEPT * room[[0, -1]]
    step = width / STEPS
    meeting = (room - kept) / np.maximum(own[:-1] - own[1:], 1e-9)  # how far out two straight lines would use it up
    within = np.clip(meeting, 2 * step, LAG * width)
    track = [at]
    for number in range(STEPS):
        bend = math.exp(-number / (STEPS * EASE))
        wanted = eased + (own - eased) * bend
        closing = (np.diff(at) - kept) / within  # at most half of the room left, in one step
        at = at + step * slopes(wanted, closing, weight)
        at[0], at[-1] = low, high
        track.append(at)
    places = np.stack(track, axis=1)[1:-1]
    back = np.empty(len(order), dtype=np.int64)
    back[order] = np.arange(len(order))
    return np.linspace(0.0, width, STEPS + 1), places[back]


def slopes(wanted: Floats, closing: Floats, weight: Floats) -> Floats:
    """The slopes nearest to those wanted (k,), so that none closes in on the next by more than `closing` (k - 1,)."""
    shift = np.concatenate([[0.0], -np.cumsum(np.maximum(closing, 0.0))])
    return np.asarray(pooled(wanted - shift, weight) + shift)


def pooled(values: Floats, weight: Floats) -> Floats:
    """The never falling sequence nearest to the values, by least weighted squares.

    >>> pooled(np.array([1.0, 3.0, 2.0, 4.0]), np.ones(4)).tolist()
    [1.0, 2.5, 2.5, 4.0]
    """
    if not (np.diff(values) < 0).any():
        return values
    mean: list[float] = []
    mass: list[float] = []
    count: list[int] = []
    for value, heavy in zip(values.tolist(), weight.tolist(), strict=True):
        mean.append(value)
        mass.append(heavy)
        count.append(1)
        while len(mean) > 1 and mean[-2] > mean[-1]:
            value, heavy, many = mean.pop(), mass.pop(), count.pop()
            total = mass[-1] + heavy
            mean[-1] = (mean[-1] * mass[-1] + value * heavy) / total
            mass[-1], count[-1] = total, count[-1] + many
    return np.repeat(mean, count)
