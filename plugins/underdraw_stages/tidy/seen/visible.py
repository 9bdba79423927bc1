"""What the eye sees: each line less the opaque areas that lie above it in the stack."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.seen.artwork import Artwork, Dots
from underdraw_stages.tidy.seen.faint_edges import without_faint_edges
from underdraw_stages.tidy.seen.hidden_lines import without_hidden
from underdraw_stages.tidy.seen.hiding_areas import HidingAreas
from underdraw_stages.tidy.seen.meet_beneath import extensions_beneath
from underdraw_stages.tidy.strokes.polylines import Lines, grid_keys, no_lines, point_keys


@dataclass(frozen=True, eq=False)
class Visible:
    """What is left to see: lines, dots; the mm that were hidden; how many bits showed in slits, and their mm.

    faint: edges left out, as their two sides look alike. lost: how many shapes have no other edge that was to be seen.
    """

    lines: Lines
    dots: Dots
    hidden: float
    faint: Lines
    lost: int
    slits: int
    slits_length: float


def what_the_eye_sees(artwork: Artwork, meet: bool, shortest: float, contrast: float) -> Visible:
    """The lines and dots left to see.

    Fills hide by their area, then strokes by their width; an edge of a fill that comes out from under a stroke by less
    than two lines need to be seen as two is still beneath it. With `meet` a line that runs beneath a stroke goes on to
    the stroke's middle, for that is where the stroke will be drawn. What shows of a line between two shapes for less
    than `shortest` mm is a slit that nobody meant. Edges whose sides differ by less than `contrast` go, too;
    0 keeps all.
    """
    above_fills = without_hidden(artwork.lines, artwork.fills)
    edges, middles = (above_fills.select(of_fill) for of_fill in (above_fills.of_fill, ~above_fills.of_fill))
    seen_edges, seen_middles = without_hidden(edges, artwork.broader), without_hidden(middles, artwork.bands)
    both = seen_edges.together(seen_middles)
    faint = no_lines()
    if contrast > 0:
        both, faint = without_faint_edges(both, artwork.paint, contrast, shortest)
        seen_edges, seen_middles = both.select(both.of_fill), both.select(~both.of_fill)
    kept, slit = [], []
    drawn = both
    for lines, seen, bands in ((middles, seen_middles, artwork.bands), (edges, seen_edges, artwork.broader)):
        meeting = extensions_beneath(lines, seen, bands, drawn) if meet and len(bands) else no_lines()
        drawn = drawn.together(meeting)
        narrow = _in_slits(seen, meeting, shortest)
        kept += [seen.select(~narrow), meeting]
        slit.append(seen.select(narrow).geometry)
    left, slits = kept[0].together(*kept[1:]), np.concatenate(slit)
    slits_length = float(shapely.length(slits).sum())
    dots = artwork.dots
    for hiding in (artwork.fills, artwork.bands):
        dots = dots.select(~_hidden_dots(dots, hiding))
    hidden = max(0.0, artwork.lines.length - left.length - slits_length - faint.length)
    lost = len(np.setdiff1d(faint.row, left.row))
    return Visible(left, dots, hidden, faint, lost, len(slits), slits_length)


def _in_slits(seen: Lines, meeting: Lines, shortest: float) -> NDArray[np.bool_]:
    """(n,) which seen lines were cut so short that they are left-overs; not those that run on beneath a stroke."""
    narrow = ~seen.whole & (shapely.length(seen.geometry) < shortest)
    if narrow.any() and len(meeting):
        ends = grid_keys(shapely.get_coordinates(meeting.geometry))
        for end in (0, -1):
            narrow &= ~np.isin(point_keys(shapely.get_point(seen.geometry, end)), ends)
    return narrow  # type: ignore[no-any-return]


def _hidden_dots(dots: Dots, hiding: HidingAreas) -> NDArray[np.bool_]:
    hidden = np.zeros(len(dots), dtype=np.bool_)
    if len(dots) and len(hiding):
        dot, area = shapely.STRtree(hiding.area).query(shapely.points(dots.at), predicate="intersects")
        hidden[dot[hiding.order[area] > dots.order[dot]]] = True
    return hidden
