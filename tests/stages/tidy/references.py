"""The same questions answered another way, by libraries and rules that `tidy` does not use."""

from collections import Counter
from itertools import pairwise
from typing import Any

import networkx
import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.ops import unary_union

from underdraw.drawing.drawing import Drawing


def fewest_by_networkx(drawing: Drawing) -> int:
    """Half the odd nodes of each connected part, at least one; each marker by itself (Euler 1736; Listing 1847)."""
    total = 0
    for marker in sorted(set(drawing.marker.tolist())):
        lines = [line for line in drawing.select(drawing.marker == marker).part_lines() if line.length > 0]
        dots = int((drawing.select(drawing.marker == marker).part_lengths() == 0).sum())
        graph = networkx.MultiGraph()
        noded = unary_union(lines)
        for piece in getattr(noded, "geoms", [noded] if lines else []):
            points = [tuple(np.round(point, 4)) for point in piece.coords]
            graph.add_edges_from(pairwise(points))
        for part in networkx.connected_components(graph):
            odd = sum(graph.degree(node) % 2 for node in part)
            total += max(1, odd // 2)
        total += dots
    return total


def drawn_twice_mm(drawing: Drawing) -> float:
    """Length of all strokes less the length of their union, each marker by itself."""
    twice = 0.0
    for marker in sorted(set(drawing.marker.tolist())):
        lines = [line for line in drawing.select(drawing.marker == marker).part_lines() if line.length > 0]
        twice += sum(line.length for line in lines) - unary_union(lines).length
    return twice


def seen_outlines(drawing: Drawing, same: float = 0.0) -> Any:
    """Each boundary minus the union of what lies above it, shape by shape, from the top down.

    Strokes and fills without strokes, all opaque; a stroke hides edges of fills `same` mm to either side besides.
    """
    above_fills: list[Any] = []
    above_bands: list[Any] = []
    seen = []
    for row in reversed(range(len(drawing))):
        parts = [drawing.part_coords(part) for part in range(drawing.shapes[row], drawing.shapes[row + 1])]
        area = filled(parts) if drawing.fill[row] else None
        width = drawing.stroke_width[row]
        if drawing.stroke[row]:
            line = MultiLineString([LineString(part) for part in parts])
            hidden = unary_union([*above_fills, *(band for band, _ in above_bands)])
            style = {"cap_style": drawing.cap[row].replace("butt", "flat"), "join_style": drawing.join[row]}
            style["join_style"] = style["join_style"].replace("miter", "mitre")
            above_bands.append((line.buffer(width / 2, **style), line.buffer(width / 2 + same, **style)))
        else:
            assert area is not None
            line = area.boundary
            hidden = unary_union([*above_fills, *(broader for _, broader in above_bands)])
        seen.append(line.difference(hidden))
        if area is not None:
            above_fills.append(area)
    return unary_union(seen)


def filled(rings: Any) -> Any:
    """What rings fill whose holes lie inside them: the symmetric difference."""
    area = Polygon()
    for part in rings:
        area = area.symmetric_difference(Polygon(part).buffer(0))
    return area


def share_within(points_of: Any, of: Any, distance: float, step: float = 0.05) -> float:
    """Share of points along one geometry that lie within `distance` mm of another."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(points_of, step)))
    shapely.prepare(of)
    return float(shapely.dwithin(points, of, distance).mean())


def farthest(points_of: Any, of: Any, step: float = 0.05) -> float:
    """How far (mm) any point along one geometry lies from another: one side of their Hausdorff distance."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(points_of, step)))
    return float(shapely.distance(points, of).max())


def all_lines(drawing: Drawing) -> Any:
    """Every stroke of a drawing as one geometry."""
    return MultiLineString([line for line in drawing.part_lines() if line.length > 0])


def times_passed(drawing: Drawing) -> Counter[frozenset[tuple[float, float]]]:
    """How often each segment is drawn."""
    passed: Counter[frozenset[tuple[float, float]]] = Counter()
    for part in range(len(drawing.parts) - 1):
        points = [tuple(point) for point in drawing.part_coords(part).tolist()]
        passed.update(frozenset(pair) for pair in pairwise(points))
    return passed
