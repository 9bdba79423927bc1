"""What found no partner, measured by nearest distance: how far off, what is missing, what is extra or drawn twice."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.program.comparison.along import dense
from underdraw.program.drawn import SAG_MM
from underdraw.program.expected.strokes import Strokes

Array = NDArray[np.float64]
Index = NDArray[np.int64]
NEAR_MM = 2.0  # beyond this a point belongs to no stroke, and how far exactly matters to the deviation alone
MOST_MEASURED = 200_000  # points of a stray program that the deviation is measured at
LEAST_MM = 0.05  # a shorter stretch is reported by how far it is off, since no length of it could be seen


@dataclass
class Leftovers:
    """By number, in mm: lengths missing (of the drawing's strokes) and extra (of the program's), see `Comparison`.

    strayed, unmet: how far off where that is too short to have a length. of: which stroke a program stroke is likely
    to be.
    """

    missing: dict[int, float] = field(default_factory=dict)
    extra: dict[int, float] = field(default_factory=dict)
    strayed: dict[int, float] = field(default_factory=dict)
    unmet: dict[int, float] = field(default_factory=dict)
    of: dict[int, int] = field(default_factory=dict)
    deviation: float = 0.0


def measured(made: Strokes, asked: Strokes, every: Strokes, tolerance: float, tip: float) -> Leftovers:
    """Measure each left-over against the left-overs of the other side; the deviation against every stroke.

    tolerance: mm. tip: mm that a dot counts for.
    """
    leftovers = Leftovers()
    dense_made, dense_asked = dense(made), dense(asked)
    tip = max(tip, LEAST_MM)
    if len(made):
        leftovers.deviation = _farthest(dense_made.coords, every)
        apart, covers = _nearest(dense_made.coords, asked)
        _count(leftovers.extra, leftovers.strayed, dense_made, apart, apart > tolerance, tip)
        _count_doubled(leftovers, dense_made, asked, apart <= tolerance, covers, tolerance)
        for row in range(len(made)):
            here = covers[dense_made.parts[row] : dense_made.parts[row + 1]]
            near = apart[dense_made.parts[row] : dense_made.parts[row + 1]] <= tolerance
            if near.any():
                leftovers.of[int(made.numbers[row])] = int(asked.numbers[int(np.bincount(here[near]).argmax())])
    if len(asked):
        gone, _ = _nearest(dense_asked.coords, made)
        _count(leftovers.missing, leftovers.unmet, dense_asked, gone, gone > tolerance + SAG_MM, tip)
    _hold_ends(leftovers, made, asked, tolerance)
    return leftovers


def _hold_ends(leftovers: Leftovers, made: Strokes, asked: Strokes, tolerance: float) -> None:
    """A stroke that one program stroke draws alone ends where it should, though its line may lie on itself there.

    A closed one may begin anywhere, but ends where it began.
    """
    row_of = {int(number): row for row, number in enumerate(asked.numbers.tolist())}
    partners = Counter(leftovers.of.values())
    for row, number in enumerate(made.numbers.tolist()):
        stroke = leftovers.of.get(number, 0)
        if (
            partners[stroke] != 1
            or stroke in leftovers.missing
            or number in leftovers.extra
            or number in leftovers.strayed
        ):
            continue
        (start, end), (first, last) = (
            (strokes.coords[strokes.parts[at]], strokes.coords[strokes.parts[at + 1] - 1])
            for strokes, at in ((made, row), (asked, row_of[stroke]))
        )
        if np.array_equal(first, last):
            off = float(np.hypot(*(start - end)))
        else:
            ways = ((start - first, end - last), (start - last, end - first))
            off = min(max(float(np.hypot(*gap)) for gap in gaps) for gaps in ways)
        if off > tolerance:
            leftovers.strayed[number] = off


def _nearest(points: Array, strokes: Strokes) -> tuple[Array, Index]:
    """(n,) mm to the nearest stroke, and (n,) its row; infinite and -1 where none is within `NEAR_MM`."""
    distance, row = np.full(len(points), np.inf), np.full(len(points), -1, dtype=np.int64)
    if not len(strokes) or not len(points):
        return distance, row
    segments, stroke_of_segment = _segments(strokes)
    pairs, near = shapely.STRtree(segments).query_nearest(
        shapely.points(points), max_distance=NEAR_MM, return_distance=True, all_matches=False
    )
    distance[pairs[0]], row[pairs[0]] = near, stroke_of_segment[pairs[1]]
    return distance, row


def _farthest(points: Array, strokes: Strokes) -> float:
    """mm: how far the farthest point lies from all strokes; 0 where there are none to measure.

    Of very many points those farthest from the middle and an even choice of the others are measured.
    """
    if not len(strokes) or not len(points):
        return 0.0
    if len(points) > MOST_MEASURED:
        middle = (strokes.coords.min(axis=0) + strokes.coords.max(axis=0)) / 2
        outer = np.argsort(np.hypot(*(points - middle).T))[-MOST_MEASURED // 10 :]
        points = np.vstack([points[outer], points[:: len(points) // MOST_MEASURED + 1]])
    segments, _ = _segments(strokes)
    _, distance = shapely.STRtree(segments).query_nearest(
        shapely.points(points), return_distance=True, all_matches=False
    )
    return float(distance.max())


def _segments(strokes: Strokes) -> tuple[NDArray[Any], Index]:
    """(m,) all segments as lines, and (m,) the row of the stroke that each is of."""
    first = np.arange(len(strokes.coords) - 1)
    stroke_of_segment = np.repeat(np.arange(len(strokes)), np.diff(strokes.parts))
    first = first[stroke_of_segment[:-1] == stroke_of_segment[1:]]
    return shapely.linestrings(np.stack([strokes.coords[first], strokes.coords[first + 1]], axis=1)), stroke_of_segment[
        first
    ]


def _weights(points: Strokes) -> Array:
    """(n,) mm that each point stands for: half of the way to its neighbours on either side."""
    step = np.hypot(*np.diff(points.coords, axis=0).T)
    step[points.parts[1:-1] - 1] = 0.0
    return np.asarray((np.append(step, 0.0) + np.concatenate([[0.0], step])) / 2)


def _count(
    lengths: dict[int, float],
    short: dict[int, float],
    points: Strokes,
    apart: Array,
    wrong: NDArray[np.bool_],
    tip: float,
) -> None:
    """Add up the length of what is wrong by stroke; a dot counts as a tip's width, a shorter bit by its distance."""
    if not wrong.any():
        return
    weight, bounds = _weights(points), points.parts[:-1]
    leftovers = np.add.reduceat(np.where(wrong, weight, 0.0), bounds)
    whole = np.add.reduceat(weight, bounds)
    farthest = np.maximum.reduceat(np.where(wrong, np.minimum(apart, NEAR_MM), 0.0), bounds)
    for row in np.flatnonzero(np.logical_or.reduceat(wrong, bounds)).tolist():
        length = tip if whole[row] < LEAST_MM else float(leftovers[row])
        number = int(points.numbers[row])
        if length >= LEAST_MM:
            lengths[number] = lengths.get(number, 0.0) + length
        else:
            short[number] = max(short.get(number, 0.0), float(farthest[row]))


def _count_doubled(
    leftovers: Leftovers, points: Strokes, asked: Strokes, near: NDArray[np.bool_], covers: Index, tolerance: float
) -> None:
    """Length by which strokes are covered more than once is extra, on the last of those that cover them."""
    if not near.any():
        return
    weight = np.where(near, _weights(points), 0.0)
    covered = np.bincount(covers[near], weights=weight[near], minlength=len(asked))
    length = asked.lengths()
    over = covered - length
    stroke_of_segment = np.repeat(points.numbers, np.diff(points.parts))
    latest = np.zeros(len(asked), dtype=np.int64)
    latest[covers[near]] = np.flatnonzero(near)  # of equal indices the last one stays
    for row in np.flatnonzero(over > 4 * tolerance + 0.02 * length + LEAST_MM).tolist():
        last = int(stroke_of_segment[latest[row]])
        leftovers.extra[last] = leftovers.extra.get(last, 0.0) + float(over[row])
