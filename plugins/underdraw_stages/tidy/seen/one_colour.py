"""Edges with one colour on both sides: two shapes of one colour are one area to the eye, and show no line between them.

Just beside a fill's edge, to either side, the topmost paint is asked for its colour; beside the band of a stroke, fills
alone are asked, for where outlines cross or run together each is still seen as a line.
"""

from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.seen.small_pieces import reunited
from underdraw_stages.tidy.seen.topmost_colour import UNTOLD, Along, Paint
from underdraw_stages.tidy.strokes.intervals import cut_out, on_axis, shared, union
from underdraw_stages.tidy.strokes.polylines import Lines

ASIDE_MM = 0.02  # how far beside an edge, or the band of a stroke, is looked: shapes side by side need not quite meet
NOISE_MM = 0.2  # ten times that: about a corner, or where another edge comes in at a slant, so little says nothing
SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")
SAMPLE = 2000  # places at which the amount is told


def without_unseen(seen: Lines, paint: Paint, shortest: float) -> tuple[Lines, float]:
    """Seen lines without the runs that have one colour on both sides, and the mm that went.

    shortest: mm; a shorter run stays, unless it is all that is seen of its line.
    """
    told = np.flatnonzero(paint.own[seen.order] != UNTOLD)
    lines = seen.select(told)
    coords, owner = shapely.get_coordinates(lines.geometry, return_index=True)
    if not len(coords) or not len(paint.area):
        return seen, 0.0
    place = on_axis(coords, owner)
    spans = union(_both_sides(lines, coords, owner, place, paint.in_small_pieces()), NOISE_MM)
    spans = _long_enough(spans, owner, place, max(shortest, NOISE_MM))
    if not len(spans):
        return seen, 0.0
    spans = _to_ends(spans, lines, coords, owner, place, seen)
    pieces, of, gone = cut_out(coords, owner, place, spans)
    touched = np.zeros(len(lines), dtype=np.bool_)
    touched[of[gone]] = True
    left, of_left = reunited(pieces[~gone], of[~gone], touched)
    cut = lines.pieces(left, of_left, whole=np.zeros(len(left), dtype=np.bool_))
    kept = np.ones(len(seen), dtype=np.bool_)
    kept[told[touched]] = False
    return seen.select(kept).together(cut), float(shapely.length(pieces[gone]).sum())


def about_unseen(seen: Lines, paint: Paint) -> float:
    """About how many mm of the seen lines have one colour on both sides, from SAMPLE places evenly along them."""
    coords, owner = shapely.get_coordinates(seen.geometry, return_index=True)
    if not len(coords) or not len(paint.area):
        return 0.0
    step = np.diff(coords, axis=0)
    length = np.where(owner[1:] == owner[:-1], np.hypot(*step.T), 0.0)
    reach = np.cumsum(length)
    asked = (np.arange(SAMPLE) + 0.5) * reach[-1] / SAMPLE
    segment = np.minimum(np.searchsorted(reach, asked, side="right"), len(reach) - 1)
    segment, asked = segment[length[segment] > 0], asked[length[segment] > 0]
    order = seen.order[owner[segment]]
    share = (asked - reach[segment]) / length[segment] + 1.0
    at = coords[segment] + share[:, None] * step[segment]
    aside = _aside(step[segment], paint.half[order])
    of_stroke = order % 2 == 1
    one_colour = paint.own[order] != UNTOLD
    for side in (aside, -aside):
        mine = np.flatnonzero(one_colour)
        one_colour[mine] = paint.at(at[mine] + side[mine], of_stroke[mine]) == paint.own[order[mine]]
    return float(one_colour.mean() * reach[-1])


def _aside(step: NDArray[np.float64], half: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 2) mm, from a line that goes on by `step` to just beside its paint."""
    normal = np.stack([-step[:, 1], step[:, 0]], axis=1) / np.hypot(*step.T)[:, None]
    return normal * (half + ASIDE_MM)[:, None]  # type: ignore[no-any-return]


def _both_sides(
    lines: Lines, coords: NDArray[np.float64], owner: NDArray[np.int64], place: NDArray[np.float64], paint: Paint
) -> NDArray[np.float64]:
    """(r, 2) spans that have the line's own colour on both sides."""
    first = np.flatnonzero((owner[1:] == owner[:-1]) & (place[1:] > place[:-1]))
    order = lines.order[owner[first]]
    step = coords[first + 1] - coords[first]
    aside = _aside(step, paint.half[order])
    segments = np.stack([coords[first], coords[first + 1]], axis=1)
    spans, mine = [], _with_its_colour_beside(segments, order, paint)
    for side in (aside, -aside):
        beside = shapely.linestrings(segments[mine] + side[mine, None])
        shown = paint.along(beside, order[mine] % 2 == 1)
        own = shown.colour == paint.own[order[mine[shown.line]]]
        spans.append(_on_axis(shown, own, place[first[mine]], place[first[mine] + 1]))
        mine = mine[np.unique(shown.line[own])]  # where one side differs, the other need not be looked at
    return shared(*spans)


