"""Where a side mirrors the face, a broad stroke hides nothing across the fold: its reflection meets it there.

A stroke that runs close beside such a fold has its band cut at the fold, and so has the reflection. Otherwise each
would hide the other, and neither line would be left.
"""

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw_stages.tidy.seen.hiding_areas import HidingAreas

Fold = tuple[int, float]  # the axis across it (0: x), and where it is (mm)
Mask = NDArray[np.bool_]


def mirror_folds(drawing: Drawing) -> list[Fold]:
    """The folds at which the drawing was mirrored."""
    return [("xy".index(fold.axis), fold.at_mm) for fold in drawing.mirror_folds]


def cut_at_folds(bands: HidingAreas, folds: list[Fold]) -> HidingAreas:
    """Bands of strokes, each cut at the folds that it crosses to the part on its own middle line's side."""
    for axis, at in folds:
        bounds = shapely.bounds(bands.area)
        across = (bounds[:, axis] < at) & (bounds[:, axis + 2] > at)
        if across.any():
            halves = [half(bands, across, axis, low, high) for low, high in ((-np.inf, at), (at, np.inf))]
            bands = bands.select(~across).together(halves[0]).together(halves[1])
    return bands


def half(bands: HidingAreas, across: Mask, axis: int, low: float, high: float) -> HidingAreas:
    """The bands across a fold on one side of it, as far as their middle lines go there."""
    crossing = bands.select(across)
    bounds = shapely.total_bounds(crossing.area) + np.array([-1.0, -1.0, 1.0, 1.0])
    bounds[axis], bounds[axis + 2] = max(low, bounds[axis]), min(high, bounds[axis + 2])
    side = shapely.box(*bounds)
    middle = shapely.intersection(crossing.middle, side)
    areas, band_of_part = shapely.get_parts(shapely.intersection(crossing.area, side), return_index=True)
    real = (shapely.area(areas) > 0) & (shapely.length(middle)[band_of_part] > 0)
    areas, band_of_part = areas[real], band_of_part[real]
    return HidingAreas(areas, crossing.order[band_of_part], middle[band_of_part], crossing.width[band_of_part])
