"""Artwork as tidy reads it: the lines it would have drawn, its dots, and the areas that hide what lies beneath.

A shape with a stroke is drawn along the stroke's middle, once; a fill without a stroke by its edge. A fill lies
beneath its own stroke, so its level in the stack is `2 * row`, the stroke's `2 * row + 1`.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import NO_MARKER, Drawing
from underdraw.drawing.facts import Ground
from underdraw.drawing.lines.closing_edges import closing_edges
from underdraw.drawing.paint.hard_stops import edges_within
from underdraw.drawing.regions import fill_regions
from underdraw_stages.tidy.seen.hiding_areas import HidingAreas, stroke_areas
from underdraw_stages.tidy.seen.mirror_folds import cut_at_folds, mirror_folds
from underdraw_stages.tidy.seen.shown_paint import ASIDE_MM, ShownPaint, shown_paint
from underdraw_stages.tidy.seen.thin_shapes import breadths, middle_line, thin_shapes
from underdraw_stages.tidy.strokes.polylines import GRID_DECIMALS, Lines, no_lines

SPOT_MM = 0.05  # a tenth of a fine tip: what is no larger all round can only be drawn as a dot
HAIR = 3.0  # a fill narrower than so many times what is looked aside cannot be looked at from within
BACKGROUND_SLACK_MM = 0.1  # a page background may be smaller than the sheet by this much and still be one


@dataclass(frozen=True, eq=False)
class Dots:
    """Marks of no length: (d, 2) mm, the shape, marker and level in the stack of each."""

    at: NDArray[np.float64]
    row: NDArray[np.int64]
    marker: NDArray[np.int64]
    order: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.at)

    def select(self, keep: NDArray[np.bool_]) -> "Dots":
        """Only these dots."""
        return Dots(self.at[keep], self.row[keep], self.marker[keep], self.order[keep])

    def together(self, other: "Dots") -> "Dots":
        """These and then the other ones."""
        return Dots(
            np.concatenate([self.at, other.at]),
            np.concatenate([self.row, other.row]),
            np.concatenate([self.marker, other.marker]),
            np.concatenate([self.order, other.order]),
        )


@dataclass(frozen=True, eq=False)
class Artwork:
    """What a drawing would draw, and what hides what.

    broader: the bands for edges of fills, so much broader that an edge which only peeks out is not seen. paint: all
    that shows a colour. unpainted: how many shapes show nothing. background: how many were the page's. thin: how many
    fills became lines or dots.
    """

    lines: Lines
    dots: Dots
    fills: HidingAreas
    bands: HidingAreas
    broader: HidingAreas
    paint: ShownPaint
    unpainted: int
    background: int
    thin: int


def read_artwork(
    drawing: Drawing,
    marker: NDArray[np.int64],
    line_width: NDArray[np.float64],
    cover: bool,
    same: float,
    centre: float = 0.0,
) -> Artwork:
    """The lines, dots and areas of a drawing.

    marker: (s,) marker of each shape. line_width: (s,) mm; a stroke no broader shows as a line, not as paint. cover:
    whether opaque shapes hide what lies beneath. same: mm below which two lines are one; strokes no broader than this
    hide nothing, for nothing but their own line could be under them. centre: mm below which a long fill is a line,
    and one small all round a dot; 0 for neither.
    """
    painted_stroke = (drawing.stroke != "") & (drawing.stroke_opacity > 0) & (drawing.stroke_width > 0)
    painted_fill = (drawing.fill != "") & (drawing.fill_opacity > 0)
    tidied = drawing.is_tidied  # none of them lies on top
    areas, area_row = fill_regions(drawing, np.flatnonzero(painted_fill))
    background = _background(drawing, areas, area_row, painted_stroke)

    undrawn_fill = drawing.marker == NO_MARKER  # a cut fill: it hides, and what is left of its outline lies above it
    outlined = ~(painted_stroke | background | undrawn_fill)[area_row]
    thin = _thin_fills(areas, area_row, outlined, marker, centre)
    edges = _fill_edges(areas, area_row, outlined & ~thin.which, marker)
    chords = _closing_chords(drawing, painted_fill & painted_stroke, marker)
    stops, of_area = edges_within(drawing, areas[~thin.which], area_row[~thin.which], line_width)
    hard_stops = _of_fills(stops, area_row[~thin.which][of_area], marker)
    middles, dots = _stroke_middles(drawing, painted_stroke, marker, 0.0 if tidied else SPOT_MM)
    cut = drawing.cut_edge[middles.row]
    cut_edges, middles = middles.select(cut), middles.select(~cut)
    edges = edges.together(
        Lines(cut_edges.geometry, cut_edges.row, cut_edges.marker, 2 * cut_edges.row, cut_edges.whole)
    )

    thin_rows = np.isin(np.arange(len(drawing)), area_row[thin.which])
    solid_fill = (drawing.opaque_fill & cover)[area_row] & ~thin.lines
    fills = HidingAreas.of_fills(areas[solid_fill], area_row[solid_fill])
    broad = drawing.opaque_stroke & cover & (drawing.stroke_width > same) & (not tidied)
    hiding, folds = middles.select(broad[middles.row]), mirror_folds(drawing)
    bands, broader = (cut_at_folds(stroke_areas(drawing, hiding, more), folds) for more in (0.0, 2 * same))
    glazed = middles.select((~broad & (drawing.stroke_width > line_width) & (not tidied))[middles.row])
    painted_bands = bands.select(bands.width > line_width[bands.order // 2]).together(
        stroke_areas(drawing, glazed, 0.0)
    )
    paint = _paint(drawing, areas, area_row, background, thin_rows, painted_bands)
    solid_thin = thin.cover.select((drawing.opaque_fill & cover)[thin.cover.order // 2])
    bands, broader = bands.together(solid_thin), broader.together(solid_thin)
    shown = np.zeros(len(drawing), dtype=np.bool_)
    for rows in (edges.row, middles.row, dots.row, thin.middles.row, thin.flecks.row):
        shown[rows] = True
    return Artwork(
        lines=edges.together(chords, hard_stops, middles, thin.middles),
        dots=dots.together(thin.flecks),
        fills=fills,
        bands=bands,
        broader=broader,
        paint=paint,
        unpainted=int((~shown & ~background & ~undrawn_fill).sum()),
        background=int(background.sum()),
        thin=int(thin.which.sum()),
    )


def _paint(
    drawing: Drawing,
    areas: NDArray[Any],
    area_row: NDArray[np.int64],
    background: NDArray[np.bool_],
    thin: NDArray[np.bool_],
    bands: HidingAreas,
) -> ShownPaint:
    """All that shows a colour; the topmost opaque background is the ground on which the rest lies."""
    grounds = np.flatnonzero(background & drawing.opaque_fill)
    lowest = 2 * int(grounds[-1]) if len(grounds) else -1
    if len(grounds):
        drawing = drawing.replace(ground=Ground(str(drawing.fill[grounds[-1]]), drawing.fill_gradient[grounds[-1]]))
    hair = breadths(areas) < HAIR * ASIDE_MM  # on both its sides one would look beside it
    above = 2 * area_row > lowest
    return shown_paint(
        drawing,
        areas[above],
        area_row[above],
        bands.select(bands.order > lowest),
        HidingAreas.of_fills(areas[hair], area_row[hair]),
        not_judged=thin,
        blurred=drawing.blur > 0,
    )


@dataclass(frozen=True, eq=False)
class _ThinFills:
    """Fills that are lines or dots: (k,) which areas, which of them lines; those lines, what they cover, and dots."""

    which: NDArray[np.bool_]
    lines: NDArray[np.bool_]
    middles: Lines
    cover: HidingAreas
    flecks: Dots


def _thin_fills(
    areas: NDArray[Any],
    area_row: NDArray[np.int64],
    outlined: NDArray[np.bool_],
    marker: NDArray[np.int64],
    centre: float,
) -> _ThinFills:
    long_, fleck = np.zeros(len(areas), dtype=np.bool_), outlined & _spots(areas, SPOT_MM)
    if centre > 0:
        thin, small = thin_shapes(areas, centre)
        long_, fleck = outlined & thin & ~fleck, fleck | (outlined & small)
    middles_found = [middle_line(area) for area in areas[long_]]
    counts = np.array([len(lines) for lines in middles_found], dtype=np.int64)
    index = np.flatnonzero(long_)
    long_[index[counts == 0]] = False
    row = np.repeat(area_row[index], counts)
    middles = _of_fills(np.concatenate([np.empty(0, dtype=object), *middles_found]), row, marker)
    index = index[counts > 0]
    whole = np.array([shapely.multilinestrings(lines) for lines in middles_found if len(lines)], dtype=object)
    cover = HidingAreas(areas[index], 2 * area_row[index], whole, breadths(areas[index]))
    row = area_row[fleck]
    dots = Dots(_centres(areas[fleck]), row, marker[row], 2 * row)
    return _ThinFills(long_ | fleck, long_, middles, cover, dots)


def _background(
    drawing: Drawing, areas: NDArray[Any], area_row: NDArray[np.int64], stroked: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """(s,) which shapes are the page's background: a fill without a stroke that covers the whole sheet."""
    is_background = np.zeros(len(drawing), dtype=np.bool_)
    width, height = drawing.sheet
    slack = min(BACKGROUND_SLACK_MM, width / 4, height / 4)
    sheet = shapely.box(slack, slack, width - slack, height - slack)
    bounds = shapely.bounds(areas)
    large = (bounds[:, :2] <= slack).all(axis=1) & (bounds[:, 2:] >= np.array([width, height]) - slack).all(axis=1)
    large &= ~stroked[area_row]
    is_background[area_row[large][shapely.covers(areas[large], sheet)]] = True
    return is_background


