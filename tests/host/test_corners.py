"""Corners of lines and rings, point by point as anyone would count them."""

import numpy as np
import shapely

from underdraw.drawing.lines.corners import Corners


def test_each_part_has_its_own_corners_and_points_that_are_repeated_are_one() -> None:
    bend = shapely.LineString([(0, 0), (0, 0), (10, 0), (10, 0), (10, 10)])
    straight = shapely.LineString([(10, 10), (20, 10)])
    ring = shapely.LinearRing([(0, 0), (4, 0), (4, 0), (4, 3)])
    both = shapely.MultiLineString([[(50, 0), (50, 5), (55, 5)], [(55, 5), (60, 9), (60, 9), (61, 3)]])
    found = Corners.of(np.array([bend, straight, ring, both], dtype=object))
    assert list(zip(found.line.tolist(), map(tuple, found.at.tolist()), strict=True)) == [
        (0, (10, 0)),
        (2, (4, 0)),
        (2, (4, 3)),
        (2, (0, 0)),
        (3, (50, 5)),
        (3, (60, 9)),
    ]
    assert found.before.tolist() == [[10, 0], [4, 0], [0, 3], [-4, -3], [0, 5], [5, 4]]
    assert found.after.tolist() == [[0, 10], [0, 3], [-4, -3], [4, 0], [5, 0], [1, -6]]
