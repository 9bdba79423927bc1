"""The area a shape paints: its fill by either fill rule, its stroke by width, caps and joins.

Fill rules: SVG 1.1 (2nd ed.), section 11.3, 'fill-rule'; open subpaths are filled as if closed (same section).
"""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing

CAPS = {"butt": "flat", "round": "round", "square": "square"}
JOINS = {"miter": "mitre", "round": "round", "bevel": "bevel"}
MITRE_LIMIT = 4.0  # SVG 1.1, section 11.4: the initial value of stroke-miterlimit
ROUND_SEGMENTS = 16  # a quarter circle: within 0.5 % of the half width of the true band
WINDING_BLOCK = 4_000_000  # point-segment pairs at a time, to bound memory


def fill_areas(drawing: Drawing, rows: NDArray[np.int64]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """What the fills of some shapes cover, whatever their opacity.

    rows: (m,) shapes. Returns (k,) valid Polygons and (k,) the shape of each; a shape whose fill has no area gives
    none, one of several islands gives several.
    """
    single: list[int] = []
    several: list[int] = []
    for row in rows:
        (single if drawing.shapes[row + 1] - drawing.shapes[row] == 1 else several).append(row)
    simple, simple_row = _simple_fills(drawing, np.asarray(single, dtype=np.int64))
    valid = shapely.is_valid(simple)
    known = set(simple_row[valid].tolist())
    hard = [row for row in single if row not in known] + several
    found, owner = [simple[valid]], [simple_row[valid]]
    for row in hard:
        area = _fill_by_rule(_rings(drawing, row), bool(drawing.evenodd[row]))
        islands = shapely.get_parts(area)
        found.append(islands)
        owner.append(np.full(len(islands), row, dtype=np.int64))
    areas, of = np.concatenate(found), np.concatenate(owner)
    order = np.argsort(of, kind="stable")
    return areas[order], of[order]


def _simple_fills(drawing: Drawing, rows: NDArray[np.int64]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """One Polygon for each one-part shape of at least three points; validity is still to be looked at."""
    part = drawing.shapes[rows]
    counts = drawing.parts[part + 1] - drawing.parts[part]
    part, rows, counts = part[counts >= 3], rows[counts >= 3], counts[counts >= 3]
    closed = (drawing.coords[drawing.parts[part]] == drawing.coords[drawing.parts[part + 1] - 1]).all(axis=1)
    usable = ~(closed & (counts < 4))
    part, rows, counts = part[usable], rows[usable], counts[usable]
    if not len(rows):
        return np.empty(0, dtype=object), rows
    new = np.concatenate([[0], np.cumsum(counts)])
    index = np.arange(new[-1]) + np.repeat(drawing.parts[part] - new[:-1], counts)
    rings = shapely.linearrings(drawing.coords[index], indices=np.repeat(np.arange(len(rows)), counts))
    return shapely.polygons(rings), rows


def _rings(drawing: Drawing, row: int) -> list[NDArray[np.float64]]:
    """(n, 2) closed rings of one shape's parts; a part of fewer than three points fills nothing."""
    rings = []
    for part in range(drawing.shapes[row], drawing.shapes[row + 1]):
        coords = drawing.part_coords(part)
        if len(coords) >= 3:
            rings.append(np.concatenate([coords, coords[:1]]) if (coords[0] != coords[-1]).any() else coords)
    return rings


def _fill_by_rule(rings: list[NDArray[np.float64]], evenodd: bool) -> Any:
    """What the rings fill, by cutting the plane along them and asking each face for its winding number."""
    if not rings:
        return shapely.Polygon()
    edges = shapely.union_all(shapely.linestrings(np.concatenate(rings), indices=_indices(rings)))
    faces = shapely.get_parts(shapely.polygonize([edges]))
    if not len(faces):
        return shapely.Polygon()
    winding = _winding(shapely.get_coordinates(shapely.point_on_surface(faces)), rings)
    inside = winding % 2 == 1 if evenodd else winding != 0
    return shapely.union_all(faces[inside])


def _indices(rings: list[NDArray[np.float64]]) -> NDArray[np.int64]:
    return np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])


def _winding(points: NDArray[np.float64], rings: list[NDArray[np.float64]]) -> NDArray[np.int64]:
    """(f,) how often the rings go round each of (f, 2) points: upward crossings to its right minus downward ones."""
    start = np.concatenate([ring[:-1] for ring in rings])
    end = np.concatenate([ring[1:] for ring in rings])
    winding = np.zeros(len(points), dtype=np.int64)
    block = max(1, WINDING_BLOCK // max(1, len(start)))
    for first in range(0, len(points), block):
        x, y = points[first : first + block, :1], points[first : first + block, 1:]
        side = (end[:, 0] - start[:, 0]) * (y - start[:, 1]) - (x - start[:, 0]) * (end[:, 1] - start[:, 1])
        up = (start[:, 1] <= y) & (end[:, 1] > y) & (side > 0)
        down = (start[:, 1] > y) & (end[:, 1] <= y) & (side < 0)
        winding[first : first + block] = up.sum(axis=1) - down.sum(axis=1)
    return winding


def stroke_bands(
    lines: NDArray[Any], width: NDArray[np.float64], cap: NDArray[Any], join: NDArray[Any]
) -> NDArray[Any]:
    """What strokes cover: (n,) lines with their widths in mm, caps and joins, to (n,) Polygons or MultiPolygons."""
    bands = np.empty(len(lines), dtype=object)
    for cap_name, cap_style in CAPS.items():
        for join_name, join_style in JOINS.items():
            here = (cap == cap_name) & (join == join_name)
            if here.any():
                bands[here] = shapely.buffer(
                    lines[here],
                    width[here] / 2,
                    quad_segs=ROUND_SEGMENTS,
                    cap_style=cap_style,
                    join_style=join_style,
                    mitre_limit=MITRE_LIMIT,
                )
    return bands
