"""Which stroke of a program is which of the drawing: one to one, by their order, then by their ends."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.program.comparison.along import Agreement, agreement
from underdraw.program.expected.strokes import Strokes

Array = NDArray[np.float64]
Index = NDArray[np.int64]
MOST_CANDIDATES = 2_000_000  # a wild drawing of strokes that all meet in one point fills no memory


@dataclass(frozen=True)
class Pairs:
    """(p, 2) rows of program strokes and of the drawing's that agree; (p,) off and again: see `Agreement`."""

    rows: Index
    off: Array
    again: Array


def matched(made: Strokes, asked: Strokes, tolerance: float) -> Pairs:
    """Every pair of strokes that agree within the tolerance (mm), each stroke in one pair at most."""
    count = min(len(made), len(asked))
    front = np.stack([np.arange(count)] * 2, axis=1)
    found = [_agreeing(made, asked, front, tolerance)]
    if len(made) != len(asked):  # something is missing or extra: what comes after it is counted from the back
        rest = front + np.array([len(made) - count, len(asked) - count])
        rest = rest[~np.isin(rest[:, 0], found[0].rows[:, 0]) & ~np.isin(rest[:, 1], found[0].rows[:, 1])]
        found.append(_agreeing(made, asked, rest, tolerance))
    taken = np.vstack([pairs.rows for pairs in found])
    left = [np.setdiff1d(np.arange(len(side)), taken[:, k]) for k, side in enumerate((made, asked))]
    if len(left[0]) and len(left[1]):
        found.append(_by_ends(made, asked, left[0], left[1], tolerance))
    return Pairs(
        np.vstack([pairs.rows for pairs in found]),
        np.concatenate([pairs.off for pairs in found]),
        np.concatenate([pairs.again for pairs in found]),
    )


def _agreeing(made: Strokes, asked: Strokes, rows: Index, tolerance: float) -> Pairs:
    """Those of these pairs that agree."""
    if not len(rows):
        return Pairs(rows.reshape(0, 2), np.empty(0), np.empty(0))
    whole = len(rows) == len(made) == len(asked)
    agreed = agreement(made, asked, tolerance) if whole else _agreement(made, asked, rows, tolerance)
    return Pairs(rows[agreed.agrees], agreed.off[agreed.agrees], agreed.again[agreed.agrees])


def _agreement(made: Strokes, asked: Strokes, rows: Index, tolerance: float) -> Agreement:
    return agreement(made.select(rows[:, 0]), asked.select(rows[:, 1]), tolerance)


def _by_ends(made: Strokes, asked: Strokes, made_rows: Index, asked_rows: Index, tolerance: float) -> Pairs:
    """Pairs whose ends meet, drawn either way; use of several that, the first in either order."""
    one, other = made.select(made_rows), asked.select(asked_rows)
    (starts, ends), (firsts, lasts) = one.ends(), other.ends()
    tree = shapely.STRtree(shapely.points(np.vstack([firsts, lasts])))
    row, spot = tree.query(shapely.points(starts), predicate="dwithin", distance=tolerance)
    row, spot = row[:MOST_CANDIDATES], spot[:MOST_CANDIDATES]
    backwards, partner = spot >= len(other), spot % len(other)
    opposite = np.where(backwards[:, None], firsts[partner], lasts[partner])
    meets = np.hypot(*(ends[row] - opposite).T) <= tolerance
    row, partner, backwards = row[meets], partner[meets], backwards[meets]
    turned = other.reversed()
    off, again, agrees = np.zeros(len(row)), np.zeros(len(row)), np.zeros(len(row), dtype=np.bool_)
    for way, strokes in ((False, other), (True, turned)):
        at = np.flatnonzero(backwards == way)
        if len(at):
            agreed = _agreement(one, strokes, np.stack([row[at], partner[at]], axis=1), tolerance)
            off[at], again[at], agrees[at] = agreed.off, agreed.again, agreed.agrees
    kept, taken_made, taken_asked = [], set[int](), set[int]()
    good = np.flatnonzero(agrees)
    for index in good[np.lexsort((partner[good], row[good]))].tolist():
        a, b = int(row[index]), int(partner[index])
        if a not in taken_made and b not in taken_asked:
            taken_made.add(a)
            taken_asked.add(b)
            kept.append(index)
    chosen = np.array(kept, dtype=np.int64)
    rows = np.stack([made_rows[row[chosen]], asked_rows[partner[chosen]]], axis=1).astype(np.int64)
    return Pairs(rows, off[chosen], again[chosen])
