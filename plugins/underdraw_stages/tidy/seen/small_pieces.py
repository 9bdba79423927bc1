"""Long lines and large areas cut up, so that each sum on them is a small one; and lines put together again."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.polylines import as_lines, cut_at
from underdraw.drawing.ragged import row_positions

LINE_POINTS = 64  # a line is looked at in stretches of so many points
AREA_POINTS = 256  # an area in pieces of about so many
AREA_DEPTH = 24  # how often an area may be halved: beyond it, its points lie on one spot


def reunited(
    left: NDArray[Any], line_of_stretch: NDArray[np.int64], touched: NDArray[np.bool_]
) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Stretches of touched lines put together again where they were only cut for the work."""
    of_touched = touched[line_of_stretch]
    parts, line_index = shapely.get_parts(left[of_touched], return_index=True)
    line_index = line_of_stretch[of_touched][line_index]
    real = shapely.length(parts) > 0
    parts, line_index = parts[real], line_index[real]
    if not len(parts):
        return parts, line_index
    lines, index = np.unique(line_index, return_inverse=True)
    merged = shapely.line_merge(shapely.multilinestrings(parts, indices=index))
    parts, line_of_part = shapely.get_parts(merged, return_index=True)
    return parts, lines[line_of_part]


def stretches(geometry: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Lines cut into stretches of at most LINE_POINTS points, and the (m,) line of each."""
    counts = shapely.get_num_coordinates(geometry)
    if not (counts > LINE_POINTS).any():
        return geometry, np.arange(len(geometry))
    coords, line_index = shapely.get_coordinates(geometry, return_index=True)
    seam = row_positions(counts) % (LINE_POINTS - 1) == 0
    coords, line_index, line_of_stretch = cut_at(coords, line_index, seam)
    return as_lines(coords, line_index), line_of_stretch


def small_areas(area: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Areas halved along their longer side until each has about AREA_POINTS points, and the (k,) area of each."""
    area_index = np.arange(len(area))
    done: list[NDArray[Any]] = []
    done_index: list[NDArray[np.int64]] = []
    for _ in range(AREA_DEPTH):
        large = shapely.get_num_coordinates(area) > AREA_POINTS
        done.append(area[~large])
        done_index.append(area_index[~large])
        area, area_index = area[large], area_index[large]
        if not len(area):
            break
        x0, y0, x1, y1 = shapely.bounds(area).T
        wide = x1 - x0 >= y1 - y0
        x, y = np.where(wide, (x0 + x1) / 2, x1), np.where(wide, y1, (y0 + y1) / 2)
        near = shapely.box(x0, y0, x, y)
        far = shapely.box(np.where(wide, x, x0), np.where(wide, y0, y), x1, y1)
        halves = np.concatenate([shapely.intersection(area, near), shapely.intersection(area, far)])
        area, area_of_half = shapely.get_parts(halves, return_index=True)
        area_index = np.concatenate([area_index, area_index])[area_of_half]
        polygon = shapely.get_type_id(area) == shapely.GeometryType.POLYGON
        area, area_index = area[polygon], area_index[polygon]
    return np.concatenate([*done, area]), np.concatenate([*done_index, area_index])
