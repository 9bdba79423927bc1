"""Curves become polylines within 0.01 mm of the exact curve, whatever their shape."""

import math
import tracemalloc

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from underdraw_stages.import_.outlines.flatten import CHUNK, TooManyPoints, even_steps, flatten
from underdraw_stages.import_.shapes.flattened_shapes import TOLERANCE_MM

TOLERANCE = 0.0098
DENSE = np.linspace(0.0, 1.0, 4001)


def farthest(curve: NDArray[np.float64], line: NDArray[np.float64]) -> float:
    """mm from the exact curve's points to a polyline, at most."""
    s, t = 1 - DENSE[:, None], DENSE[:, None]
    exact = s**3 * curve[0] + 3 * s * s * t * curve[1] + 3 * s * t * t * curve[2] + t**3 * curve[3]  # Bernstein form
    return float(shapely.distance(shapely.points(exact), shapely.LineString(line)).max())


def flattened(*curves: object) -> list[NDArray[np.float64]]:
    array = np.array(curves, dtype=float)
    coords, parts = flatten(array, np.arange(len(array) + 1), array[:, 0], TOLERANCE)
    return [coords[parts[at] : parts[at + 1]] for at in range(len(array))]


coordinate = st.floats(-500, 500, allow_nan=False, width=32)
points = st.tuples(coordinate, coordinate)


@pytest.mark.slow
@settings(max_examples=150, deadline=None)
@given(st.tuples(points, points, points, points))
def test_any_bezier_curve_stays_within_a_hundredth_of_a_millimetre(curve) -> None:  # type: ignore[no-untyped-def]
    (line,) = flattened(curve)
    assert farthest(np.array(curve, dtype=float), line) <= 0.01


@pytest.mark.parametrize(
    ("shape", "curve"),
    [
        ("cusp", [(0, 0), (100, 100), (0, 100), (100, 0)]),
        ("near cusp", [(0, 0), (100.01, 100), (0, 100), (100, 0)]),
        ("loop", [(0, 0), (200, 100), (-100, 100), (100, 0)]),
        ("inflection", [(0, 0), (300, 0), (-200, 100), (100, 100)]),
        ("straight, running past its end", [(0, 0), (150, 0), (120, 0), (100, 0)]),
        ("straight, running back past its start", [(0, 0), (-40, 0), (60, 0), (100, 0)]),
        ("closed", [(0, 0), (200, 100), (-200, 100), (0, 0)]),
        ("handles at the ends", [(0, 0), (0, 0), (100, 50), (100, 50)]),
        ("one handle at its end", [(0, 0), (0, 0), (0, 300), (100, 0)]),
        ("one point", [(7, 7), (7, 7), (7, 7), (7, 7)]),
        ("two metres long", [(0, 0), (0, 2000), (2000, 2000), (2000, 0)]),
        ("a hundredth of a millimetre long", [(0, 0), (0, 0.01), (0.01, 0.01), (0.01, 0)]),
    ],
)
def test_an_awkward_curve_stays_within_a_hundredth_of_a_millimetre(shape, curve) -> None:  # type: ignore[no-untyped-def]
    (line,) = flattened(curve)
    assert farthest(np.array(curve, dtype=float), line) <= 0.01, shape
    assert (line[0] == curve[0]).all() and (line[-1] == curve[3]).all()


@pytest.mark.parametrize("radius", [0.3, 20.0, 300.0, 3000.0])
@pytest.mark.parametrize("stretch", [1.0, 0.3, 0.01])
def test_an_arc_stays_within_a_hundredth_of_a_millimetre(radius, stretch, run) -> None:  # type: ignore[no-untyped-def]
    ry, turn = radius * stretch, 25.0
    side = 3 * radius
    x, y = radius * math.cos(math.radians(turn)), radius * math.sin(math.radians(turn))
    data = f"M{side / 2 + x} {side / 2 + y} A{radius} {ry} {turn} 1 1 {side / 2 - x} {side / 2 - y}"
    result = run(
        f'<path d="{data}" fill="none" stroke="#000"/>',
        head=f'width="{side}mm" height="{side}mm" viewBox="0 0 {side} {side}"',
    )
    line = shapely.LineString(result.drawing.part_coords(0))
    angle = np.linspace(0, math.pi, 20001)  # the ellipse itself: SVG 1.1, F.6.2
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    x, y = radius * np.cos(angle), ry * np.sin(angle)
    exact = np.stack([cos * x - sin * y, sin * x + cos * y], axis=1) + side / 2
    assert shapely.distance(shapely.points(exact), line).max() <= 0.01


def test_points_lie_where_the_curve_bends() -> None:
    hook = [(0, 0), (0, 0), (99, 0), (100, 1)]  # nearly straight, then a sharp end
    (line,) = flattened(hook)
    assert len(line) < 0.7 * even_steps(np.array([hook], dtype=float), TOLERANCE)[0]
    (straight,) = flattened([(0, 0), (30, 10), (60, 20), (90, 30)])
    assert len(straight) == 2


def test_more_points_than_are_of_use_are_refused_before_they_are_made() -> None:
    curves = np.tile(np.array([[(0, 0), (0, 1e7), (1e7, 1e7), (1e7, 0)]], dtype=float), (1000, 1, 1))
    with pytest.raises(TooManyPoints):
        flatten(curves, np.arange(1001), curves[:, 0], TOLERANCE, most=100_000)


def test_a_part_without_curves_is_one_point() -> None:
    coords, parts = flatten(np.empty((0, 4, 2)), np.array([0, 0]), np.array([[3.0, 4.0]]), TOLERANCE)
    assert coords.tolist() == [[3, 4]] and parts.tolist() == [0, 1]


def test_flattening_holds_its_points_once() -> None:
    def flattened(count: int) -> tuple[int, int]:
        """Bytes of the points of so many small arcs, and at most held."""
        curves = np.tile(np.array([[0.0, 0.0], [0.0, 1.104], [0.896, 2.0], [2.0, 2.0]]), (count, 1, 1))
        parts, starts = np.arange(count + 1), np.zeros((count, 2))
        tracemalloc.start()
        try:
            coords, _ = flatten(curves, parts, starts, TOLERANCE_MM)
            return coords.nbytes, tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    (few, held_for_few), (many, held_for_many) = flattened(2 * CHUNK), flattened(5 * CHUNK)
    grows = (held_for_many - held_for_few) / (many - few)  # what is in between is that of one chunk, in both
    assert grows < 1.5, f"{grows:.2f} times the points"
