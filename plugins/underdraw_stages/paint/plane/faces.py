"""The board cut along every outline and hard stop of a fill and along the folds: faces that each show one paint.

Sums are exact: the faces come from one set of noded lines, so they leave no gap and share no area.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw import Drawing, Panel
from underdraw.drawing.boxes import Box
from underdraw.drawing.paint.hard_stops import edges_within
from underdraw.drawing.ragged import Floats, Ints
from underdraw.drawing.regions import fill_regions

LEAST_BAND_MM = 0.5  # bands of a repeated gradient that are narrower are not painted one by one
CROSSING_MM = 0.01  # by so much a hard stop crosses its fill's outline: else rounding could leave a gap
PARTS = ("face", "sides", "bleed", "corners")  # of the flat canvas; the corner squares fold away


@dataclass(frozen=True, eq=False)
class Faces:
    """(f,) Polygons that make up the board, (f, 2) a point within each, (f,) its index in `PARTS`; and the fills.

    fills: (k,) valid Polygons; fill_row: (k,) the shape of the drawing that each is of.
    """

    area: NDArray[Any]
    point: Floats
    part: Ints
    fills: NDArray[Any]
    fill_row: Ints


def cut_into_faces(drawing: Drawing, panel: Panel) -> Faces:
    """Cut the board; what is painted beyond it is left out."""
    fills, row = fill_regions(drawing, np.flatnonzero((drawing.fill != "") & (drawing.fill_opacity > 0)))
    board = shapely.box(0.0, 0.0, *panel.board)
    folds = [shapely.LineString(fold) for folds in (panel.folds, panel.back_folds) for fold in folds.values()]
    stops, _ = edges_within(drawing, fills, row, np.full(len(drawing), LEAST_BAND_MM), CROSSING_MM)
    outlines = [*shapely.boundary(fills), *stops, shapely.boundary(board), *folds]
    edges = shapely.get_parts(shapely.union_all(np.array(outlines, dtype=object)))
    area = shapely.get_parts(shapely.polygonize(edges))
    point = shapely.get_coordinates(shapely.point_on_surface(area))
    on_board = in_box(point, (0.0, 0.0, *panel.board))
    area, point = area[on_board], point[on_board]
    return Faces(area, point, part_of_panel(point, panel), fills, row)


def part_of_panel(point: Floats, panel: Panel) -> Ints:
    """(n,) where (n, 2) points of the flat canvas end up, as indices in `PARTS`."""
    part = np.full(len(point), PARTS.index("bleed"), dtype=np.int64)
    part[in_box(point, panel.frame_box)] = PARTS.index("sides")
    for square in panel.corner_squares:
        part[in_box(point, square)] = PARTS.index("corners")
    part[in_box(point, panel.face_box)] = PARTS.index("face")
    return part


def in_box(point: Floats, box: Box) -> NDArray[np.bool_]:
    """(n,) which of (n, 2) points are in a box."""
    return np.asarray(((point >= box[:2]) & (point <= box[2:])).all(axis=1))
