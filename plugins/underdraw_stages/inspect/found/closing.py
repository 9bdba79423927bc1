"""Regions that close: the drawn lines go round them, and their ink leaves nothing of them open."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw_stages.inspect.found.artwork_shown import ArtworkShown
from underdraw_stages.inspect.found.spot import Spot

SNAP_MM = 0.01  # ends this near a line are on it
LOOSE = 0.01  # of the ink's width: how near the lines are kept
ROUND_SEGMENTS = 8
CORNER = 0.05  # of the ink's width: what may stay open in a corner and is not seen
SMALLEST = 0.1  # of the ink's width squared: a smaller region is a chink between lines, which no artwork means


def closing_spots(drawing: Drawing, lines: NDArray[Any], width: NDArray[np.float64], shown: ArtworkShown) -> list[Spot]:
    """Every region that the ink fills, less those that the artwork shows filled in the ink's own colour.

    lines: (s,) LineStrings, the drawing's strokes; width: (s,) of their ink, mm.
    """
    regions = closed_regions(lines, width)
    if not len(regions):
        return []
    tree = shapely.STRtree(lines)
    region_of, stroke_of = tree.query(regions, predicate="dwithin", distance=SNAP_MM)
    bounds = np.searchsorted(region_of, np.arange(len(regions) + 1))
    clear = clearances(regions)
    spots = []
    for row, region in enumerate(regions):
        strokes = np.sort(stroke_of[bounds[row] : bounds[row + 1]])
        point, clearance = clear[row]
        inks = {str(drawing.stroke[stroke]) or drawing.job.marker(str(drawing.marker[stroke])).looks
                for stroke in strokes.tolist()}  # fmt: skip
        if not shown.shows_open(point, inks):
            continue
        x0, y0, x1, y1 = region.bounds
        length = float(region.length)
        spots.append(
            Spot(
                kind="close",
                at=point,
                strokes=strokes + 1,
                length=length,
                size=float(np.hypot(x1 - x0, y1 - y0)),
                pieces=np.array([[length, 2 * clearance]]),
                outline=region,
            )
        )
    return spots


def closed_regions(lines: NDArray[Any], width: NDArray[np.float64]) -> NDArray[Any]:
    """(k,) Polygons that lines go round and whose inside the lines' ink covers."""
    drawn = shapely.length(lines) > 0
    lines, width = lines[drawn], width[drawn]
    if not len(lines):
        return np.empty(0, dtype=object)
    broadest = float(width.max())
    kept = shapely.simplify(lines, LOOSE * float(width.min()))
    faces: NDArray[Any] = shapely.get_parts(shapely.polygonize([shapely.union_all(kept, grid_size=SNAP_MM)]))
    faces = faces[shapely.area(faces) > SMALLEST * broadest**2]
    # what is nowhere farther than r from its edge has an area of at most r times its edge's length
    faces = faces[shapely.area(faces) < broadest / 2 * shapely.length(faces)]
    faces = faces[shapely.is_empty(shapely.buffer(faces, -(broadest / 2 + CORNER * broadest)))]
    if not len(faces):
        return faces
    ink = inked(lines, width, faces)
    open_part = shapely.buffer(shapely.difference(faces, ink), -CORNER * broadest / 2)
    return np.asarray(faces[shapely.is_empty(open_part)])


def inked(lines: NDArray[Any], width: NDArray[np.float64], faces: NDArray[Any]) -> NDArray[Any]:
    """(k,) the ink of the lines that come near each face."""
    reach = shapely.box(*(shapely.bounds(faces) + float(width.max()) * np.array([-1.0, -1.0, 1.0, 1.0])).T)
    segments, segment_width = _segments(lines, width)
    face, segment = shapely.STRtree(segments).query(reach)
    bands = shapely.buffer(
        segments[np.unique(segment)], segment_width[np.unique(segment)] / 2, quad_segs=ROUND_SEGMENTS
    )
    index = np.searchsorted(np.unique(segment), segment)
    order = np.argsort(face, kind="stable")
    whole = np.empty(len(faces), dtype=object)
    whole[:] = shapely.Polygon()
    grouped: NDArray[Any] = shapely.geometrycollections(bands[index[order]], indices=face[order], out=whole)
    return np.asarray(shapely.unary_union(grouped[:, None], axis=1))


def _segments(lines: NDArray[Any], width: NDArray[np.float64]) -> tuple[NDArray[Any], NDArray[np.float64]]:
    coords, line = shapely.get_coordinates(lines, return_index=True)
    first = np.flatnonzero(line[1:] == line[:-1])
    return shapely.linestrings(np.stack([coords[first], coords[first + 1]], axis=1)), width[line[first]]


def clearances(regions: NDArray[Any]) -> list[tuple[tuple[float, float], float]]:
    """The point of each region that is farthest from its edge, and how far that is, mm."""
    circle = shapely.maximum_inscribed_circle(regions, tolerance=0.01)
    centre = shapely.get_coordinates(shapely.get_point(circle, 0))
    return [((x, y), r) for (x, y), r in zip(centre.tolist(), shapely.length(circle).tolist(), strict=True)]
