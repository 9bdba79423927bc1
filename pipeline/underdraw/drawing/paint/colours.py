"""Which colours show at places: all that is painted there, each paint laid over those beneath it.

Source-over of Porter and Duff, 'Compositing digital images', Computer Graphics 18 (1984), as SVG 1.1 (2nd ed.),
section 14.2, puts it together: in sRGB, the page beneath it all. From the top down, each place is done with as soon as
nothing more shines through. Gradients: SVG 1.1, section 13.2; colours and opacities between stops each by themselves.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.affine import IDENTITY, inverse
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.paint.gradients import Gradient, RadialGradient
from underdraw.drawing.ragged import Floats, Ints, Mask, offsets
from underdraw.drawing.regions import fill_regions, stroke_regions

MANY_POINTS = 64  # of an area from which it pays to prepare it for being asked again
SHINES_THROUGH = 1 / 1024  # less than this of what lies beneath changes no colour by one in 255
PAGE = (1.0, 1.0, 1.0)  # white, where the artwork's page is bare
NO_GRADIENT = -1


@dataclass(frozen=True, eq=False)
class ShownColours:
    """What shows at n places: (n, 3) sRGB from 0 to 1, and (n,) how much of it is paint that lies on the page."""

    rgb: Floats
    cover: Floats

    def select(self, rows: NDArray[Any]) -> "ShownColours":
        """Only these places."""
        return ShownColours(self.rgb[rows], self.cover[rows])


@dataclass(frozen=True, eq=False)
class Paints:
    """Paints by number, for many places at once: (p, 3) colours, (p,) opacities, (p,) gradients by number or none."""

    rgb: Floats
    opacity: Floats
    gradient: Ints
    gradients: tuple[Gradient, ...]

    @classmethod
    def of(cls, colours: list[str], opacity: list[float], gradients: list[Gradient | None]) -> "Paints":
        """From p colours "#rrggbb", opacities, and gradients or None."""
        number: dict[Gradient, int] = {}
        index = [NO_GRADIENT if each is None else number.setdefault(each, len(number)) for each in gradients]
        return cls(rgb_of(colours), np.array(opacity), np.array(index, dtype=np.int64), tuple(number))

    def at(self, paint: Ints, points: Floats) -> tuple[Floats, Floats]:
        """(k, 3) colours and (k,) opacities of (k,) paints, each at its own of (k, 2) points."""
        rgb, opacity = self.rgb[paint], self.opacity[paint]
        fades = np.flatnonzero(self.gradient[paint] != NO_GRADIENT)
        if len(fades):
            shown = self.table.at(self.gradient[paint[fades]], points[fades])
            rgb[fades] = shown[:, :3]
            opacity[fades] *= shown[:, 3]
        return rgb, opacity

    @cached_property
    def table(self) -> "GradientTable":
        """Its gradients, to be asked for many points at once."""
        return GradientTable(self.gradients)


@dataclass(frozen=True, eq=False)
class PaintStack:
    """Painted areas on one another: (k,) valid Polygons, levels in the stack, paints by number, on a ground.

    ground: what lies beneath them all, as one more paint after the others; it is no cover.
    """

    area: NDArray[Any]
    order: Ints
    paint: Ints
    paints: Paints
    ground: int

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The areas, to be searched by position; those of many points are prepared."""
        shapely.prepare(self.area[shapely.get_num_coordinates(self.area) > MANY_POINTS])
        return shapely.STRtree(self.area)

    @cached_property
    def _from_top(self) -> Ints:
        """The areas from the top of the stack down."""
        return np.lexsort((np.arange(len(self.order)), -self.order)).astype(np.int64)

    @cached_property
    def _rank(self) -> Ints:
        """(k,) at which place from the top each area is."""
        rank = np.empty(len(self.order), dtype=np.int64)
        rank[self._from_top] = np.arange(len(rank))
        return rank

    def at(self, points: Floats, passed: Mask | None = None) -> ShownColours:
        """What shows at (n, 2) points. passed: (k,) areas that are looked through as if they were not there."""
        point, area = self.tree.query(shapely.points(points))
        if passed is not None:
            kept = ~passed[area]
            point, area = point[kept], area[kept]
        rgb, through = np.zeros((len(points), 3)), np.ones(len(points))
        for asked, area_index in self._from_the_top(point, area, through):
            inside = shapely.contains_xy(self.area[area_index], points[asked])
            asked, area_index = asked[inside], area_index[inside]
            shown, opacity = self.paints.at(self.paint[area_index], points[asked])
            rgb[asked] += (through[asked] * opacity)[:, None] * shown
            through[asked] *= 1 - opacity
        left = np.flatnonzero(through > 0)
        page, _ = self.paints.at(np.full(len(left), self.ground), points[left])
        rgb[left] += through[left, None] * page
        return ShownColours(rgb, 1 - through)

    def _from_the_top(self, point: Ints, area: Ints, through: Floats) -> Iterator[tuple[Ints, Ints]]:
        """Pairs of a point and an area, in turns: each point's topmost area first, then the next one below.

        through: (n,) what share of the paint beneath still shows; a point through which none shows is done with.
        """
        key = np.sort(point * len(self.area) + self._rank[area])  # one sort of numbers is faster than one of pairs
        point, area = key // max(len(self.area), 1), self._from_top[key % max(len(self.area), 1)]
        first = np.flatnonzero(np.concatenate([[True], point[1:] != point[:-1]])) if len(point) else point
        last = np.concatenate([first[1:], [len(point)]]) - 1
        while len(first):
            yield point[first], area[first]
            go_on = (first < last) & (through[point[first]] > SHINES_THROUGH)
            first, last = first[go_on] + 1, last[go_on]


