"""Edges with one colour on both sides: two shapes of one colour are one area to the eye, and show no line between them.

Just beside a fill's edge, to either side, the topmost paint is asked for its colour; beside the band of a stroke, fills
alone are asked, for where outlines cross or run together each is still seen as a line.
"""

from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.seen.small_pieces import reunited
from underdraw_stages.tidy.seen.topmost_colour import NO_COLOUR, PaintedAreas, ShownAlong
from underdraw_stages.tidy.strokes.intervals import cut_out, on_axis, shared, union
from underdraw_stages.tidy.strokes.polylines import Lines

ASIDE_MM = 0.02  # how far beside an edge, or the band of a stroke, is looked: shapes side by side need not quite meet
NOISE_MM = 0.2  # ten times that: about a corner, or where another edge comes in at a slant, so little says nothing
SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")
SAMPLE = 2000  # points at which the amount is estimated


def without_one_colour(seen: Lines, paint: PaintedAreas, shortest: float) -> tuple[Lines, float]:
    """Seen lines without the runs that have one colour on both sides, and the mm that went.

    shortest: mm; a shorter run stays, unless it is all that is seen of its line.
    """
    judged = np.flatnonzero(paint.own[seen.order] != NO_COLOUR)
    lines = seen.select(judged)
    coords, line_index = shapely.get_coordinates(lines.geometry, return_index=True)
    if not len(coords) or not len(paint.area):
        return seen, 0.0
    position = on_axis(coords, line_index)
    intervals = union(_both_sides(lines, coords, line_index, position, paint.in_small_pieces()), NOISE_MM)
    intervals = _long_enough(intervals, line_index, position, max(shortest, NOISE_MM))
    if not len(intervals):
        return seen, 0.0
    intervals = _to_ends(intervals, lines, coords, line_index, position, seen)
    pieces, line_of_piece, gone = cut_out(coords, line_index, position, intervals)
    touched = np.zeros(len(lines), dtype=np.bool_)
    touched[line_of_piece[gone]] = True
    left, line_of_left = reunited(pieces[~gone], line_of_piece[~gone], touched)
    cut = lines.pieces(left, line_of_left, whole=np.zeros(len(left), dtype=np.bool_))
    kept = np.ones(len(seen), dtype=np.bool_)
    kept[judged[touched]] = False
    return seen.select(kept).together(cut), float(shapely.length(pieces[gone]).sum())


def about_one_colour(seen: Lines, paint: PaintedAreas) -> float:
    """About how many mm of the seen lines have one colour on both sides, from SAMPLE points evenly along them."""
    coords, line_index = shapely.get_coordinates(seen.geometry, return_index=True)
    if not len(coords) or not len(paint.area):
        return 0.0
    step = np.diff(coords, axis=0)
    length = np.where(line_index[1:] == line_index[:-1], np.hypot(*step.T), 0.0)
    reach = np.cumsum(length)
    asked = (np.arange(SAMPLE) + 0.5) * reach[-1] / SAMPLE
    segment = np.minimum(np.searchsorted(reach, asked, side="right"), len(reach) - 1)
    segment, asked = segment[length[segment] > 0], asked[length[segment] > 0]
    order = seen.order[line_index[segment]]
    share = (asked - reach[segment]) / length[segment] + 1.0
    at = coords[segment] + share[:, None] * step[segment]
    aside = _aside(step[segment], paint.half[order])
    is_stroke = order % 2 == 1
    one_colour = paint.own[order] != NO_COLOUR
    for side in (aside, -aside):
        asked_rows = np.flatnonzero(one_colour)
        one_colour[asked_rows] = (
            paint.at(at[asked_rows] + side[asked_rows], is_stroke[asked_rows]) == paint.own[order[asked_rows]]
        )
    return float(one_colour.mean() * reach[-1])


def _aside(step: NDArray[np.float64], half: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 2) mm, from a line that goes on by `step` to just beside its paint."""
    normal = np.stack([-step[:, 1], step[:, 0]], axis=1) / np.hypot(*step.T)[:, None]
    return normal * (half + ASIDE_MM)[:, None]  # type: ignore[no-any-return]


def _both_sides(
    lines: Lines,
    coords: NDArray[np.float64],
    line_index: NDArray[np.int64],
    position: NDArray[np.float64],
    paint: PaintedAreas,
) -> NDArray[np.float64]:
    """(r, 2) intervals that have the line's own colour on both sides."""
    first = np.flatnonzero((line_index[1:] == line_index[:-1]) & (position[1:] > position[:-1]))
    order = lines.order[line_index[first]]
    step = coords[first + 1] - coords[first]
    aside = _aside(step, paint.half[order])
    segments = np.stack([coords[first], coords[first + 1]], axis=1)
    intervals, asked_rows = [], _with_its_colour_beside(segments, order, paint)
    for side in (aside, -aside):
        beside = shapely.linestrings(segments[asked_rows] + side[asked_rows, None])
        shown = paint.along(beside, order[asked_rows] % 2 == 1)
        own = shown.colour == paint.own[order[asked_rows[shown.line]]]
        intervals.append(_on_axis(shown, own, position[first[asked_rows]], position[first[asked_rows] + 1]))
        asked_rows = asked_rows[np.unique(shown.line[own])]  # where one side differs, the other need not be looked at
    return shared(*intervals)


def _with_its_colour_beside(
    segments: NDArray[np.float64], order: NDArray[np.int64], paint: PaintedAreas
) -> NDArray[np.int64]:
    """Which segments have paint of their own colour, but of another shape, in reach: most artwork has little."""
    low, high = segments.min(axis=1), segments.max(axis=1)
    reach = (paint.half[order] + ASIDE_MM)[:, None]
    boxes = shapely.box(*(low - reach).T, *(high + reach).T)
    segment, area = paint.tree.query(boxes)
    other = (paint.colour[area] == paint.own[order[segment]]) & (paint.order[area] != order[segment])
    return np.unique(segment[other])


def _on_axis(
    shown: ShownAlong, own: NDArray[np.bool_], start: NDArray[np.float64], stop: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(r, 2) intervals of segments that lie on the axis from `start` to `stop`."""
    line, length = shown.line[own], stop[shown.line[own]] - start[shown.line[own]]
    intervals = start[line, None] + np.stack([shown.start[own], shown.stop[own]], axis=1) * length[:, None]
    return union(intervals, 0.0)


def _long_enough(
    intervals: NDArray[np.float64], line_index: NDArray[np.int64], position: NDArray[np.float64], least: float
) -> NDArray[np.float64]:
    """Intervals that are longer than `least` mm, or all of their line."""
    first = np.searchsorted(line_index, np.arange(line_index[-1] + 2))
    begin, end = position[first[:-1]], position[first[1:] - 1]
    line = line_index[np.searchsorted(position, intervals.mean(axis=1), side="right") - 1]
    at_start, at_end = intervals[:, 0] < begin[line] + NOISE_MM, intervals[:, 1] > end[line] - NOISE_MM
    intervals = np.stack(
        [np.where(at_start, begin[line], intervals[:, 0]), np.where(at_end, end[line], intervals[:, 1])], axis=1
    )
    long_enough = (intervals[:, 1] - intervals[:, 0] > least) | (at_start & at_end)
    return intervals[long_enough]  # type: ignore[no-any-return]


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