def _with_its_colour_beside(segments: NDArray[np.float64], order: NDArray[np.int64], paint: Paint) -> NDArray[np.int64]:
    """Which segments have paint of their own colour, but of another shape, in reach: most artwork has little."""
    low, high = segments.min(axis=1), segments.max(axis=1)
    reach = (paint.half[order] + ASIDE_MM)[:, None]
    boxes = shapely.box(*(low - reach).T, *(high + reach).T)
    segment, area = paint.tree.query(boxes)
    other = (paint.colour[area] == paint.own[order[segment]]) & (paint.order[area] != order[segment])
    return np.unique(segment[other])


def _on_axis(
    shown: Along, own: NDArray[np.bool_], start: NDArray[np.float64], stop: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(r, 2) spans of segments that lie on the axis from `start` to `stop`."""
    line, length = shown.line[own], stop[shown.line[own]] - start[shown.line[own]]
    spans = start[line, None] + np.stack([shown.start[own], shown.stop[own]], axis=1) * length[:, None]
    return union(spans, 0.0)


def _long_enough(
    spans: NDArray[np.float64], owner: NDArray[np.int64], place: NDArray[np.float64], least: float
) -> NDArray[np.float64]:
    """Spans that are longer than `least` mm, or all of their line."""
    first = np.searchsorted(owner, np.arange(owner[-1] + 2))
    begin, end = place[first[:-1]], place[first[1:] - 1]
    line = owner[np.searchsorted(place, spans.mean(axis=1), side="right") - 1]
    at_start, at_end = spans[:, 0] < begin[line] + NOISE_MM, spans[:, 1] > end[line] - NOISE_MM
    spans = np.stack([np.where(at_start, begin[line], spans[:, 0]), np.where(at_end, end[line], spans[:, 1])], axis=1)
    long_enough = (spans[:, 1] - spans[:, 0] > least) | (at_start & at_end)
    return spans[long_enough]  # type: ignore[no-any-return]


def _to_ends(
    spans: NDArray[np.float64],
    lines: Lines,
    coords: NDArray[np.float64],
    owner: NDArray[np.int64],
    place: NDArray[np.float64],
    ends_of: Lines,
) -> NDArray[np.float64]:
    """Spans that begin and end where another line ends on theirs, if one does so about there: so the lines meet."""
    ends = np.concatenate([shapely.get_point(ends_of.geometry, where) for where in (0, -1)])
    cuts = spans.ravel()
    segment = np.clip(np.searchsorted(place, cuts, side="right") - 1, 0, len(place) - 2)
    step = np.maximum(place[segment + 1] - place[segment], 1e-9)
    share = np.where(owner[segment] == owner[segment + 1], (cuts - place[segment]) / step, 0.0)
    at = coords[segment] + share[:, None] * (coords[segment + 1] - coords[segment])
    line = owner[segment]
    cut, end = shapely.STRtree(ends).query(shapely.points(at), predicate="dwithin", distance=NOISE_MM)
    on_it = shapely.distance(ends[end], lines.geometry[line[cut]]) < 1e-3
    cut, end = cut[on_it], end[on_it]
    first, last = (np.searchsorted(owner, line[cut], side=side) for side in SIDES)
    inside = (cuts[cut] > place[first]) & (cuts[cut] < place[last - 1])  # else it is the line's own end already
    cut, end, first = cut[inside], end[inside], first[inside]
    there = place[first] + shapely.line_locate_point(lines.geometry[line[cut]], ends[end])
    near = np.abs(there - cuts[cut]) < 2 * NOISE_MM  # along the line, too: a ring's start is no place near its end
    cut, there = cut[near], there[near]
    sequence = np.lexsort((there, np.abs(there - cuts[cut]), cut))
    nearest = sequence[np.concatenate([[True], cut[sequence][1:] != cut[sequence][:-1]])] if len(cut) else sequence
    cuts = cuts.copy()
    cuts[cut[nearest]] = there[nearest]
    spans = cuts.reshape(-1, 2)
    return union(spans[spans[:, 1] > spans[:, 0]], 0.0)
