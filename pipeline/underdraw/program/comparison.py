"""What a program draws against what a drawing holds: how far off, what is missing, what is extra.

Strokes that a program draws in the drawing's order are held against theirs point by point along the way, which takes
no search. Whatever does not pass (another order, other cuts, faults) is measured by nearest distance, stroke parts
that are covered more than once counting as extra.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw.program.arcs import in_bounds
from underdraw.program.drawn import SAG_MM, STEP_MM, Drawn
from underdraw.program.problems import Faults

Array = NDArray[np.float64]
Index = NDArray[np.int64]
NEIGHBOURS = 2  # segments before and after the one at the same share of the way that are looked at too
NEAR_MM = 2.0  # beyond this a point belongs to no stroke, and how far exactly matters to the deviation alone
MOST_MEASURED = 200_000  # points of a stray program that the deviation is measured at
LEAST_MM = 0.05  # shorter stretches out of tolerance are not told: less than any tip can show


@dataclass(frozen=True)
class Strokes:
    """Polylines, one a stroke, y away from the operator: (n, 2) mm, (s + 1,) offsets, (s,) numbers for messages.

    markers: (s,) names, where they are known.
    """

    coords: Array
    parts: Index
    numbers: Index
    markers: NDArray[Any] | None = None

    def __len__(self) -> int:
        return len(self.parts) - 1

    def select(self, rows: Index) -> "Strokes":
        """Only these strokes."""
        pieces = [self.coords[self.parts[row] : self.parts[row + 1]] for row in rows.tolist()]
        counts = [len(piece) for piece in pieces]
        return Strokes(np.vstack(pieces) if pieces else np.empty((0, 2)), offsets(counts), self.numbers[rows])

    def lengths(self) -> Array:
        """(s,) mm."""
        along = _along(self)
        return along[self.parts[1:] - 1] - along[self.parts[:-1]] if len(self) else np.empty(0)


def joined(runs: Sequence[Strokes]) -> Strokes:
    """Strokes of several runs, one after the other."""
    if len(runs) == 1:
        return runs[0]
    counts = np.concatenate([np.diff(run.parts) for run in runs])
    numbers = np.concatenate([run.numbers for run in runs])
    markers = np.concatenate([run.markers for run in runs if run.markers is not None] or [np.empty(0, dtype=object)])
    return Strokes(
        np.vstack([run.coords for run in runs]),
        offsets(counts),
        numbers,
        markers if len(markers) == len(numbers) else None,
    )


@dataclass
class Comparison:
    """Lengths in mm; deviation: the farthest that any drawn point lies from the drawing.

    missing: by stroke number. extra: by program stroke (from 1). of: (k,) which stroke each program stroke draws, by
    number; 0 where that is none or several.
    """

    deviation: float = 0.0
    missing: dict[int, float] = field(default_factory=dict)
    extra: dict[int, float] = field(default_factory=dict)
    of: Index = field(default_factory=lambda: np.empty(0, dtype=np.int64))

    @property
    def missing_mm(self) -> float:
        """Length of the drawing that the program leaves out."""
        return float(sum(self.missing.values()))

    @property
    def extra_mm(self) -> float:
        """Length that the program draws and the drawing does not hold."""
        return float(sum(self.extra.values()))


def compare(drawn: Drawn, strokes: Strokes, tolerance: float, tip: float = 0.0) -> Comparison:
    """Hold what a program draws against strokes, both from the board's lower left corner.

    tolerance: mm. tip: mm that a dot counts for where one is missing or extra.
    """
    made = drawn_strokes(drawn)
    result = Comparison(of=np.zeros(drawn.strokes, dtype=np.int64))
    pairs = _in_order(made, strokes, tolerance, result)
    left_made = np.setdiff1d(np.arange(len(made)), pairs[:, 0])
    left_asked = np.setdiff1d(np.arange(len(strokes)), pairs[:, 1])
    result.of[made.numbers[pairs[:, 0]] - 1] = strokes.numbers[pairs[:, 1]]
    if len(left_made) or len(left_asked):
        _by_distance(made.select(left_made), strokes.select(left_asked), strokes, tolerance, max(tip, LEAST_MM), result)
    return result


def tell(comparison: Comparison, drawn: Drawn, faults: Faults) -> None:
    """Put what is missing and extra among the faults."""
    for number, length in sorted(comparison.missing.items()):
        faults.add("missing", 0, f"stroke {number}: {faults.length(length)} of it is not drawn")
    lines = drawn.moves.line
    for number, length in sorted(comparison.extra.items()):
        first = int(np.searchsorted(drawn.stroke, number))
        line = int(lines[first]) if first < len(lines) else 0
        faults.add("extra", line, f"draws {faults.length(length)} that is not in the drawing")


def marker_of_strokes(comparison: Comparison | None, strokes: Strokes | None) -> NDArray[Any] | None:
    """(k,) the marker of each program stroke, "" where that is not known; None without a comparison."""
    if comparison is None or strokes is None or strokes.markers is None:
        return None
    held = np.full(int(strokes.numbers.max(initial=0)) + 1, "", dtype=object)
    held[strokes.numbers] = strokes.markers
    return np.asarray(held[comparison.of])


def drawn_strokes(drawn: Drawn) -> Strokes:
    """The program's strokes as polylines, a dot as one of no length; numbers count from 1."""
    coords, bounds, at = drawn.lines
    points = drawn.on_board
    owner = drawn.stroke[at]
    first = np.ones(len(at), dtype=np.bool_)
    first[1:] = owner[1:] != owner[:-1]
    keep = np.ones(len(coords), dtype=np.bool_)
    keep[bounds[:-1][~first]] = False  # the point that two moves of a stroke share
    of_point = np.repeat(owner, np.diff(bounds))[keep]
    dots, touches = drawn.dots
    every = np.concatenate([of_point, np.repeat(drawn.stroke[touches], 2)])
    order = np.argsort(every, kind="stable")
    all_points = np.vstack([points[keep], np.repeat(dots, 2, axis=0)])[order]
    numbers, counts = np.unique(every, return_counts=True)
    return Strokes(all_points, offsets(counts), numbers.astype(np.int64))


