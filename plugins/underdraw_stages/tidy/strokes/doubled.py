"""Doubled lines once: where two lines run side by side, nearer than a marker could show, one of them goes.

Of two lines the longer stays, and of one line that comes back beside itself the earlier part. Nothing is moved: what
stays, stays where it was. A line may only go where one beside it stays, so that no third line is lost by proxy.
All runs are kept on one axis, on which the lines lie one after the other with room between.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.intervals import cut_out, on_axis, overlap, union
from underdraw.errors import CannotDo

EXACT_MM = 0.001  # overlaps that differ by ten quanta at most, however short
ROUNDING = 1e-9  # of a share of a segment
SHORTEST_EXACT_MM = 0.05  # below this two lines only touch
OWN_STRETCH = 3.0  # a line is not beside its own last stretch, this many times the distance long
BLOCK = 20_000  # segments looked at together, to bound memory
SAMPLE = 1000  # segments by which a tangle is noticed before it fills the memory
MOST_PAIRS = 1e8  # 100,000 strokes that each meet a thousand others
STEEP = 0.7  # sine: of two longer segments that meet more steeply, neither runs beside the other
MOST_PASSES = 50  # one pass settles all but many lines on each other


@dataclass(frozen=True, eq=False)
class _Beside:
    """Stretches of lines that have another line beside them: on the axis (k,) from, to; and the segment beside."""

    start: NDArray[np.float64]
    stop: NDArray[np.float64]
    other: NDArray[np.int64]

    def select(self, rows: NDArray[np.bool_]) -> "_Beside":
        return _Beside(self.start[rows], self.stop[rows], self.other[rows])


def without_doubles(lines: NDArray[Any], same: float, longest_alike: float) -> tuple[NDArray[Any], NDArray[Any]]:
    """Lines less the runs that another line makes needless.

    lines: (n,) LineStrings. same: mm within which lines are one, where they are for longer than `longest_alike` mm;
    exact overlaps always go. Returns (m,) what is left and (r,) what went.
    """
    gone: list[NDArray[Any]] = []
    for _ in range(MOST_PASSES):
        lines, runs, done = _one_pass(lines, same, longest_alike)
        gone.append(runs)
        if done or not len(runs):  # runs that could only go because of one another all stay
            break
    return lines, np.concatenate([np.empty(0, dtype=object), *gone])


def _one_pass(lines: NDArray[Any], same: float, longest_alike: float) -> tuple[NDArray[Any], NDArray[Any], bool]:
    """What is left, what went, and whether nothing more could go."""
    if len(lines) == 0:
        return lines, lines, True
    lines = lines[np.argsort(-shapely.length(lines), kind="stable")]
    coords, line_index = shapely.get_coordinates(lines, return_index=True)
    position = on_axis(coords, line_index)
    first = np.flatnonzero((line_index[1:] == line_index[:-1]) & (position[1:] > position[:-1]))
    pairs = _pairs(coords, line_index, first, position, max(same, EXACT_MM))
    allowances = [(EXACT_MM, SHORTEST_EXACT_MM)] + ([(same, longest_alike)] if same > EXACT_MM else [])
    besides = [
        (_beside(coords, line_index, first, position, pairs, within), within, least) for within, least in allowances
    ]
    unsure = union(np.concatenate([_merged(*beside) for beside in besides]), 0.0)
    if not len(unsure):
        return lines, np.empty(0, dtype=object), True
    sure = []
    for beside, within, least in besides:
        safe = ~overlap(position[first[beside.other]], position[first[beside.other] + 1], unsure)
        sure.append(_merged(beside.select(safe), within, least))
    runs = union(np.concatenate(sure), 0.0)
    pieces, _, gone = cut_out(coords, line_index, position, runs)
    return pieces[~gone], pieces[gone], bool(runs.shape == unsure.shape and (runs == unsure).all())


def _pairs(
    coords: NDArray[np.float64],
    line_index: NDArray[np.int64],
    first: NDArray[np.int64],
    position: NDArray[np.float64],
    within: float,
) -> NDArray[np.int64]:
    """(2, k) segments whose boxes come within `within`, and of which the first would yield to the second."""
    low = np.minimum(coords[first], coords[first + 1]) - within / 2
    high = np.maximum(coords[first], coords[first + 1]) + within / 2
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    tree = shapely.STRtree(boxes)
    sample = boxes[:: max(1, len(boxes) // SAMPLE)]
    near = tree.query(sample).shape[1] * len(boxes) / max(1, len(sample))
    if near > MOST_PAIRS:
        raise CannotDo(
            f"lines of one marker lie on each other about {near / 1e6:,.0f} million times, more than "
            f"{MOST_PAIRS / 1e6:,.0f} million: no marker could show them apart; thin the artwork out, or scale it up"
        )
    yielding = [np.empty((2, 0), dtype=np.int64)]
    for start in range(0, len(boxes), BLOCK):  # in blocks, for most pairs are of neighbours on one line
        pairs = tree.query(boxes[start : start + BLOCK])
        pairs[0] += start
        yielding.append(pairs[:, _yields(line_index, first, position, pairs)])
    return np.concatenate(yielding, axis=1)


def _yields(
    line_index: NDArray[np.int64], first: NDArray[np.int64], position: NDArray[np.float64], pairs: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """(k,) whether a pair's first segment would yield to its second: a shorter line, or farther along the same one."""
    a, b = first[pairs[0]], first[pairs[1]]
    return line_index[a] + (position[a] > position[b]) > line_index[b]  # type: ignore[no-any-return]


