"""Which colour shows at a place: that of the topmost paint there.

Paint that can be seen through does not tell, nor does the bare page, nor the page's background.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw_stages.tidy.seen.hiding_areas import Covers
from underdraw_stages.tidy.seen.small_pieces import small_areas
from underdraw_stages.tidy.seen.stack_grid import Grid, is_deep

UNTOLD = -1  # no colour, or none that can be told
MANY_POINTS = 64  # of an area from which it pays to prepare it for being asked again


@dataclass(frozen=True, eq=False)
class Along:
    """What shows along lines of two points: (k,) the line, from where to where on it (0 to 1), and the colour."""

    line: NDArray[np.int64]
    start: NDArray[np.float64]
    stop: NDArray[np.float64]
    colour: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Paint:
    """Painted areas: (k,) valid Polygons, places in the stack, colours by number, and which are bands of strokes.

    own: (2 s,) the colour of each shape's fill and stroke, by place in the stack; UNTOLD also where a line of that
    place cannot be judged. half: (2 s,) mm from the line to either edge of its paint: 0 for a fill.
    """

    area: NDArray[Any]
    order: NDArray[np.int64]
    colour: NDArray[np.int64]
    band: NDArray[np.bool_]
    own: NDArray[np.int64]
    half: NDArray[np.float64]

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The areas by place."""
        return shapely.STRtree(self.area)

    def in_small_pieces(self) -> "Paint":
        """The same paint in areas of few points, without those that lie too deep in the stack to show."""
        area, of = small_areas(self.area)
        order, opaque = self.order[of], self.colour[of] != UNTOLD
        if opaque.any() and is_deep(area[opaque]):
            shows = ~Grid(area[opaque], order[opaque]).buried(area, order)
            area, order, of = area[shows], order[shows], of[shows]
        return Paint(area, order, self.colour[of], self.band[of], self.own, self.half)

    def at(self, points: NDArray[np.float64], fills_tell: NDArray[np.bool_]) -> NDArray[np.int64]:
        """(n,) the colour that shows at each of (n, 2) points; where `fills_tell`, a stroke's band there does not."""
        shapely.prepare(self.area[shapely.get_num_coordinates(self.area) > MANY_POINTS])
        point, area = self.tree.query(shapely.points(points))
        found = np.full(len(points), UNTOLD, dtype=np.int64)
        for asked, cover, done in self._from_the_top(point, area, len(points)):
            inside = shapely.contains_xy(self.area[cover], points[asked])
            found[asked[inside]] = self._told(cover[inside], fills_tell[asked[inside]])
            done[asked[inside]] = True
        return found

    def along(self, lines: NDArray[Any], fills_tell: NDArray[np.bool_]) -> Along:
        """What shows along each of (n,) lines of two points; where `fills_tell`, a stroke's band does not."""
        shapely.prepare(self.area)
        line, area = self.tree.query(lines)
        left, pieces = lines.copy(), [np.empty(0, dtype=object)]
        owners, colours = [np.empty(0, dtype=np.int64)], [np.empty(0, dtype=np.int64)]
        for asked, cover, done in self._from_the_top(line, area, len(lines)):
            told = self._told(cover, fills_tell[asked])
            whole = shapely.covers(self.area[cover], left[asked])
            partly = ~whole
            partly[partly] = shapely.intersects(self.area[cover[partly]], left[asked[partly]])
            mine = asked[partly]
            inside = shapely.intersection(left[mine], self.area[cover[partly]])
            pieces += [left[asked[whole]], inside]
            owners += [asked[whole], mine]
            colours += [told[whole], told[partly]]
            left[mine] = shapely.difference(left[mine], self.area[cover[partly]])
            done[asked[whole]] = True
            done[mine] = shapely.is_empty(left[mine])
        return _placed(lines, np.concatenate(pieces), np.concatenate(owners), np.concatenate(colours))

    def _told(self, cover: NDArray[np.int64], fills_tell: NDArray[np.bool_]) -> NDArray[np.int64]:
        return np.where(self.band[cover] & fills_tell, UNTOLD, self.colour[cover])

    def _from_the_top(
        self, asked: NDArray[np.int64], area: NDArray[np.int64], count: int
    ) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]]:
        """Pairs of a place asked for and an area, in turns: each place's topmost area first, then the next below.

        Yields the places, the area for each, and (count,) a mask in which to say which places are done with.
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


def paint_of(
    drawing: Drawing,
    solid: float,
    areas: NDArray[Any],
    area_row: NDArray[np.int64],
    bands: Covers,
    unknown: NDArray[np.bool_],
) -> Paint:
    """The paint of a drawing's fills and of the bands of its strokes.

    solid: opacity from which paint tells its colour. areas, area_row: (k,) what fills cover, and the shape of each.
    unknown: (s,) shapes whose fills do not tell.
    """
    said = np.stack([drawing.fill, drawing.stroke], axis=1).ravel()
    opaque = np.stack([(drawing.fill_opacity >= solid) & ~unknown, drawing.stroke_opacity >= solid], axis=1).ravel()
    number = {colour: place for place, colour in enumerate(sorted(set(said.tolist())))}
    own = np.where(opaque & (said != ""), np.array([number[colour] for colour in said.tolist()]), UNTOLD)
    order = np.concatenate([2 * area_row, bands.order])
    return Paint(
        area=np.concatenate([areas, bands.area]),
        order=order,
        colour=own[order],
        band=np.arange(len(order)) >= len(areas),
        own=own,
        half=np.stack([np.zeros(len(drawing)), drawing.stroke_width / 2], axis=1).ravel(),
    )


def _placed(lines: NDArray[Any], pieces: NDArray[Any], owner: NDArray[np.int64], colour: NDArray[np.int64]) -> Along:
    """Where on its line of two points each piece lies."""
    parts, of = shapely.get_parts(pieces, return_index=True)
    real = shapely.length(parts) > 0
    parts, of = parts[real], of[real]
    coords, part = shapely.get_coordinates(parts, return_index=True)
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)[owner[of]]
    step = ends[:, 1] - ends[:, 0]
    share = ((coords - ends[part, 0]) * step[part]).sum(axis=1) / (step[part] ** 2).sum(axis=1)
    first = np.flatnonzero(np.concatenate([[True], part[1:] != part[:-1]])) if len(part) else part
    low, high = (ufunc.reduceat(share, first) if len(first) else share for ufunc in (np.minimum, np.maximum))
    return Along(owner[of], low, high, colour[of])