def _in_order(made: Strokes, asked: Strokes, tolerance: float, result: Comparison) -> Index:
    """(k, 2) pairs that agree: counted from the front, then, for what is left, from the back."""
    pairs = [np.empty((0, 2), dtype=np.int64)]
    count = min(len(made), len(asked))
    front = np.arange(count)
    agree = _agreeing(made, asked, np.stack([front, front], axis=1), tolerance, result)
    pairs.append(agree)
    if len(made) != len(asked):
        rows = np.stack([len(made) - count + front, len(asked) - count + front], axis=1)
        rows = rows[~np.isin(rows[:, 0], agree[:, 0]) & ~np.isin(rows[:, 1], agree[:, 1])]
        pairs.append(_agreeing(made, asked, rows, tolerance, result))
    return np.vstack(pairs)


def _agreeing(made: Strokes, asked: Strokes, rows: Index, tolerance: float, result: Comparison) -> Index:
    """Those pairs of strokes that run along each other, same way, all along, within the tolerance."""
    if not len(rows):
        return rows
    ends = np.maximum(
        np.hypot(*(made.coords[made.parts[rows[:, 0]]] - asked.coords[asked.parts[rows[:, 1]]]).T),
        np.hypot(*(made.coords[made.parts[rows[:, 0] + 1] - 1] - asked.coords[asked.parts[rows[:, 1] + 1] - 1]).T),
    )
    length_made, length_asked = made.lengths()[rows[:, 0]], asked.lengths()[rows[:, 1]]
    alike = np.abs(length_made - length_asked) <= 4 * tolerance + 0.02 * length_asked
    rows = rows[(ends <= tolerance) & alike]
    if not len(rows):
        return rows
    all_rows = len(rows) == len(made) and len(rows) == len(asked)
    a = made if all_rows else made.select(rows[:, 0])
    b = asked if all_rows else asked.select(rows[:, 1])
    off, back = _apart(a, b), _apart(b, a)
    good = (off <= tolerance) & (back <= tolerance + SAG_MM)  # drawn arcs are held as chords that dip by that
    if good.any():
        result.deviation = max(result.deviation, float(off[good].max()))
    return rows[good]


