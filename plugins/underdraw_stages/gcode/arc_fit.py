"""Arcs found again in polylines: from each point the longest arc or line that stays within a tolerance, greedily.

Every arc through two points of the polyline is one of a family with one parameter. In the chord's own frame, with the
ends at (-h, 0) and (h, 0), the circle through them and (u, v) obeys v = k·(h² - u² - v²) for one k, so the best k for
all points between is a quotient of two sums. All strokes are worked on at once, one trial of each in every round.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

CORNER_TURN = np.radians(30)  # a sharper turn is a corner: chords of curves from half a millimetre up turn by less
LARGEST_RADIUS_MM = 10_000.0  # flatter arcs are drawn as lines: controllers lose digits in larger centres
LONGEST_RUN = 400  # edges tried as one piece, so that long strokes are worked on in parallel; about 1 % more moves
BACKWARD_SHARE = 0.1  # of the tolerance: how far a point may step back along the chord


@dataclass(frozen=True)
class Fitted:
    """(m,) moves in order: which point of the polyline each starts and ends at, and its bend.

    bend: 1/mm, k above: 0 of a line; above 0 the arc lies to the left of its chord and turns clockwise.
    bounds: (p + 1,) offsets: which moves each polyline has.
    """

    first: Index
    last: Index
    bend: Array
    bounds: Index


def fit(coords: Array, parts: Index, tolerance: float, arcs: bool = True) -> Fitted:
    """Fit moves to a ragged array of polylines, (n, 2) mm and (p + 1,) offsets, within `tolerance` mm.

    Never across a corner. Equal points that follow each other count as one; a polyline of one place has no moves.
    With `arcs` False only lines are used.
    """
    kept = _distinct(coords, parts)
    points = coords[kept]
    owner = np.searchsorted(parts, kept, side="right") - 1
    breaks = _breaks(points, owner)
    inside = owner[breaks[:-1]] == owner[breaks[1:]]
    first, last, bend = _longest(points, breaks[:-1][inside], breaks[1:][inside], tolerance, arcs)
    order = np.argsort(first, kind="stable")
    first, last, bend = first[order], last[order], bend[order]
    bounds = (
        np.searchsorted(owner[first], np.arange(len(parts))) if len(first) else np.zeros(len(parts), dtype=np.int64)
    )
    return Fitted(kept[first], kept[last], bend, bounds.astype(np.int64))


def _distinct(coords: Array, parts: Index) -> Index:
    """Points that differ from the one before, and the first of every polyline."""
    keep = np.ones(len(coords), dtype=np.bool_)
    keep[1:] = (coords[1:] != coords[:-1]).any(axis=1)
    keep[parts[:-1][parts[:-1] < len(coords)]] = True
    return np.flatnonzero(keep)


def _breaks(points: Array, owner: Index) -> Index:
    """Where pieces begin and end: ends of polylines, corners, and every so often on a long way without any."""
    count = len(points)
    if count < 2:
        return np.arange(count)
    step = np.diff(points, axis=0)
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((np.diff(heading) + np.pi) % (2 * np.pi) - np.pi)
    forced = np.zeros(count, dtype=np.bool_)
    forced[[0, -1]] = True
    forced[1:-1] = turn > CORNER_TURN
    changes = owner[1:] != owner[:-1]
    forced[1:] |= changes
    forced[:-1] |= changes
    start = np.maximum.accumulate(np.where(forced, np.arange(count), 0))
    forced |= (np.arange(count) - start) % LONGEST_RUN == 0
    return np.flatnonzero(forced)


def _longest(points: Array, start: Index, end: Index, tolerance: float, arcs: bool) -> tuple[Index, Index, Array]:
    """Fit every piece from its start to its end: gallop to an end that fails, then halve the interval."""
    done: list[tuple[Index, Index, Array]] = []
    here, stop = start.copy(), end.copy()
    good, bad = here + 1, stop + 1  # the farthest end known to fit, the nearest known not to
    bend = np.zeros(len(here))
    stride = np.full(len(here), 4)
    while len(here):
        finished = (good == stop) | (bad - good == 1)
        if finished.any():
            done.append((here[finished], good[finished], bend[finished]))
            stride[finished] = np.maximum(good[finished] - here[finished] - 1, 1)
            here[finished] = good[finished]
            good[finished] += 1
            bad[finished] = stop[finished] + 1
            bend[finished] = 0.0
            going = here < stop
            here, stop, good, bad, stride = (array[going] for array in (here, stop, good, bad, stride))
            bend = bend[going]
            continue
        halved = np.where(bad > stop, np.minimum(good + stride, stop), (good + bad) // 2)
        fits, bent = _trial(points, here, halved, tolerance, arcs)
        good, bad = np.where(fits, halved, good), np.where(fits, bad, halved)
        bend = np.where(fits, bent, bend)
        stride = np.where(fits, 2 * stride, stride)
    if not done:
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64), np.empty(0)
    first, last, bends = (np.concatenate(columns) for columns in zip(*done, strict=True))
    return first, last, bends


def _trial(points: Array, first: Index, last: Index, tolerance: float, arcs: bool) -> tuple[NDArray[np.bool_], Array]:
    """(k,) whether one move from point `first` to point `last` stays within the tolerance, and its bend."""
    chord = points[last] - points[first]
    length = np.hypot(*chord.T)
    half = length / 2
    along = chord / np.maximum(length, 1e-12)[:, None]
    counts = last - first + 1
    ends = np.cumsum(counts)
    starts = ends - counts
    owner = np.repeat(np.arange(len(first)), counts)
    spot = points[np.arange(ends[-1]) - starts[owner] + first[owner]] - points[first][owner]
    u = spot[:, 0] * along[owner, 0] + spot[:, 1] * along[owner, 1] - half[owner]
    v = spot[:, 1] * along[owner, 0] - spot[:, 0] * along[owner, 1]
    step = np.diff(u, prepend=0.0)
    step[starts] = 0.0
    forward = np.minimum.reduceat(step, starts) >= -BACKWARD_SHARE * tolerance
    straight = forward & (length > 1e-9) & (np.maximum.reduceat(np.abs(v), starts) <= tolerance)
    bend = np.zeros(len(first))
    if not arcs:
        return straight, bend
    room = half[owner] ** 2 - u**2 - v**2
    square = np.add.reduceat(room**2, starts)
    bend = np.add.reduceat(v * room, starts) / np.maximum(square, 1e-30)
    bent = np.where(np.abs(bend) > 1 / (2 * LARGEST_RADIUS_MM), bend, np.inf)
    centre = -1 / (2 * bent)
    radius = np.hypot(half, centre)
    apart = np.abs(np.hypot(u, v - centre[owner]) - radius[owner])
    # An edge comes nearest to the centre at its ends or at the foot of the perpendicular, if that lies between them.
    height = v - centre[owner]
    leg_u, leg_v = np.diff(u, prepend=0.0), np.diff(height, prepend=0.0)
    before_u, before_v = u - leg_u, height - leg_v
    square = np.maximum(leg_u**2 + leg_v**2, 1e-30)
    foot = -(before_u * leg_u + before_v * leg_v) / square
    dip = np.abs(before_u * height - before_v * u) / np.sqrt(square) - radius[owner]
    between = (foot > 0) & (foot < 1)
    between[starts] = False
    apart = np.where(between, np.maximum(apart, np.abs(dip)), apart)
    curved = forward & (length > 1e-9) & np.isfinite(bent) & (radius <= LARGEST_RADIUS_MM)
    curved &= np.maximum.reduceat(apart, starts) <= tolerance
    # Near half a circle rounding can turn the bend's sign: the points must lie on the side that the arc bends to.
    curved &= np.minimum.reduceat(v * np.sign(bend)[owner], starts) >= -tolerance
    return straight | curved, np.where(straight, 0.0, np.where(curved, bend, 0.0))
