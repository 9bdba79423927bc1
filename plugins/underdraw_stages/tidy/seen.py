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
from underdraw_stages.tidy.lines import GRID_MM, Lines, as_lines, cut_at, no_lines

LINE_POINTS = 64  # a line is looked at in stretches of so many points
AREA_POINTS = 256  # an area in pieces of about so many
REACH = 1.5  # breadths of a stroke that a line goes on beneath it: one, and more for a slanting crossing
AREA_DEPTH = 24  # how often an area may be halved: beyond it, its points lie on one spot


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
        ends = _keys(shapely.points(shapely.get_coordinates(meeting.geometry)))
        for place in (0, -1):
            narrow &= ~np.isin(_keys(shapely.get_point(seen.geometry, place)), ends)
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
    parts, owner = _reunited(left, of, touched)
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


def _reunited(
    left: NDArray[Any], of: NDArray[np.int64], touched: NDArray[np.bool_]
) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Stretches of touched lines put together again where they were only cut for the work."""
    mine = touched[of]
    parts, owner = shapely.get_parts(left[mine], return_index=True)
    owner = of[mine][owner]
    real = shapely.length(parts) > 0
    parts, owner = parts[real], owner[real]
    if not len(parts):
        return parts, owner
    lines, index = np.unique(owner, return_inverse=True)
    merged = shapely.line_merge(shapely.multilinestrings(parts, indices=index))
    parts, again = shapely.get_parts(merged, return_index=True)
    return parts, lines[again]


def stretches(geometry: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Lines cut into stretches of at most LINE_POINTS points, and the (m,) line of each."""
    counts = shapely.get_num_coordinates(geometry)
    if not (counts > LINE_POINTS).any():
        return geometry, np.arange(len(geometry))
    coords, owner = shapely.get_coordinates(geometry, return_index=True)
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    place = np.arange(len(coords)) - first[owner]
    step = LINE_POINTS - 1
    seam = place % step == 0
    coords, owner, of = cut_at(coords, owner, seam)
    return as_lines(coords, owner), of


def small_areas(area: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Areas halved along their longer side until each has about AREA_POINTS points, and the (k,) area of each."""
    owner = np.arange(len(area))
    done: list[NDArray[Any]] = []
    done_owner: list[NDArray[np.int64]] = []
    for _ in range(AREA_DEPTH):
        large = shapely.get_num_coordinates(area) > AREA_POINTS
        done.append(area[~large])
        done_owner.append(owner[~large])
        area, owner = area[large], owner[large]
        if not len(area):
            break
        x0, y0, x1, y1 = shapely.bounds(area).T
        wide = x1 - x0 >= y1 - y0
        x, y = np.where(wide, (x0 + x1) / 2, x1), np.where(wide, y1, (y0 + y1) / 2)
        near = shapely.box(x0, y0, x, y)
        far = shapely.box(np.where(wide, x, x0), np.where(wide, y0, y), x1, y1)
        halves = np.concatenate([shapely.intersection(area, near), shapely.intersection(area, far)])
        area, of = shapely.get_parts(halves, return_index=True)
        owner = np.concatenate([owner, owner])[of]
        flat = shapely.get_type_id(area) == shapely.GeometryType.POLYGON
        area, owner = area[flat], owner[flat]
    return np.concatenate([*done, area]), np.concatenate([*done_owner, owner])


def run_ons(lines: Lines, seen: Lines, bands: Covers) -> Lines:
    """Where a seen line ends at the edge of a stroke above it: the bit from there to the stroke's middle.

    Not longer than REACH breadths of the stroke. A line that dips beneath it for less than that has no gap there, and
    one that ends beneath it is carried on straight to its middle.
    """
    stretch, of = stretches(lines.geometry)
    line, band = shapely.STRtree(bands.area).query(stretch, predicate="intersects")
    above = bands.order[band] > lines.order[of[line]]
    line, band = line[above], band[above]
    beneath = shapely.intersection(stretch[line], bands.area[band])
    bits, pair = shapely.get_parts(shapely.difference(beneath, bands.middle[band]), return_index=True)
    real = (shapely.length(bits) > 0) & (shapely.get_type_id(bits) == shapely.GeometryType.LINESTRING)
    bits, band, of = bits[real], band[pair[real]], of[line[pair[real]]]
    short = shapely.length(bits) <= REACH * bands.width[band]
    bits, band, of = bits[short], band[short], of[short]

    ends = [shapely.get_point(bits, place) for place in (0, -1)]
    seen_keys, own_keys = _end_keys(seen), _end_keys(lines)
    seen_there = [np.isin(_keys(end), seen_keys) for end in ends]
    middle_there = [shapely.distance(end, bands.middle[band]) < GRID_MM for end in ends]
    own_there = [np.isin(_keys(end), own_keys) for end in ends]
    arriving = (seen_there[0] & middle_there[1]) | (seen_there[1] & middle_there[0])
    arriving |= seen_there[0] & seen_there[1]  # beneath a stroke's end, or in and out again at its edge
    ending = ((seen_there[0] & own_there[1]) | (seen_there[1] & own_there[0])) & ~arriving
    last = np.where(seen_there[0], ends[1], ends[0])[ending]
    bridges = shapely.shortest_line(last, bands.middle[band[ending]])
    found = np.concatenate([bits[arriving], bits[ending], bridges])
    owner = np.concatenate([of[arriving], of[ending], of[ending]])
    long_enough = shapely.length(found) > 0
    return lines.pieces(found[long_enough], owner[long_enough], whole=np.zeros(int(long_enough.sum()), dtype=np.bool_))


def _end_keys(lines: Lines) -> NDArray[np.complex128]:
    """Keys of all the ends of lines that are not rings."""
    first, last = (_keys(shapely.get_point(lines.geometry, place)) for place in (0, -1))
    return np.concatenate([first[first != last], last[first != last]])


def _keys(points: NDArray[Any]) -> NDArray[np.complex128]:
    """One comparable value a point, on the drawing's grid."""
    xy = np.round(shapely.get_coordinates(points) / GRID_MM)
    return xy[:, 0] + 1j * xy[:, 1]  # type: ignore[no-any-return]


def _hidden_dots(dots: Dots, covers: Covers) -> NDArray[np.bool_]:
    hidden = np.zeros(len(dots), dtype=np.bool_)
    if len(dots) and len(covers):
        dot, area = shapely.STRtree(covers.area).query(shapely.points(dots.at), predicate="intersects")
        hidden[dot[covers.order[area] > dots.order[dot]]] = True
    return hidden