def _apart(these: Strokes, those: Strokes) -> Array:
    """(s,) mm: how far each of these strokes strays from its partner, looking only near the same share of the way.

    An upper bound of the distance: a nearer place farther along is not looked for.
    """
    dense = _dense(these)
    share = _shares(dense)
    segments_first = those.parts[:-1]
    counts = np.diff(those.parts) - 1  # segments of each
    where = np.searchsorted(_shares(those), share, side="right") - 1
    owner = np.repeat(np.arange(len(dense)), np.diff(dense.parts))
    low, high = segments_first[owner], segments_first[owner] + np.maximum(counts[owner] - 1, 0)
    best = np.full(len(share), np.inf)
    for step in range(-NEIGHBOURS, NEIGHBOURS + 1):
        at = np.clip(where + step, low, high)
        best = np.minimum(
            best, _to_segment(dense.coords, those.coords[at], those.coords[np.minimum(at + 1, len(those.coords) - 1)])
        )
    return np.asarray(np.maximum.reduceat(best, dense.parts[:-1]))


def _shares(strokes: Strokes) -> Array:
    """(n,) stroke number from 0 plus the share of its length at each point, rising through all strokes."""
    along = _along(strokes)
    counts = np.diff(strokes.parts)
    owner = np.repeat(np.arange(len(strokes)), counts)
    start, total = along[strokes.parts[:-1]], np.maximum(strokes.lengths(), 1e-12)
    share = np.clip((along - start[owner]) / total[owner], 0.0, 1.0)
    return np.asarray(2.0 * owner + share)


def _along(strokes: Strokes) -> Array:
    """(n,) mm along all strokes one after the other, gaps between them left out."""
    step = (
        np.hypot(*np.diff(strokes.coords, axis=0, prepend=strokes.coords[:1]).T) if len(strokes.coords) else np.empty(0)
    )
    step[strokes.parts[:-1]] = 0.0
    return np.cumsum(step)


def _to_segment(points: Array, first: Array, last: Array) -> Array:
    """(n,) mm from each point to its segment."""
    leg = last - first
    square = np.einsum("ij,ij->i", leg, leg)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.einsum("ij,ij->i", points - first, leg) / square
    share = np.clip(np.nan_to_num(share), 0.0, 1.0)
    return np.asarray(np.hypot(*(points - first - share[:, None] * leg).T))


def _dense(strokes: Strokes) -> Strokes:
    """The same strokes with points at most `STEP_MM` apart, along straight parts too."""
    coords, parts = strokes.coords, strokes.parts
    leg = np.diff(coords, axis=0)
    pieces = np.append(in_bounds(np.hypot(*leg.T) / STEP_MM - 1e-9), 1)
    pieces[parts[1:] - 1] = 1  # a stroke's last point starts no segment
    bounds = offsets(pieces)
    owner = np.repeat(np.arange(len(coords)), pieces)
    share = (np.arange(bounds[-1]) - bounds[owner]) / pieces[owner]
    dense = coords[owner] + share[:, None] * np.vstack([leg, np.zeros((1, 2))])[owner]
    return Strokes(dense, bounds[parts], strokes.numbers)