def _fill_edges(
    areas: NDArray[Any], row: NDArray[np.int64], drawn: NDArray[np.bool_], marker: NDArray[np.int64]
) -> Lines:
    rings, area_index = shapely.get_rings(areas[drawn], return_index=True)
    shape_index = row[drawn][area_index]
    coords, ring = shapely.get_coordinates(rings, return_index=True)
    edges = shapely.linestrings(coords, indices=ring) if len(rings) else rings
    return _of_fills(edges, shape_index, marker)


def _of_fills(geometry: NDArray[Any], row: NDArray[np.int64], marker: NDArray[np.int64]) -> Lines:
    """Whole lines of fills: (n,) LineStrings, the shape of each, (s,) markers."""
    return Lines(geometry, row, marker[row], 2 * row, np.ones(len(row), dtype=np.bool_))


def _closing_chords(drawing: Drawing, both: NDArray[np.bool_], marker: NDArray[np.int64]) -> Lines:
    """Where a stroked shape is filled but left open, its fill ends in a straight edge that no stroke covers."""
    part_row = np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes))
    part, edges = closing_edges(drawing.coords, drawing.parts, drawing.stroke_width[part_row])
    asked = both[part_row[part]]
    if not asked.any():
        return no_lines()
    chords, row = shapely.linestrings(edges[asked]), part_row[part[asked]]
    return Lines(chords, row, marker[row], 2 * row, np.zeros(len(row), dtype=np.bool_))


