"""Hard stops: where a gradient changes its colour at once the eye sees an edge, though no shape ends there.

Across a linear gradient such an edge is a straight line, in a radial one an ellipse; a repeated or reflected gradient
has it again and again (SVG 1.1, 2nd ed., section 13.2).
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.affine import inverse, transformed
from underdraw.drawing.drawing import FLATTEN_MM, QUANTUM_MM, Drawing
from underdraw.drawing.paint.colours import GradientTable
from underdraw.drawing.paint.gradients import Gradient, LinearGradient, Stop, each_changed
from underdraw.drawing.ragged import Floats, Ints

FEWEST_POINTS, MOST_POINTS = 16, 20_000  # of an ellipse


def edges_within(
    drawing: Drawing, areas: NDArray[Any], area_row: Ints, apart: Floats, beyond: float = 0.0
) -> tuple[NDArray[Any], Ints]:
    """The edges within what fills cover: (m,) LineStrings in mm, and the (m,) index of the area that each is in.

    areas: (k,) Polygons. area_row: (k,) the shape of each. apart: (s,) mm; where edges of a shape follow on one another
    more closely than that, they are a texture, and none is found. beyond: mm that they go on past the area.
    """
    found: list[NDArray[Any]] = [np.empty(0, dtype=object)]
    index: list[int] = []
    for at in np.flatnonzero(drawing.fill_gradient[area_row] != None).tolist():  # noqa: E711 - elementwise
        row = int(area_row[at])
        gradient = drawing.fill_gradient[row]
        if not gradient.jumps:
            continue
        edges = list(edges_of(gradient, shapely.get_coordinates(areas[at]), float(apart[row])))
        if edges:
            area = shapely.buffer(areas[at], beyond) if beyond else areas[at]
            cut = shapely.intersection(np.array(edges, dtype=object), area)
            parts = shapely.get_parts(shapely.line_merge(cut))
            found.append(parts[shapely.length(parts) > QUANTUM_MM])
            index += [at] * len(found[-1])
    return np.concatenate(found), np.array(index, dtype=np.int64)


def edges_of(gradient: Gradient, points: Floats, apart: float) -> Iterator[shapely.LineString]:
    """Every edge of a gradient that crosses the convex hull of (n, 2) points, in mm; none if nearer than `apart` mm."""
    back = inverse(gradient.matrix)
    if back is None:
        return
    longest = mm_per_way(gradient)
    least = apart / longest
    if isinstance(gradient, LinearGradient):
        along, across = transformed(points, back).T
        for way in jumps_between(gradient, float(along.min()), float(along.max()), least):
            line = np.array([[way, across.min()], [way, across.max()]])
            yield shapely.LineString(transformed(line, gradient.matrix))
        return
    farthest = float(GradientTable((gradient,)).ways(np.zeros(len(points), dtype=np.int64), points).max())
    for way in jumps_between(gradient, 0.0, farthest, least):
        rise = min(FLATTEN_MM / (longest * way), 1.0)  # of an arc over its chord, in radii
        count = min(max(math.ceil(math.pi / (2 * math.asin(math.sqrt(rise / 2)))), FEWEST_POINTS), MOST_POINTS)
        turn = np.linspace(0.0, 2 * np.pi, count + 1) % (2 * np.pi)
        ring = np.array(gradient.focal) * (1 - way) + way * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        yield shapely.LineString(transformed(ring, gradient.matrix))


def jumps_between(gradient: Gradient, low: float, high: float, least: float) -> list[float]:
    """Where between two shares of the way a gradient jumps; nowhere if that is more often than every `least`."""
    if gradient.spread == "pad":
        return [each for each in gradient.jumps if low < each < high]
    signs = [1.0] if gradient.spread == "repeat" else [1.0, -1.0]
    period, once = len(signs), np.outer(signs, gradient.jumps)
    if period < least * once.size:
        return []
    turns = np.arange(math.floor(low / period) - 1, math.ceil(high / period) + 2)
    found = np.unique(turns[:, None] * period + once.ravel())
    return [float(way) for way in found[(found > low) & (found < high)]]


def mm_per_way(gradient: Gradient) -> float:
    """How long the whole way of a gradient is, in mm, where it is longest; of one that is not flattened."""
    a, b, c, d, _, _ = gradient.matrix
    if isinstance(gradient, LinearGradient):
        return abs(a * d - b * c) / math.hypot(c, d)
    return float(np.linalg.norm([[a, c], [b, d]], 2)) * (1 + math.hypot(*gradient.focal))


def with_hard_stops(drawing: Drawing, width: Floats) -> Drawing:
    """The drawing with gradients of fills that change at once where they fade over no more than (s,) `width` mm."""
    gradients = each_changed(drawing.fill_gradient, sharpened, width.tolist())
    changed = any(one is not other for one, other in zip(gradients, drawing.fill_gradient, strict=True))
    return drawing.replace(fill_gradient=gradients) if changed else drawing


def sharpened(gradient: Gradient, width: float) -> Gradient:
    """A gradient whose fades over no more than `width` mm change at once, in their middle; itself if it has none.

    Only stops that have no other so near do: the steps of a longer fade, made of many stops, stay. So does a gradient
    that its matrix flattens to a line.
    """
    if inverse(gradient.matrix) is None:
        return gradient
    near = width / mm_per_way(gradient)
    groups: list[list[Stop]] = []
    for stop in gradient.stops:
        if groups and stop.offset - groups[-1][-1].offset <= near:
            groups[-1].append(stop)
        else:
            groups.append([stop])
    stops: list[Stop] = []
    for group in groups:
        first, last = group[0], group[-1]
        if last.offset - first.offset <= near and first.look != last.look:
            middle = (first.offset + last.offset) / 2
            group = [replace(first, offset=middle), replace(last, offset=middle)]
        stops += group
    return gradient if tuple(stops) == gradient.stops else replace(gradient, stops=tuple(stops))
