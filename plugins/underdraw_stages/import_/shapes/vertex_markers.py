"""Where `marker-start`, `marker-mid` and `marker-end` stand on an outline, and which way they point.

Source: SVG 1.1 (2nd ed.), section 11.6.2; directions at path points: F.5.
"""

import math

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.import_.file.user_units import split_length
from underdraw_stages.import_.outlines.path_data import Outline

MarkerPosition = tuple[str, tuple[float, float], float]  # which property, where, degrees that the line points there


def marker_positions(outline: Outline) -> list[MarkerPosition]:
    """Every vertex of an outline in order: the first is `start`, the last `end`, the rest `mid`."""
    positions: list[tuple[tuple[float, float], float]] = []
    for part in range(len(outline.parts) - 1):
        curves = outline.curves[outline.parts[part] : outline.parts[part + 1]]
        vertex = outline.vertex[outline.parts[part] : outline.parts[part + 1]]
        positions += _of_part(outline.starts[part], curves, vertex, bool(outline.closed[part]))
    last = len(positions) - 1
    return [
        ("start" if at == 0 else "end" if at == last else "mid", point, degrees)
        for at, (point, degrees) in enumerate(positions)
    ] + ([("end", *positions[0])] if last == 0 else [])


def _of_part(
    start: NDArray[np.float64], curves: NDArray[np.float64], vertex: NDArray[np.bool_], closed: bool
) -> list[tuple[tuple[float, float], float]]:
    if not len(curves):
        return [((float(start[0]), float(start[1])), 0.0)]
    leaving = [_direction(curve) for curve in curves]
    arriving = [_direction(curve[::-1], back=True) for curve in curves]
    points = [start, *curves[:, 3]]
    found: list[tuple[tuple[float, float], float]] = []
    for at, point in enumerate(points):
        if at > 0 and not vertex[at - 1]:
            continue
        before = arriving[at - 1] if at else (arriving[-1] if closed else None)
        after = leaving[at] if at < len(curves) else (leaving[0] if closed else None)
        found.append(((float(point[0]), float(point[1])), _between(before, after)))
    return found


def _direction(curve: NDArray[np.float64], back: bool = False) -> tuple[float, float] | None:
    """The unit direction of a curve at its first point, None for one of no length."""
    for to in (1, 2, 3):
        x, y = map(float, curve[to] - curve[0])
        size = math.hypot(x, y)
        if size > 1e-12:
            return (-x / size, -y / size) if back else (x / size, y / size)
    return None


def direction_of(orient: str, which: str, degrees: float) -> float:
    """Degrees that a marker is turned by its `orient`, where the line points `degrees`."""
    if orient == "auto-start-reverse" and which == "start":
        return degrees + 180
    if orient.startswith("auto"):
        return degrees
    for unit, each in (("deg", 1.0), ("grad", 0.9), ("rad", 180 / math.pi), ("turn", 360.0), ("", 1.0)):
        if orient.endswith(unit):
            parts = split_length(orient.removesuffix(unit))
            value = parts[0] * each if parts else 0.0
            return value if math.isfinite(value) else 0.0
    return 0.0


def _between(before: tuple[float, float] | None, after: tuple[float, float] | None) -> float:
    """Degrees of the bisector of the two directions, or of the one there is."""
    if before is None or after is None:
        one = before or after or (1.0, 0.0)
        return math.degrees(math.atan2(one[1], one[0]))
    x, y = before[0] + after[0], before[1] + after[1]
    if math.hypot(x, y) < 1e-9:  # straight back: across the line
        return math.degrees(math.atan2(before[1], before[0])) + 90
    return math.degrees(math.atan2(y, x))
