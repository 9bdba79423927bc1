"""The region a shape paints: its fill by either fill rule, its stroke by width, caps and joins.

Strokes: SVG 1.1 (2nd ed.), section 11.4; a corner whose miter would pass the limit is bevelled.

Fill rules: SVG 1.1 (2nd ed.), section 11.3, 'fill-rule'; open subpaths are filled as if closed (same section).
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import QUANTUM_MM, Drawing
from underdraw.drawing.lines.corners import SMOOTH, Corners, goes_back
from underdraw.drawing.ragged import Floats, Ints, Mask, gather, offsets

CAPS = {"butt": "flat", "round": "round", "square": "square"}
JOINS = {"miter": "mitre", "round": "round", "bevel": "bevel"}
ROUNDING_MM = 5 * QUANTUM_MM  # an island no wider is an outline drawn back along itself, once its points are rounded
ROUND_SEGMENTS = 16  # a quarter circle: within 0.5 % of the half width of the true band
WINDING_BLOCK = 4_000_000  # pairs of a point and a segment at a time: bounds the memory of in-between arrays
CROSSINGS_BLOCK = 200  # segments looked up together, so that a scribble is found early


STEPS_A_CROSSING = 3000  # points of outlines, held against every loop of them, for each crossing that is allowed


class TooManyCrossings(Exception):
    """Rings cross themselves or each other more often than is of use: their region would take minutes."""


def closed_rings(parts: Sequence[Floats]) -> list[Floats]:
    """(n, 2) rings of parts that fills close; a part of fewer than three points fills nothing."""
    rings = [part if len(part) and (part[0] == part[-1]).all() else np.concatenate([part, part[:1]]) for part in parts]
    return [ring for ring in rings if len(ring) > 3]


def fill_region(parts: Sequence[Floats], evenodd: bool, most_crossings: int | None = None) -> Any:
    """What (n, 2) outlines enclose, as a valid Polygon or MultiPolygon; open ones are closed as fills are.

    evenodd: the fill rule; False is nonzero. Raises TooManyCrossings where outlines that overlap meet more than
    `most_crossings` times.
    """
    rings = closed_rings(parts)
    if len(rings) == 1:
        polygon = shapely.Polygon(rings[0])
        if polygon.is_valid:
            return polygon
    if not rings:
        return shapely.Polygon()
    if most_crossings is not None:
        _check_crossings(rings, most_crossings)
    # the plane cut along the rings; each face lies wholly inside or outside
    edges = shapely.union_all([shapely.LineString(ring) for ring in rings])
    faces = shapely.get_parts(shapely.polygonize([edges]))
    if not len(faces):
        return shapely.Polygon()
    if most_crossings is not None and len(faces) * sum(map(len, rings)) > STEPS_A_CROSSING * most_crossings:
        raise TooManyCrossings
    return shapely.union_all(faces[enclosed(rings, shapely.get_coordinates(shapely.point_on_surface(faces)), evenodd)])


def _check_crossings(rings: list[Floats], most: int) -> None:
    segments = shapely.linestrings(np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings]))
    tree = shapely.STRtree(segments)
    met = -3 * len(segments)  # each meets itself and its two neighbours
    for begin in range(0, len(segments), CROSSINGS_BLOCK):
        met += tree.query(segments[begin : begin + CROSSINGS_BLOCK]).shape[1]
        if met > 2 * most:
            raise TooManyCrossings


def enclosed(rings: Sequence[Floats], points: Floats, evenodd: bool) -> Mask:
    """(n,) which of (n, 2) points closed rings enclose, by either fill rule."""
    turns = winding(points, rings)
    return np.asarray(turns % 2 == 1 if evenodd else turns != 0)


def winding(points: Floats, rings: Sequence[Floats]) -> Ints:
    """(n,) how often closed rings go round each of (n, 2) points: crossings of a ray to the right, up less down."""
    x0, y0 = np.concatenate([ring[:-1] for ring in rings]).T
    x1, y1 = np.concatenate([ring[1:] for ring in rings]).T
    turns = np.zeros(len(points), dtype=np.int64)
    block = max(1, WINDING_BLOCK // max(1, len(x0)))
    for begin in range(0, len(points), block):
        x, y = points[begin : begin + block, :1], points[begin : begin + block, 1:]
        side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
        up = (y0 <= y) & (y < y1) & (side > 0)
        down = (y1 <= y) & (y < y0) & (side < 0)
        turns[begin : begin + block] = up.sum(axis=1) - down.sum(axis=1)
    return turns


def fill_regions(drawing: Drawing, rows: Ints) -> tuple[NDArray[Any], Ints]:
    """What the fills of some shapes enclose, whatever their opacity.

    rows: (m,) shapes. Returns (k,) valid Polygons and (k,) the shape of each; a shape whose fill has no area gives
    none, one of several islands gives several.
    """
    single: list[int] = []
    several: list[int] = []
    for row in rows:
        (single if drawing.shapes[row + 1] - drawing.shapes[row] == 1 else several).append(row)
    simple, simple_row = _one_part_fills(drawing, np.asarray(single, dtype=np.int64))
    valid = shapely.is_valid(simple)
    known = set(simple_row[valid].tolist())
    regions, shape_of = [simple[valid]], [simple_row[valid]]
    for row in [row for row in single if row not in known] + several:
        parts = [drawing.part_coords(part) for part in range(drawing.shapes[row], drawing.shapes[row + 1])]
        islands = shapely.get_parts(fill_region(parts, bool(drawing.evenodd[row])))
        islands = islands[2 * shapely.area(islands) > ROUNDING_MM * shapely.length(islands)]
        regions.append(islands)
        shape_of.append(np.full(len(islands), row, dtype=np.int64))
    region, shape = np.concatenate(regions), np.concatenate(shape_of)
    order = np.argsort(shape, kind="stable")
    return without_spikes(region[order]), shape[order]


def without_spikes(areas: NDArray[Any]) -> NDArray[Any]:
    """(k,) Polygons without points to which an outline goes out and comes back along itself, but for rounding.

    One that would not be valid without them stays as it is.
    """
    areas = areas.copy()
    rings, area = shapely.get_rings(areas, return_index=True)
    corners = Corners.of(rings)
    for at in np.unique(area[corners.line[corners.spikes(ROUNDING_MM)]]).tolist():
        outer, *holes = (_without_spikes(ring) for ring in shapely.get_rings(areas[at]))
        mended = shapely.Polygon(outer, [hole for hole in holes if len(hole)]) if len(outer) else None
        if mended is not None and mended.is_valid:
            areas[at] = mended
    return areas


def _without_spikes(ring: Any) -> Floats:
    """(n, 2) points of a ring without its spikes, taken off one after the other; none where nothing is left."""
    points = shapely.get_coordinates(ring)[:-1]
    while len(points) >= 3:
        out, back = (np.roll(points, by, axis=0) - points for by in (1, -1))
        spikes = np.flatnonzero(goes_back(out, back, ROUNDING_MM))
        if not len(spikes):
            return np.concatenate([points, points[:1]])
        points = np.delete(points, spikes[0], axis=0)
    return np.asarray(points[:0])


def _one_part_fills(drawing: Drawing, rows: Ints) -> tuple[NDArray[Any], Ints]:
    """One Polygon for each one-part shape of at least three points; validity is still to be looked at."""
    part = drawing.shapes[rows]
    counts = drawing.parts[part + 1] - drawing.parts[part]
    part, rows, counts = part[counts >= 3], rows[counts >= 3], counts[counts >= 3]
    closed = (drawing.coords[drawing.parts[part]] == drawing.coords[drawing.parts[part + 1] - 1]).all(axis=1)
    usable = ~(closed & (counts < 4))
    part, rows, counts = part[usable], rows[usable], counts[usable]
    if not len(rows):
        return np.empty(0, dtype=object), rows
    points, _ = gather(drawing.parts, part)
    rings = shapely.linearrings(drawing.coords[points], indices=np.repeat(np.arange(len(rows)), counts))
    return shapely.polygons(rings), rows


def stroke_regions(
    lines: NDArray[Any], width: Floats, cap: NDArray[Any], join: NDArray[Any], miter_limit: Floats
) -> NDArray[Any]:
    """What strokes paint: (n,) lines with their widths in mm, caps and joins, to (n,) Polygons or MultiPolygons.

    miter_limit: (n,) in line widths; what ends in a longer tip is bevelled.
    """
    bands = np.empty(len(lines), dtype=object)
    mitred = lines.copy()
    mitred[join != "miter"] = None
    corners = Corners.of(mitred)
    past = corners.miter > miter_limit[corners.line]
    sharp = np.zeros(len(lines), dtype=np.bool_)  # the library would cut their miters off at the limit
    sharp[corners.line[past]] = True
    drawn_join = np.where(sharp, "bevel", join)
    for cap_name, cap_style in CAPS.items():
        for join_name, join_style in JOINS.items():
            here = (cap == cap_name) & (drawn_join == join_name)
            if here.any():
                bands[here] = shapely.buffer(
                    lines[here],
                    width[here] / 2,
                    quad_segs=ROUND_SEGMENTS,
                    cap_style=cap_style,
                    join_style=join_style,
                    mitre_limit=float(miter_limit[here].max()),
                )
    corners = corners.select(sharp[corners.line] & ~past & (corners.cosine < np.cos(SMOOTH)))
    tips, first = corners.tips(width[corners.line] / 2), offsets(np.bincount(corners.line, minlength=len(lines)))
    for at in np.flatnonzero(sharp).tolist():
        bands[at] = shapely.union_all([bands[at], *tips[first[at] : first[at + 1]]])
    return bands
