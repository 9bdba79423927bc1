"""Edges that the eye does not see: left out where their two sides look alike.

Two thresholds, so that an edge does not break into dashes: it is kept wherever its sides differ by the higher one, and
from there on for as long as they differ by the lower (hysteresis of Canny, 'A computational approach to edge
detection', IEEE Transactions on Pattern Analysis and Machine Intelligence 8 (1986)).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.intervals import cut_out, on_axis, union
from underdraw.drawing.ragged import Floats, Ints, Mask, row_positions
from underdraw_stages.tidy.seen.shown_paint import ShownPaint
from underdraw_stages.tidy.seen.small_pieces import reunited
from underdraw_stages.tidy.strokes.polylines import Lines, no_lines

LOWER = 0.5  # of the higher threshold: on to where an edge is half as plain as it must be somewhere
STEP_MM = 0.5  # how often an edge is looked at
MOST_LOOKS = 500_000  # in all, some seconds; on edges longer than 250 m together, the steps are longer
BRIDGE_MM = 0.5  # an edge is not lost for less: a corner, or where another edge comes in at a slant
NOISE_MM = 0.2  # an end so near to another line's end is that one's
HALVINGS = 6  # of a step, to find where an edge is lost: 0.5 mm to a hundredth
SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")


def without_faint_edges(seen: Lines, paint: ShownPaint, contrast: float, shortest: float) -> tuple[Lines, Lines]:
    """Seen lines without what the eye does not see of them, and that.

    contrast: the higher threshold, CIEDE2000. shortest: mm; a shorter bit that would be left alone goes as well.
    """
    judged = np.flatnonzero(paint.judged[seen.order])
    lines = seen.select(judged)
    coords, line_index = shapely.get_coordinates(lines.geometry, return_index=True)
    if not len(coords):
        return seen, no_lines()
    position = on_axis(coords, line_index)
    looks = _looks_along(lines, coords, line_index, position, paint, contrast)
    intervals = _faint_intervals(looks, shapely.is_closed(lines.geometry), contrast, shortest, paint)
    if not len(intervals):
        return seen, no_lines()
    intervals = _to_ends(intervals, lines, coords, line_index, position, seen)
    pieces, line_of_piece, gone = cut_out(coords, line_index, position, intervals)
    touched = np.zeros(len(lines), dtype=np.bool_)
    touched[line_of_piece[gone]] = True
    left, line_of_left = reunited(pieces[~gone], line_of_piece[~gone], touched)
    cut = lines.pieces(left, line_of_left, whole=np.zeros(len(left), dtype=np.bool_))
    faint = lines.pieces(pieces[gone], line_of_piece[gone])
    kept = np.ones(len(seen), dtype=np.bool_)
    kept[judged[touched]] = False
    return seen.select(kept).together(cut), faint


@dataclass(frozen=True, eq=False)
class _Looks:
    """Stretches of lines, one after the other, each looked at in its middle: (n,) line, level, start, stop on the axis.

    at: (n, 2) its middle; normal: (n, 2) across it. difference: (n,) of its sides; infinite where it need not be asked.
    """

    line: Ints
    order: Ints
    start: Floats
    stop: Floats
    at: Floats
    normal: Floats
    difference: Floats

    @property
    def length(self) -> Floats:
        return self.stop - self.start


def _looks_along(
    lines: Lines, coords: Floats, line_index: Ints, position: Floats, paint: ShownPaint, contrast: float
) -> _Looks:
    first = np.flatnonzero((line_index[1:] == line_index[:-1]) & (position[1:] > position[:-1]))
    order = lines.order[line_index[first]]
    segments = np.stack([coords[first], coords[first + 1]], axis=1)
    asked = paint.may_look_alike(segments, order, contrast) | paint.blurred[order]
    length = position[first + 1] - position[first]
    step_mm = max(STEP_MM, float(length[asked].sum()) / MOST_LOOKS)
    counts = np.where(asked, np.maximum(np.ceil(length / step_mm), 1), 1).astype(np.int64)
    segment = np.repeat(np.arange(len(first)), counts)
    share = row_positions(counts) / counts[segment]
    step = segments[:, 1] - segments[:, 0]
    normal = (np.stack([-step[:, 1], step[:, 0]], axis=1) / np.hypot(*step.T)[:, None])[segment]
    middle = segments[segment, 0] + (share + 0.5 / counts[segment])[:, None] * step[segment]
    start = position[first[segment]] + share * length[segment]
    stop = position[first[segment]] + (share + 1 / counts[segment]) * length[segment]
    difference = np.full(len(segment), np.inf)
    rows = np.flatnonzero(asked[segment])
    difference[rows] = paint.differences(middle[rows], normal[rows], order[segment[rows]])
    difference[rows[paint.on_hairs(middle[rows], order[segment[rows]])]] = np.inf
    difference[paint.blurred[order[segment]]] = 0.0
    return _Looks(line_index[first[segment]], order[segment], start, stop, middle, normal, difference)


def _faint_intervals(looks: _Looks, closed: Mask, contrast: float, shortest: float, paint: ShownPaint) -> Floats:
    """(r, 2) intervals on the axis that are not seen; closed: (l,) which lines are rings."""
    if (looks.difference >= contrast).all():
        return np.empty((0, 2))
    shown = looks.difference >= LOWER * contrast
    run = _runs(shown, looks.line, closed)
    length = np.bincount(run, looks.length)
    kept = shown | (~_at_an_end(run, looks.line, closed) & (length[run] < BRIDGE_MM))
    run = _runs(kept, looks.line, closed)
    length, plainest = np.bincount(run, looks.length), np.zeros(run.max() + 1)
    np.maximum.at(plainest, run, np.where(shown, looks.difference, 0.0))
    whole = np.bincount(looks.line, looks.length)[looks.line]
    kept &= (plainest[run] >= contrast) & ((length[run] >= shortest) | (length[run] >= whole - 1e-9))
    change = np.flatnonzero((kept[1:] != kept[:-1]) & (looks.line[1:] == looks.line[:-1]))
    border = looks.stop.copy()
    known = np.isfinite(looks.difference)
    sure = change[(shown[change + 1] != shown[change]) & known[change] & known[change + 1]]
    border[sure] = _lost_at(looks, sure, LOWER * contrast, paint)
    begin = np.concatenate(
        [[looks.start[0]], np.where(looks.line[1:] == looks.line[:-1], border[:-1], looks.start[1:])]
    )
    return union(np.stack([begin, border], axis=1)[~kept], 1e-9)


def _runs(flag: Mask, line: Ints, closed: Mask) -> Ints:
    """(n,) a number for each run of equal flags along a line; round the start of a ring it is the same run."""
    fresh = np.ones(len(flag), dtype=np.bool_)
    fresh[1:] = (flag[1:] != flag[:-1]) | (line[1:] != line[:-1])
    run = np.cumsum(fresh) - 1
    first = np.flatnonzero(np.concatenate([[True], line[1:] != line[:-1]]))
    last = np.concatenate([first[1:], [len(line)]]) - 1
    round_ = closed[line[first]] & (flag[first] == flag[last])
    name = np.arange(run[-1] + 1)
    name[run[last[round_]]] = run[first[round_]]
    return np.asarray(name[run], dtype=np.int64)


def _at_an_end(run: Ints, line: Ints, closed: Mask) -> Mask:
    """(n,) whether a run reaches an end of its line, which a ring does not have unless the run is all of it."""
    first = np.flatnonzero(np.concatenate([[True], line[1:] != line[:-1]]))
    last = np.concatenate([first[1:], [len(line)]]) - 1
    has_ends = ~closed[line[first]]
    ending = np.zeros(run.max() + 1, dtype=np.bool_)
    ending[run[first[has_ends]]] = ending[run[last[has_ends]]] = True
    runs_of_line = np.maximum.reduceat(run, first) == np.minimum.reduceat(run, first)
    ending[run[first[runs_of_line]]] = True
    return ending[run]


def _lost_at(looks: _Looks, before: Ints, least: float, paint: ShownPaint) -> Floats:
    """(k,) where on the axis the difference passes `least`, between the middles of a stretch and the next one."""
    low, high = np.zeros(len(before)), np.ones(len(before))
    seen_before = looks.difference[before] >= least
    step, turn = looks.at[before + 1] - looks.at[before], looks.normal[before + 1] - looks.normal[before]
    for _ in range(HALVINGS):
        share = (low + high) / 2
        normal = looks.normal[before] + share[:, None] * turn
        normal /= np.maximum(np.hypot(*normal.T), 1e-9)[:, None]
        seen = paint.differences(looks.at[before] + share[:, None] * step, normal, looks.order[before]) >= least
        low, high = np.where(seen == seen_before, share, low), np.where(seen == seen_before, high, share)
    middle = (looks.start + looks.stop) / 2
    return middle[before] + (low + high) / 2 * (middle[before + 1] - middle[before])


def _to_ends(
    intervals: NDArray[np.float64],
    lines: Lines,
    coords: NDArray[np.float64],
    line_index: NDArray[np.int64],
    position: NDArray[np.float64],
    ends_of: Lines,
) -> NDArray[np.float64]:
    """Intervals that begin and end where another line ends on theirs, if one does so about there: so the lines meet."""
    ends = np.concatenate([shapely.get_point(ends_of.geometry, where) for where in (0, -1)])
    cuts = intervals.ravel()
    segment = np.clip(np.searchsorted(position, cuts, side="right") - 1, 0, len(position) - 2)
    step = np.maximum(position[segment + 1] - position[segment], 1e-9)
    share = np.where(line_index[segment] == line_index[segment + 1], (cuts - position[segment]) / step, 0.0)
    at = coords[segment] + share[:, None] * (coords[segment + 1] - coords[segment])
    line = line_index[segment]
    cut, end = shapely.STRtree(ends).query(shapely.points(at), predicate="dwithin", distance=NOISE_MM)
    on_it = shapely.distance(ends[end], lines.geometry[line[cut]]) < 1e-3
    cut, end = cut[on_it], end[on_it]
    first, last = (np.searchsorted(line_index, line[cut], side=side) for side in SIDES)
    inside = (cuts[cut] > position[first]) & (cuts[cut] < position[last - 1])  # else it is the line's own end already
    cut, end, first = cut[inside], end[inside], first[inside]
    there = position[first] + shapely.line_locate_point(lines.geometry[line[cut]], ends[end])
    near = np.abs(there - cuts[cut]) < 2 * NOISE_MM  # along the line, too: a ring's start is not near its end
    cut, there = cut[near], there[near]
    sequence = np.lexsort((there, np.abs(there - cuts[cut]), cut))
    nearest = sequence[np.concatenate([[True], cut[sequence][1:] != cut[sequence][:-1]])] if len(cut) else sequence
    cuts = cuts.copy()
    cuts[cut[nearest]] = there[nearest]
    intervals = cuts.reshape(-1, 2)
    return union(intervals[intervals[:, 1] > intervals[:, 0]], 0.0)