def _by_distance(
    made: Strokes, asked: Strokes, every: Strokes, tolerance: float, tip: float, result: Comparison
) -> None:
    """Measure what did not agree in order: each left-over against the left-overs of the other side."""
    dense_made, dense_asked = _dense(made), _dense(asked)
    if len(made):
        result.deviation = max(result.deviation, _farthest(dense_made.coords, every))
        apart, covers = _nearest(dense_made.coords, asked)
        _count(result.extra, dense_made, apart > tolerance, tip)
        _count_doubled(result, dense_made, asked, apart <= tolerance, covers, tolerance)
        for row in range(len(made)):
            here = covers[dense_made.parts[row] : dense_made.parts[row + 1]]
            near = apart[dense_made.parts[row] : dense_made.parts[row + 1]] <= tolerance
            if near.any():
                held = np.bincount(here[near])
                result.of[made.numbers[row] - 1] = asked.numbers[int(held.argmax())]
    if len(asked):
        gone, _ = _nearest(dense_asked.coords, made)
        _count(result.missing, dense_asked, gone > tolerance + SAG_MM, tip)


def _nearest(points: Array, strokes: Strokes) -> tuple[Array, Index]:
    """(n,) mm to the nearest stroke, and (n,) its row; infinite and -1 where none is within `NEAR_MM`."""
    distance, row = np.full(len(points), np.inf), np.full(len(points), -1, dtype=np.int64)
    if not len(strokes) or not len(points):
        return distance, row
    segments, owner = _segments(strokes)
    pairs, near = shapely.STRtree(segments).query_nearest(
        shapely.points(points), max_distance=NEAR_MM, return_distance=True, all_matches=False
    )
    distance[pairs[0]], row[pairs[0]] = near, owner[pairs[1]]
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
    owner = np.repeat(np.arange(len(strokes)), np.diff(strokes.parts))
    first = first[owner[:-1] == owner[1:]]
    return shapely.linestrings(np.stack([strokes.coords[first], strokes.coords[first + 1]], axis=1)), owner[first]


def _weights(dense: Strokes) -> Array:
    """(n,) mm that each point stands for: half of the way to its neighbours on either side."""
    step = np.hypot(*np.diff(dense.coords, axis=0).T)
    step[dense.parts[1:-1] - 1] = 0.0
    return np.asarray((np.append(step, 0.0) + np.concatenate([[0.0], step])) / 2)


def _count(into: dict[int, float], dense: Strokes, wrong: NDArray[np.bool_], tip: float) -> None:
    """Add up the length of what is wrong by stroke; a dot counts as a tip's width."""
    if not wrong.any():
        return
    weight = _weights(dense)
    held = np.add.reduceat(np.where(wrong, weight, 0.0), dense.parts[:-1])
    whole = np.add.reduceat(weight, dense.parts[:-1])
    any_wrong = np.logical_or.reduceat(wrong, dense.parts[:-1])
    for row in np.flatnonzero(any_wrong).tolist():
        length = tip if whole[row] < LEAST_MM else float(held[row])
        if length >= LEAST_MM:
            number = int(dense.numbers[row])
            into[number] = into.get(number, 0.0) + length


def _count_doubled(
    result: Comparison, dense: Strokes, asked: Strokes, near: NDArray[np.bool_], covers: Index, tolerance: float
) -> None:
    """Length by which strokes are covered more than once is extra, on the last of those that cover them."""
    if not near.any():
        return
    weight = np.where(near, _weights(dense), 0.0)
    covered = np.bincount(covers[near], weights=weight[near], minlength=len(asked))
    length = asked.lengths()
    over = covered - length
    owner = np.repeat(dense.numbers, np.diff(dense.parts))
    latest = np.zeros(len(asked), dtype=np.int64)
    latest[covers[near]] = np.flatnonzero(near)  # of equal indices the last one stays
    for row in np.flatnonzero(over > 4 * tolerance + 0.02 * length + LEAST_MM).tolist():
        last = int(owner[latest[row]])
        result.extra[last] = result.extra.get(last, 0.0) + float(over[row])
