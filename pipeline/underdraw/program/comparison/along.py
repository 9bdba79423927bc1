"""Two strokes held against each other point by point along the way, many pairs at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw.program.arcs import in_bounds
from underdraw.program.drawn import SAG_MM, STEP_MM
from underdraw.program.expected.strokes import Strokes

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
NEIGHBOURS = 2  # segments before and after the one at the same share of the way that are looked at too
TIE = 1e-3  # of two segments equally near, the one nearer to the same share of the way is meant
MOST_SHORTER = 0.5  # of its length: a smooth line through points that zigzag within the tolerance is shorter
BACK_MM = 0.3  # going back over a line by less, beside the tolerance, is rounding at a sharp turn


@dataclass(frozen=True)
class Agreement:
    """(p,) pairs: whether both run along each other within the tolerance, by how much (mm), and what goes over twice.

    again: mm that the first is longer than the second because it goes back over its own line; 0 where it does not.
    """

    agrees: Flags
    off: Array
    again: Array


def agreement(made: Strokes, asked: Strokes, tolerance: float) -> Agreement:
    """Hold stroke by stroke of two equally long lists against each other, same way, all along."""
    (first, last), (asked_first, asked_last) = made.ends(), asked.ends()
    ends = np.maximum(np.hypot(*(first - asked_first).T), np.hypot(*(last - asked_last).T))
    length, wanted = made.lengths(), asked.lengths()
    shorter = wanted - length <= 4 * tolerance + MOST_SHORTER * wanted
    likely = np.flatnonzero((ends <= tolerance) & shorter)
    agrees, off, again = np.zeros(len(made), dtype=np.bool_), np.zeros(len(made)), np.zeros(len(made))
    if not len(likely):
        return Agreement(agrees, off, again)
    whole = len(likely) == len(made)
    a, b = (made, asked) if whole else (made.select(likely), asked.select(likely))
    off[likely], back = apart(a, b)
    reached, _ = apart(b, a)
    agrees[likely] = (off[likely] <= tolerance) & (reached <= tolerance + SAG_MM)  # arcs are chords that dip by that
    excess, slack = (length - wanted)[likely], BACK_MM + 4 * tolerance
    again[likely] = np.where((excess > slack) & (back > slack), excess, 0.0)
    return Agreement(agrees, off, again)


def apart(these: Strokes, those: Strokes) -> tuple[Array, Array]:
    """(s,) mm how far each of these strokes strays from its partner, and (s,) mm how far it goes back along it.

    It is looked for only near the same share of the way: an upper bound of the distance, since a nearer place farther
    along is not looked for.
    """
    points = dense(these)
    share = _shares(points)
    segments_first = those.parts[:-1]
    counts = np.diff(those.parts) - 1  # segments of each
    where = np.searchsorted(_shares(those), share, side="right") - 1
    of_point = np.repeat(np.arange(len(points)), np.diff(points.parts))
    low, high = segments_first[of_point], segments_first[of_point] + np.maximum(counts[of_point] - 1, 0)
    along = those.along()
    due = along[segments_first][of_point] + (share - 2.0 * of_point) * those.lengths()[of_point]
    best, cost, place = np.full(len(share), np.inf), np.full(len(share), np.inf), np.zeros(len(share))
    for step in range(-NEIGHBOURS, NEIGHBOURS + 1):
        at = np.clip(where + step, low, high)
        ends = np.minimum(at + 1, len(those.coords) - 1)
        distance, part = _to_segment(points.coords, those.coords[at], those.coords[ends])
        here = along[at] + part * (along[ends] - along[at])
        price = distance + TIE * np.abs(here - due)
        better = price < cost
        place, cost = np.where(better, here, place), np.where(better, price, cost)
        best = np.minimum(best, distance)
    back = np.maximum.accumulate(place) - place if len(place) else place
    bounds = points.parts[:-1]
    return np.asarray(np.maximum.reduceat(best, bounds)), np.asarray(np.maximum.reduceat(back, bounds))


def dense(strokes: Strokes) -> Strokes:
    """The same strokes with points at most `STEP_MM` apart, along straight parts too."""
    coords, parts = strokes.coords, strokes.parts
    leg = np.diff(coords, axis=0)
    pieces = np.append(in_bounds(np.hypot(*leg.T) / STEP_MM - 1e-9), 1)
    pieces[parts[1:] - 1] = 1  # a stroke's last point starts no segment
    bounds = offsets(pieces)
    of_point = np.repeat(np.arange(len(coords)), pieces)
    share = (np.arange(bounds[-1]) - bounds[of_point]) / pieces[of_point]
    points = coords[of_point] + share[:, None] * np.vstack([leg, np.zeros((1, 2))])[of_point]
    return Strokes(points, bounds[parts], strokes.numbers)


def _shares(strokes: Strokes) -> Array:
    """(n,) twice the stroke's row plus the share of its length at each point, rising through all strokes."""
    along = strokes.along()
    of_point = np.repeat(np.arange(len(strokes)), np.diff(strokes.parts))
    start, total = along[strokes.parts[:-1]], np.maximum(strokes.lengths(), 1e-12)
    share = np.clip((along - start[of_point]) / total[of_point], 0.0, 1.0)
    return np.asarray(2.0 * of_point + share)


def _to_segment(points: Array, first: Array, last: Array) -> tuple[Array, Array]:
    """(n,) mm from each point to its segment, and (n,) the share of the segment where it is nearest."""
    leg = last - first
    square = np.einsum("ij,ij->i", leg, leg)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.einsum("ij,ij->i", points - first, leg) / square
    share = np.clip(np.nan_to_num(share), 0.0, 1.0)
    return np.asarray(np.hypot(*(points - first - share[:, None] * leg).T)), share