def _beside(
    coords: NDArray[np.float64],
    line_index: NDArray[np.int64],
    first: NDArray[np.int64],
    position: NDArray[np.float64],
    pairs: NDArray[np.int64],
    within: float,
) -> _Beside:
    """Which stretch of each pair's first segment lies beside the second: in the strip `within` to either side of it.

    Of one line, only what lies farther along it than OWN_STRETCH times `within`.
    """
    a, b = first[pairs[0]], first[pairs[1]]
    step, other = coords[a + 1] - coords[a], coords[b + 1] - coords[b]
    length, other_length = np.hypot(*step.T), np.hypot(*other.T)
    sine = (step[:, 0] * other[:, 1] - step[:, 1] * other[:, 0]) / (length * other_length)
    aligned = (np.abs(sine) < STEEP) | (length < 2 * within) | (other_length < 2 * within)
    a, b, step, other, other_length = a[aligned], b[aligned], step[aligned], other[aligned], other_length[aligned]
    unit = other / other_length[:, None]
    offset = coords[a] - coords[b]
    aside = (offset * unit).sum(axis=1), (step * unit).sum(axis=1)
    across = _cross(offset, unit), _cross(step, unit)
    ahead = position[a] - position[b] - aside[0], (position[a + 1] - position[a]) - aside[1]
    least_ahead = np.where(line_index[a] == line_index[b], OWN_STRETCH * within, -np.inf)
    low, high = np.zeros(len(a)), np.ones(len(a))
    for (start, rate), least, most in ((aside, 0.0, other_length), (ahead, least_ahead, np.inf)):
        from_, to = _where(start, rate, least, most)
        low, high = np.maximum(low, from_), np.minimum(high, to)
    from_, to = _where(*across, -within, within)
    is_beside = (high > low) & (to > from_)
    if within <= EXACT_MM:  # lines that part slowly lie on each other nowhere: what is left would part as slowly
        is_beside &= (from_ <= low + ROUNDING) & (to >= high - ROUNDING)
    low, high = np.maximum(low, from_), np.minimum(high, to)
    is_beside &= high > low
    begin = position[a[is_beside]]
    length = position[a[is_beside] + 1] - begin
    low, high = low[is_beside], high[is_beside]
    return _Beside(begin + low * length, begin + high * length, pairs[1][aligned][is_beside])


def _cross(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _where(
    start: NDArray[np.float64], rate: NDArray[np.float64], least: Any, most: Any
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """From where to where (k,) t keeps `start + rate t` between least and most; from inf to -inf if nowhere."""
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (least - start) / rate, (most - start) / rate
    still, inside = rate == 0, (start >= least) & (start <= most)
    low = np.where(still, np.where(inside, -np.inf, np.inf), np.minimum(one, two))
    high = np.where(still, np.where(inside, np.inf, -np.inf), np.maximum(one, two))
    return low, high


def _merged(beside: _Beside, gap: float, least: float) -> NDArray[np.float64]:
    """(r, 2) runs longer than `least`, from stretches no more than `gap` apart."""
    runs = union(np.stack([beside.start, beside.stop], axis=1), gap)
    return runs[runs[:, 1] - runs[:, 0] > least]
