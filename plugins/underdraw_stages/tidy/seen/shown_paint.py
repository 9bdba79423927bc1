"""What artwork paints, to be asked how much the colours differ on either side of an edge.

Just beside a fill's edge all paint is looked at; beside the band of a stroke fills alone are, for where outlines cross
or run together each is still seen as a line. A stroke no broader than a line is no paint for others, only for itself.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.groups import connected
from underdraw.drawing.paint.colours import NO_GRADIENT, PaintStack, ShownColours, paint_stack
from underdraw.drawing.paint.difference import ciede2000, lab
from underdraw.drawing.ragged import Floats, Ints, Mask
from underdraw_stages.tidy.seen.hiding_areas import HidingAreas
from underdraw_stages.tidy.seen.small_pieces import small_areas
from underdraw_stages.tidy.seen.stack_grid import StackGrid, is_deep

ASIDE_MM = 0.05  # how far beside an edge, or the band of a stroke, is looked: shapes side by side need not quite meet
ON_EDGE_MM = 1e-3  # a line that was cut from an edge and rounded is no farther from it
COVER = 0.5  # an edge at which so much more of the page is covered on one side is seen, whatever the page's colour
MOST_COLOURS = 2000  # compared each with each; of more, all count as alike until they are looked at
ALIKE = 0  # the group of all of these
SOFT = -1  # of paint that is see-through or fades: it may look like anything


@dataclass(frozen=True, eq=False)
class ShownPaint:
    """A drawing's painted areas, and how its edges lie in them.

    stack: the areas as they were read. band: (k,) which of them are bands of strokes. half: (2 s,) mm from a line to
    either edge of its paint, by level in the stack: 0 for a fill. judged: (2 s,) whether lines of a level can be
    judged. blurred: (2 s,) whether their edges fade over more than the tip that draws them. hairs: areas of fills too
    narrow to be looked at from within.
    """

    stack: PaintStack
    band: Mask
    half: Floats
    judged: Mask
    blurred: Mask
    hairs: HidingAreas

    def on_hairs(self, points: Floats, order: Ints) -> Mask:
        """(n,) which of (n, 2) points on lines of (n,) levels lie on the edge of a hair of that level."""
        on_one = np.zeros(len(points), dtype=np.bool_)
        rows = np.flatnonzero(np.isin(order, self.hairs.order))
        if len(rows):
            tree = shapely.STRtree(shapely.boundary(self.hairs.area))
            point, hair = tree.query(shapely.points(points[rows]), predicate="dwithin", distance=ON_EDGE_MM)
            on_one[rows[point[self.hairs.order[hair] == order[rows[point]]]]] = True
        return on_one

    def differences(self, points: Floats, normals: Floats, order: Ints) -> Floats:
        """(n,) CIEDE2000 between the sides of lines at (n, 2) points, with unit normals, of (n,) levels in the stack.

        For a stroke the largest of those between its own paint and either side, and between the sides.
        """
        aside = normals * (self.half[order] + ASIDE_MM)[:, None]
        difference = np.zeros(len(points))
        for of_stroke in (False, True):
            rows = np.flatnonzero((order % 2 == 1) == of_stroke)
            if not len(rows):
                continue
            passed = self._pieces_of_bands if of_stroke else None
            at, beside = points[rows], aside[rows]
            views = [self.pieces.at(at + side, passed) for side in (beside, -beside)]
            if of_stroke:
                views.append(self._with_own_paint(self.pieces.at(at, passed), order[rows], at))
            colours = [lab(view.rgb) for view in views]
            for one in range(len(views)):
                for other in range(one):
                    seen = ciede2000(colours[one], colours[other])
                    seen[np.abs(views[one].cover - views[other].cover) >= COVER] = np.inf
                    difference[rows] = np.maximum(difference[rows], seen)
        return difference

    def may_look_alike(self, segments: Floats, order: Ints, least: float) -> Mask:
        """(n,) which of (n, 2, 2) segments have paint in reach that is soft, or two paints that differ by less.

        Of all others the sides differ by more than `least`: they need not be looked at.
        """
        low, high = segments.min(axis=1), segments.max(axis=1)
        reach = (self.half[order] + ASIDE_MM)[:, None]
        segment, area = self.pieces.tree.query(shapely.box(*(low - reach).T, *(high + reach).T))
        groups = self._groups(least)
        own = np.flatnonzero(order % 2 == 1)  # a stroke may be no area of its own
        segment, level = np.append(segment, own), np.append(self.pieces.order[area], order[own])
        group = np.append(groups[self.pieces.paint[area]], groups[order[own]])
        alike = np.zeros(len(segments), dtype=np.bool_)
        alike[segment[group == SOFT]] = True
        left = ~alike[segment]
        most = len(groups)  # of groups, and of levels
        each_once = np.unique((segment[left] * most + group[left]) * most + level[left])
        segment_and_group = each_once // most
        alike[segment_and_group[1:][segment_and_group[1:] == segment_and_group[:-1]] // most] = True
        return alike

    @cached_property
    def pieces(self) -> PaintStack:
        """The same paint in areas of few points, without those that lie too deep in the stack to show."""
        return self._pieces[0]

    @cached_property
    def _pieces_of_bands(self) -> Mask:
        return self.band[self._pieces[1]]

    @cached_property
    def _pieces(self) -> tuple[PaintStack, Ints]:
        area, area_of_piece = small_areas(self.stack.area)
        order = self.stack.order[area_of_piece]
        opaque = self._groups(0.0)[self.stack.paint[area_of_piece]] != SOFT
        opaque &= ~self.band[area_of_piece]  # which are looked through beside strokes
        if opaque.any() and is_deep(area[opaque]):
            shows = ~StackGrid(area[opaque], order[opaque]).buried(area, order)
            area, order, area_of_piece = area[shows], order[shows], area_of_piece[shows]
        paint = self.stack.paint[area_of_piece]
        return PaintStack(area, order, paint, self.stack.paints, self.stack.ground), area_of_piece

    def _groups(self, least: float) -> Ints:
        """(p,) for each paint SOFT, or a number that opaque paints share which differ by less than `least`."""
        paints = self.stack.paints
        group = np.full(len(paints.rgb), SOFT, dtype=np.int64)
        plain = np.flatnonzero((paints.gradient == NO_GRADIENT) & (paints.opacity >= 1))
        colours, colour = np.unique(paints.rgb[plain], axis=0, return_inverse=True)
        colour = colour.reshape(-1)
        if len(colours) > MOST_COLOURS:
            group[plain] = ALIKE
        else:
            shown = lab(colours)
            one, other = np.triu_indices(len(colours), 1)
            near = ciede2000(shown[one], shown[other]) < least
            group[plain] = connected(len(colours), one[near], other[near])[colour]
        return group

    def _with_own_paint(self, beneath: ShownColours, order: Ints, points: Floats) -> ShownColours:
        own, opacity = self.stack.paints.at(order, points)
        through = 1 - opacity
        rgb = opacity[:, None] * own + through[:, None] * beneath.rgb
        return ShownColours(rgb, 1 - through * (1 - beneath.cover))


def shown_paint(
    drawing: Drawing,
    areas: NDArray[Any],
    area_row: Ints,
    bands: HidingAreas,
    hairs: HidingAreas,
    *,
    not_judged: Mask,
    blurred: Mask,
) -> ShownPaint:
    """The paint of a drawing's fills and of the bands of its strokes.

    areas, area_row: (k,) what fills cover, and the shape of each. bands: of strokes that are paint. not_judged: (s,)
    shapes whose fills' edges cannot be judged. hairs, blurred: (s,) see ShownPaint.
    """
    stack = paint_stack(drawing, np.concatenate([areas, bands.area]), np.concatenate([2 * area_row, bands.order]))
    levels = (np.zeros(len(drawing)), drawing.stroke_width / 2)
    return ShownPaint(
        stack=stack,
        band=np.arange(len(stack.area)) >= len(areas),
        half=np.stack(levels, axis=1).ravel(),
        judged=np.stack([~not_judged, np.ones(len(drawing), dtype=np.bool_)], axis=1).ravel(),
        blurred=np.repeat(blurred, 2),
        hairs=hairs,
    )
