"""Fewer points, within a hundredth of a millimetre of where the line ran."""

import numpy as np
import shapely
from night_artwork import artwork, blobs, lines_of, painted, ring, run, stroke, tidied
from references import all_lines, farthest


def test_a_dense_curve_keeps_its_shape_with_fewer_points() -> None:
    """Outside check: Hausdorff distance, both sides of it by shapely."""
    circle = ring(100, 100, 80, points=6000)
    drawing = tidied(stroke(*circle))
    assert len(drawing.coords) < 300
    before, after = shapely.LineString(circle), all_lines(drawing)
    assert shapely.distance(shapely.points(circle), after).max() <= 0.0101
    assert farthest(after, before) <= 0.0101


def test_points_are_kept_when_asked() -> None:
    turn = np.linspace(0, 3, 500)
    curve = np.stack([100 + 80 * np.cos(turn), 100 + 80 * np.sin(turn)], axis=1)
    assert len(tidied(stroke(*curve), points=0.0).coords) == 500


def test_a_junction_on_a_straight_line_keeps_its_point() -> None:
    drawing = tidied(stroke((10, 10), (90, 10), width=0.2), stroke((50, 10), (50, 60), width=0.2))
    assert sum(point == (50, 10) for line in lines_of(drawing) for point in line) == 2


def test_thinned_lines_do_not_cross_where_they_did_not() -> None:
    """Two curves 0.012 mm apart: straightening one must not carry it over the other."""
    turn = np.linspace(0, 1, 400)
    curve = np.stack([100 + 80 * np.cos(turn), 100 + 80 * np.sin(turn)], axis=1)
    inner = np.stack([100 + 79.988 * np.cos(turn), 100 + 79.988 * np.sin(turn)], axis=1)
    drawing = run(artwork(stroke(*curve), stroke(*inner)), cover=False, same=0.0, join=0.0).drawing
    one, two = drawing.part_lines()
    assert not one.intersects(two)


def test_nothing_touches_that_did_not_before() -> None:
    drawing = run(artwork(*blobs(60, 3))).drawing
    assert shapely.is_simple(shapely.union_all(drawing.part_lines()))


def test_a_ring_smaller_than_the_allowance_does_not_vanish() -> None:
    tiny = painted(ring(50, 50, 0.004, points=12), stroke="#000000", stroke_width=0.5)
    assert len(tidied(tiny)) == 1
