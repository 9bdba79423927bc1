"""Areas that hide what is beneath them."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.regions import stroke_regions
from underdraw_stages.tidy.seen.small_pieces import small_areas
from underdraw_stages.tidy.seen.stack_grid import StackGrid, is_deep
from underdraw_stages.tidy.strokes.polylines import Lines


@dataclass(frozen=True, eq=False)
class Pieces:
    """Areas cut up, (p,) with their levels and found by where they lie, less those that lie too deep to hide a thing.

    grid: what is buried where many areas lie on one another; None where they do not.
    """

    area: NDArray[Any]
    order: NDArray[np.int64]
    tree: shapely.STRtree
    grid: StackGrid | None


@dataclass(frozen=True, eq=False)
class HidingAreas:
    """Opaque areas: (k,) valid Polygons and levels in the stack; bands of strokes also have middle lines and widths."""

    area: NDArray[Any]
    order: NDArray[np.int64]
    middle: NDArray[Any]
    width: NDArray[np.float64]

    @classmethod
    def of_fills(cls, area: NDArray[Any], row: NDArray[np.int64]) -> "HidingAreas":
        """What fills cover: (k,) Polygons, and the shape that each is of."""
        return cls(area, 2 * row, np.empty(0, dtype=object), np.empty(0))

    def __len__(self) -> int:
        return len(self.area)

    @cached_property
    def pieces(self) -> Pieces:
        """These areas as lines are cut by them: worked out once, however many lines are."""
        area, area_of_piece = small_areas(self.area)
        order, grid = self.order[area_of_piece], None
        if is_deep(area):
            grid = StackGrid(area, order)
            needed = ~grid.buried(area, order)
            area, order = area[needed], order[needed]
        return Pieces(area, order, shapely.STRtree(area), grid)

    def select(self, keep: NDArray[np.bool_]) -> "HidingAreas":
        """Only these; of bands of strokes."""
        return HidingAreas(self.area[keep], self.order[keep], self.middle[keep], self.width[keep])

    def together(self, other: "HidingAreas") -> "HidingAreas":
        """These and then the other ones; of bands of strokes."""
        return HidingAreas(
            np.concatenate([self.area, other.area]),
            np.concatenate([self.order, other.order]),
            np.concatenate([self.middle, other.middle]),
            np.concatenate([self.width, other.width]),
        )


def stroke_areas(drawing: Drawing, middles: Lines, more: float) -> HidingAreas:
    """The bands of strokes with these middle lines, each `more` mm broader than it is."""
    row = middles.row
    width = drawing.stroke_width[row] + more
    bands = stroke_regions(middles.geometry, width, drawing.cap[row], drawing.join[row], drawing.miter_limit[row])
    areas, line_index = shapely.get_parts(bands, return_index=True)
    return HidingAreas(areas, middles.order[line_index], middles.geometry[line_index], width[line_index])