def _stroke_middles(
    drawing: Drawing, stroked: NDArray[np.bool_], marker: NDArray[np.int64], largest_spot: float
) -> tuple[Lines, Dots]:
    """The middle line of every stroked part, and a dot for each of no length (SVG 1.1, 11.4: butt ends paint none)."""
    part_row = np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes))
    drawn = np.flatnonzero(stroked[part_row] & (np.diff(drawing.parts) > 0))
    parts, row = drawing.part_lines()[drawn], part_row[drawn]
    spot = _spots(parts, largest_spot)
    middles = Lines(
        parts[~spot], row[~spot], marker[row[~spot]], 2 * row[~spot] + 1, np.ones(int((~spot).sum()), dtype=np.bool_)
    )
    shown = spot & ((drawing.cap[row] != "butt") | (shapely.length(parts) > 0))
    return middles, Dots(_centres(parts[shown]), row[shown], marker[row[shown]], 2 * row[shown] + 1)


def _spots(geometry: NDArray[Any], largest: float) -> NDArray[np.bool_]:
    """(n,) what is no larger all round than `largest` mm."""
    bounds = shapely.bounds(geometry)
    return np.hypot(*(bounds[:, 2:] - bounds[:, :2]).T) <= largest  # type: ignore[no-any-return]


def _centres(geometry: NDArray[Any]) -> NDArray[np.float64]:
    bounds = shapely.bounds(geometry)
    return np.round((bounds[:, :2] + bounds[:, 2:]) / 2, GRID_DECIMALS)  # type: ignore[no-any-return]