def stack_of(drawing: Drawing) -> PaintStack:
    """All that a drawing's shapes paint, fills and strokes; a stroke lies above its own fill."""
    fills, row = fill_regions(drawing, np.flatnonzero((drawing.fill != "") & (drawing.fill_opacity > 0)))
    stroked = np.flatnonzero((drawing.stroke != "") & (drawing.stroke_opacity > 0) & (drawing.stroke_width > 0))
    bands, band = shapely.get_parts(
        stroke_regions(
            drawing.shape_lines()[stroked],
            drawing.stroke_width[stroked],
            drawing.cap[stroked],
            drawing.join[stroked],
            drawing.miter_limit[stroked],
        ),
        return_index=True,
    )
    return paint_stack(drawing, np.concatenate([fills, bands]), np.concatenate([2 * row, 2 * stroked[band] + 1]))


def paint_stack(drawing: Drawing, area: NDArray[Any], order: Ints) -> PaintStack:
    """The stack of (k,) areas, of fills at level 2 · row and of strokes at level 2 · row + 1 of a drawing."""
    ground = drawing.ground
    names = np.stack([drawing.fill, drawing.stroke], axis=1).ravel().tolist()
    opacity = np.stack([drawing.fill_opacity, drawing.stroke_opacity], axis=1).ravel().tolist()
    gradients = np.stack([drawing.fill_gradient, drawing.stroke_gradient], axis=1).ravel().tolist()
    paints = Paints.of(
        [*names, ground.colour if ground else ""], [*opacity, 1.0], [*gradients, ground.gradient if ground else None]
    )
    return PaintStack(area, order, order, paints, len(names))


def rgb_of(colours: list[str]) -> Floats:
    """(n, 3) sRGB from 0 to 1 of n colours "#rrggbb"; of "" the bare page's."""
    known = {name: index for index, name in enumerate(dict.fromkeys(colours))}
    values = [[int(name[at : at + 2], 16) / 255 for at in (1, 3, 5)] if name else list(PAGE) for name in known]
    return np.array(values).reshape(-1, 3)[[known[name] for name in colours]]


class GradientTable:
    """Gradients in arrays, so that each of many points can be asked of its own gradient at once."""

    def __init__(self, gradients: tuple[Gradient, ...]) -> None:
        back = [inverse(gradient.matrix) or IDENTITY for gradient in gradients]
        self._back = np.array(back).reshape(-1, 6)
        self._radial = np.array([isinstance(gradient, RadialGradient) for gradient in gradients], dtype=np.bool_)
        focal = [gradient.focal if isinstance(gradient, RadialGradient) else (0.0, 0.0) for gradient in gradients]
        self._focal = np.array(focal).reshape(-1, 2)
        self._spread = np.array([gradient.spread for gradient in gradients])
        self._first = offsets([len(gradient.stops) for gradient in gradients])
        stops = [stop for gradient in gradients for stop in gradient.stops]
        self._offset = np.array([stop.offset for stop in stops])
        colours = rgb_of([stop.colour for stop in stops])
        self._shown = np.column_stack([colours, [stop.opacity for stop in stops]])
        # Offsets run from 0 to 1: with twice its gradient's number added, one sorted list finds the stops of all.
        self._key = self._offset + 2 * np.repeat(np.arange(len(gradients)), np.diff(self._first))

    def at(self, gradient: Ints, points: Floats) -> Floats:
        """(k, 4) colour and opacity of (k,) gradients, each at its own of (k, 2) points."""
        way = self.shares(gradient, points)
        after = np.searchsorted(self._key, 2 * gradient + way, side="right")
        first, last = self._first[gradient], self._first[gradient + 1] - 1
        before, after = np.clip(after - 1, first, last), np.clip(after, first, last)
        step = self._offset[after] - self._offset[before]
        part = np.where(step > 0, (way - self._offset[before]) / np.where(step > 0, step, 1.0), 0.0)
        return np.asarray(self._shown[before] + part[:, None] * (self._shown[after] - self._shown[before]))

    def shares(self, gradient: Ints, points: Floats) -> Floats:
        """(k,) the share of its gradient's way, from 0 to 1, that each point shows; below 0 before a padded one."""
        return self._spread_out(gradient, self.ways(gradient, points))

    def ways(self, gradient: Ints, points: Floats) -> Floats:
        """(k,) how far along its gradient each point is: 0 at the first end, 1 at the other."""
        a, b, c, d, e, f = self._back[gradient].T
        x, y = points.T
        own = np.stack([a * x + c * y + e, b * x + d * y + f], axis=1)
        way = own[:, 0].copy()
        round_ = self._radial[gradient]
        focal = self._focal[gradient[round_]]
        from_focal = own[round_] - focal
        # The ray from the focal point f through the point, f + s·d, meets the circle where |f + s·d| = 1; way = 1 / s.
        square = (from_focal**2).sum(axis=1)
        along = (focal * from_focal).sum(axis=1)
        root = np.sqrt(along**2 + square * (1 - (focal**2).sum(axis=1)))
        reach = root - along
        way[round_] = np.where(reach > 0, square / np.where(reach > 0, reach, 1.0), 0.0)
        return way

    def _spread_out(self, gradient: Ints, way: Floats) -> Floats:
        spread = self._spread[gradient]
        back_and_forth = np.abs((way - 1) % 2 - 1)
        return np.where(
            spread == "pad",
            np.clip(way, -0.5, 1),  # before all stops, of which several may lie at 0, the first is what shows
            np.where(spread == "repeat", way - np.floor(way), back_and_forth),
        )
