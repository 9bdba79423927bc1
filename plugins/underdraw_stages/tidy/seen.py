"""What the eye sees: each line less the opaque areas that lie above it in the stack.

Long lines and large areas are cut up first, so that each difference is a small one; lines are then cut by one area
after another, the largest first, and are done with as soon as nothing is left of them.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.artwork import Artwork, Dots
from underdraw_stages.tidy.buried import Grid, is_deep
from underdraw_stages.tidy.covers import Covers
from underdraw_stages.tidy.lines import GRID_MM, Lines, no_lines
from underdraw_stages.tidy.run_ons import point_keys, run_ons
from underdraw_stages.tidy.small_pieces import reunited, small_areas, stretches


@dataclass(frozen=True, eq=False)
class Seen:
    """What is left to see: lines, dots; the mm that were hidden; how many bits showed in slits, and their mm."""

    lines: Lines
    dots: Dots
    hidden: float
    slits: int
    slits_length: float


def what_the_eye_sees(artwork: Artwork, meet: bool, shortest: float) -> Seen:
    """The lines and dots left to see.

    Fills hide by their area, then strokes by their width; an edge of a fill that comes out from under a stroke by less
    than two lines need to be told apart is still beneath it. With `meet` a line that runs beneath a stroke goes on to
    the stroke's middle, for that is where the stroke will be drawn. What shows of a line between two shapes for less
    than `shortest` mm is a slit that nobody meant.
    """
    above_fills = less(artwork.lines, artwork.fills)
    found, slit = [], []
    for lines, bands in (
        (above_fills.select(above_fills.of_fill), artwork.broader),
        (above_fills.select(~above_fills.of_fill), artwork.bands),
    ):
        seen = less(lines, bands)
        meeting = run_ons(lines, seen, bands) if meet and len(bands) else no_lines()
        narrow = _in_slits(seen, meeting, shortest)
        found += [seen.select(~narrow), meeting]
        slit.append(seen.select(narrow).geometry)
    seen, slits = found[0].together(*found[1:]), np.concatenate(slit)
    slits_length = float(shapely.length(slits).sum())
    dots = artwork.dots
    for covers in (artwork.fills, artwork.bands):
        dots = dots.select(~_hidden_dots(dots, covers))
    hidden = max(0.0, artwork.lines.length - seen.length - slits_length)
    return Seen(seen, dots, hidden, len(slits), slits_length)


def _in_slits(seen: Lines, meeting: Lines, shortest: float) -> NDArray[np.bool_]:
    """(n,) which seen lines were cut so short that they are left-overs; not those that run on beneath a stroke."""
    narrow = ~seen.whole & (shapely.length(seen.geometry) < shortest)
    if narrow.any() and len(meeting):
        ends = point_keys(shapely.points(shapely.get_coordinates(meeting.geometry)))
        for place in (0, -1):
            narrow &= ~np.isin(point_keys(shapely.get_point(seen.geometry, place)), ends)
    return narrow  # type: ignore[no-any-return]


def less(lines: Lines, covers: Covers) -> Lines:
    """Each line less every area above it. A line that no area touches is handed on as it was."""
    if not len(covers) or not len(lines):
        return lines
    stretch, of = stretches(lines.geometry)
    area, area_of = small_areas(covers.area)
    area_order, line_order = covers.order[area_of], lines.order[of]
    left = stretch.copy()
    open_to_view = np.ones(len(stretch), dtype=np.bool_)
    if is_deep(area):
        grid = Grid(area, area_order)
        open_to_view = ~grid.buried(stretch, line_order)
        left[~open_to_view] = shapely.LineString()
        needed = ~grid.buried(area, area_order)
        area, area_order = area[needed], area_order[needed]
    viewed = np.flatnonzero(open_to_view)
    pairs_line, pairs_area = shapely.STRtree(area).query(stretch[viewed], predicate="intersects")
    pairs_line = viewed[pairs_line]
    above = area_order[pairs_area] > line_order[pairs_line]
    left = _cut(left, area, pairs_line[above], pairs_area[above])
    touched = np.zeros(len(lines), dtype=np.bool_)
    touched[of[~shapely.equals_identical(left, stretch)]] = True
    parts, owner = reunited(left, of, touched)
    cut = lines.pieces(parts, owner)
    missing = shapely.length(lines.geometry[owner]) - np.bincount(owner, shapely.length(parts), len(lines))[owner]
    whole = cut.whole & (missing <= GRID_MM)
    return lines.select(~touched).together(Lines(cut.geometry, cut.row, cut.marker, cut.order, whole))


def _cut(left: NDArray[Any], area: NDArray[Any], line: NDArray[np.int64], cover: NDArray[np.int64]) -> NDArray[Any]:
    """(m,) what is left of each stretch; those that no pair names stay the same objects."""
    if not len(line):
        return left
    order = np.lexsort((cover, -shapely.area(area)[cover], line))
    line, cover = line[order], cover[order]
    first = np.flatnonzero(np.concatenate([[True], line[1:] != line[:-1]]))
    count = np.diff(np.concatenate([first, [len(line)]]))
    active = line[first]
    for turn in range(int(count.max())):
        left[active] = shapely.difference(left[active], area[cover[first + turn]])
        go_on = (count > turn + 1) & ~shapely.is_empty(left[active])
        active, first, count = active[go_on], first[go_on], count[go_on]
        if not len(active):
            break
    return left


def _hidden_dots(dots: Dots, covers: Covers) -> NDArray[np.bool_]:
    hidden = np.zeros(len(dots), dtype=np.bool_)
    if len(dots) and len(covers):
        dot, area = shapely.STRtree(covers.area).query(shapely.points(dots.at), predicate="intersects")
        hidden[dot[covers.order[area] > dots.order[dot]]] = True
    return hidden
