"""Which colour shows at a point: that of the topmost paint there.

Paint that can be seen through gives none, nor does the bare page, nor the page's background.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw_stages.tidy.seen.hiding_areas import HidingAreas
from underdraw_stages.tidy.seen.small_pieces import small_areas
from underdraw_stages.tidy.seen.stack_grid import StackGrid, is_deep

NO_COLOUR = -1  # no colour, or none that is known
MANY_POINTS = 64  # of an area from which it pays to prepare it for being asked again


@dataclass(frozen=True, eq=False)
class ShownAlong:
    """What shows along lines of two points: (k,) the line, from where to where on it (0 to 1), and the colour."""

    line: NDArray[np.int64]
    start: NDArray[np.float64]
    stop: NDArray[np.float64]
    colour: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class PaintedAreas:
    """Painted areas: (k,) valid Polygons, levels in the stack, colours by number, and which are bands of strokes.

    own: (2 s,) the colour of each shape's fill and stroke, by level in the stack; NO_COLOUR also where a line of that
    level cannot be judged. half: (2 s,) mm from the line to either edge of its paint: 0 for a fill.
    """

    area: NDArray[Any]
    order: NDArray[np.int64]
    colour: NDArray[np.int64]
    band: NDArray[np.bool_]
    own: NDArray[np.int64]
    half: NDArray[np.float64]

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The areas, to be searched by position."""
        return shapely.STRtree(self.area)

    def in_small_pieces(self) -> "PaintedAreas":
        """The same paint in areas of few points, without those that lie too deep in the stack to show."""
        area, area_of_piece = small_areas(self.area)
        order, opaque = self.order[area_of_piece], self.colour[area_of_piece] != NO_COLOUR
        if opaque.any() and is_deep(area[opaque]):
            shows = ~StackGrid(area[opaque], order[opaque]).buried(area, order)
            area, order, area_of_piece = area[shows], order[shows], area_of_piece[shows]
        return PaintedAreas(area, order, self.colour[area_of_piece], self.band[area_of_piece], self.own, self.half)

    def at(self, points: NDArray[np.float64], fills_only: NDArray[np.bool_]) -> NDArray[np.int64]:
        """(n,) the colour that shows at each of (n, 2) points; where `fills_only`, the band of a stroke shows none."""
        shapely.prepare(self.area[shapely.get_num_coordinates(self.area) > MANY_POINTS])
        point, area = self.tree.query(shapely.points(points))
        colour = np.full(len(points), NO_COLOUR, dtype=np.int64)
        for asked, area_index, done in self._from_the_top(point, area, len(points)):
            inside = shapely.contains_xy(self.area[area_index], points[asked])
            colour[asked[inside]] = self._colour_of(area_index[inside], fills_only[asked[inside]])
            done[asked[inside]] = True
        return colour

    def along(self, lines: NDArray[Any], fills_only: NDArray[np.bool_]) -> ShownAlong:
        """What shows along each of (n,) lines of two points; where `fills_only`, the band of a stroke shows none."""
        shapely.prepare(self.area)
        line, area = self.tree.query(lines)
        left, pieces = lines.copy(), [np.empty(0, dtype=object)]
        line_of_piece, colours = [np.empty(0, dtype=np.int64)], [np.empty(0, dtype=np.int64)]
        for asked, area_index, done in self._from_the_top(line, area, len(lines)):
            shown = self._colour_of(area_index, fills_only[asked])
            whole = shapely.covers(self.area[area_index], left[asked])
            partly = ~whole
            partly[partly] = shapely.intersects(self.area[area_index[partly]], left[asked[partly]])
            partly_asked = asked[partly]
            inside = shapely.intersection(left[partly_asked], self.area[area_index[partly]])
            pieces += [left[asked[whole]], inside]
            line_of_piece += [asked[whole], partly_asked]
            colours += [shown[whole], shown[partly]]
            left[partly_asked] = shapely.difference(left[partly_asked], self.area[area_index[partly]])
            done[asked[whole]] = True
            done[partly_asked] = shapely.is_empty(left[partly_asked])
        return _shown_along(lines, np.concatenate(pieces), np.concatenate(line_of_piece), np.concatenate(colours))

    def _colour_of(self, area_index: NDArray[np.int64], fills_only: NDArray[np.bool_]) -> NDArray[np.int64]:
        return np.where(self.band[area_index] & fills_only, NO_COLOUR, self.colour[area_index])

    def _from_the_top(
        self, asked: NDArray[np.int64], area: NDArray[np.int64], count: int
    ) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]]:
        """Pairs of an item asked for and an area, in turns: each item's topmost area first, then the next below.

        Yields the items, the area for each, and (count,) a mask in which to mark the items that are done with.
        """
        done = np.zeros(count, dtype=np.bool_)
        sequence = np.lexsort((area, -self.order[area], asked))
        asked, area = asked[sequence], area[sequence]
        first = np.flatnonzero(np.concatenate([[True], asked[1:] != asked[:-1]])) if len(asked) else asked
        last = np.concatenate([first[1:], [len(asked)]]) - 1
        while len(first):
            yield asked[first], area[first], done
            go_on = (first < last) & ~done[asked[first]]
            first, last = first[go_on] + 1, last[go_on]


def painted_areas(
    drawing: Drawing,
    solid: float,
    areas: NDArray[Any],
    area_row: NDArray[np.int64],
    bands: HidingAreas,
    unknown: NDArray[np.bool_],
) -> PaintedAreas:
    """The paint of a drawing's fills and of the bands of its strokes.

    solid: opacity from which paint shows its colour. areas, area_row: (k,) what fills cover, and the shape of each.
    unknown: (s,) shapes whose fills show none.
    """
    names = np.stack([drawing.fill, drawing.stroke], axis=1).ravel()
    opaque = np.stack([(drawing.fill_opacity >= solid) & ~unknown, drawing.stroke_opacity >= solid], axis=1).ravel()
    number = {colour: index for index, colour in enumerate(sorted(set(names.tolist())))}
    own = np.where(opaque & (names != ""), np.array([number[colour] for colour in names.tolist()]), NO_COLOUR)
    order = np.concatenate([2 * area_row, bands.order])
    return PaintedAreas(
        area=np.concatenate([areas, bands.area]),
        order=order,
        colour=own[order],
        band=np.arange(len(order)) >= len(areas),
        own=own,
        half=np.stack([np.zeros(len(drawing)), drawing.stroke_width / 2], axis=1).ravel(),
    )


def _shown_along(
    lines: NDArray[Any], pieces: NDArray[Any], line_index: NDArray[np.int64], colour: NDArray[np.int64]
) -> ShownAlong:
    """Where on its line of two points each piece is."""
    parts, piece_of_part = shapely.get_parts(pieces, return_index=True)
    real = shapely.length(parts) > 0
    parts, piece_of_part = parts[real], piece_of_part[real]
    coords, part = shapely.get_coordinates(parts, return_index=True)
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)[line_index[piece_of_part]]
    step = ends[:, 1] - ends[:, 0]
    share = ((coords - ends[part, 0]) * step[part]).sum(axis=1) / (step[part] ** 2).sum(axis=1)
    first = np.flatnonzero(np.concatenate([[True], part[1:] != part[:-1]])) if len(part) else part
    low, high = (ufunc.reduceat(share, first) if len(first) else share for ufunc in (np.minimum, np.maximum))
    return ShownAlong(line_index[piece_of_part], low, high, colour[piece_of_part])
