"""What closed outlines enclose, by the nonzero or even-odd rule. Source: SVG 1.1 (2nd ed.), section 11.3."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.errors import CannotDo
from underdraw_stages.import_ import limits

Rings = list[NDArray[np.float64]]
BLOCK = 200  # segments looked up together, so that a scribble is told early
CHUNK = 4_000_000  # point-and-segment pairs looked at together: bounds the memory of in-between arrays


def area(parts: Sequence[NDArray[np.float64]], evenodd: bool) -> shapely.Geometry:
    """The region, as a valid polygon or several, that (n, 2) outlines enclose; open ones are closed as fills are."""
    rings: Rings = [ring for part in parts if len(ring := _closed(part)) > 3]
    if not rings:
        return shapely.Polygon()
    if len(rings) == 1:
        polygon = shapely.Polygon(rings[0])
        if polygon.is_valid:
            return polygon
    faces = shapely.get_parts(_faces(rings))
    if not len(faces):
        return shapely.Polygon()
    turns = winding(shapely.get_coordinates(shapely.point_on_surface(faces)), rings)
    return shapely.union_all(faces[turns % 2 == 1 if evenodd else turns != 0])


def _faces(rings: Rings) -> shapely.Geometry:
    """The arrangement of rings as polygons. Raises CannotDo where they cross without measure."""
    _check_crossings(rings)
    noded = shapely.union_all([shapely.LineString(ring) for ring in rings])
    return shapely.polygonize([noded] if noded.geom_type == "LineString" else list(shapely.get_parts(noded)))


def _check_crossings(rings: Rings) -> None:
    segments = shapely.linestrings(np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings]))
    tree = shapely.STRtree(segments)
    met = -3 * len(segments)  # each meets itself and its two neighbours
    for begin in range(0, len(segments), BLOCK):
        met += tree.query(segments[begin : begin + BLOCK]).shape[1]
        if met > 2 * limits.MOST_CROSSINGS:
            raise CannotDo(
                f"an outline that cuts or is cut crosses itself more than {limits.MOST_CROSSINGS:,} times; simplify it"
            )


def _closed(part: NDArray[np.float64]) -> NDArray[np.float64]:
    return part if len(part) and (part[0] == part[-1]).all() else np.concatenate([part, part[:1]])


def winding(points: NDArray[np.float64], rings: Sequence[NDArray[np.float64]]) -> NDArray[np.int64]:
    """(n,) how often the closed rings go round each of (n, 2) points. Source: crossings of a ray to the right."""
    ends = np.concatenate([np.concatenate([ring[:-1], ring[1:]], axis=1) for ring in rings])
    x0, y0, x1, y1 = ends.T
    turns = np.zeros(len(points), dtype=np.int64)
    block = max(1, CHUNK // max(len(ends), 1))
    for begin in range(0, len(points), block):
        x, y = points[begin : begin + block, :1], points[begin : begin + block, 1:]
        side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
        up = (y0 <= y) & (y < y1) & (side > 0)
        down = (y1 <= y) & (y < y0) & (side < 0)
        turns[begin : begin + block] = up.sum(axis=1) - down.sum(axis=1)
    return turns
