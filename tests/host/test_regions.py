"""The region that a shape paints: by either fill rule, and by a stroke's width, caps and joins."""

import math

import numpy as np
import pytest
import shapely

from underdraw import Drawing, Job
from underdraw.drawing.regions import TooManyCrossings, enclosed, fill_region, fill_regions, stroke_regions, winding

SQUARE = np.array([[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]], dtype=float)
HOLE = np.array([[2, 2], [8, 2], [8, 8], [2, 8], [2, 2]], dtype=float)
STAR = np.array([[math.sin(at * 4 * math.pi / 5), -math.cos(at * 4 * math.pi / 5)] for at in range(6)]) * 10
CORE = (
    5 / 2 * math.sin(2 * math.pi / 5) * (10 * math.cos(2 * math.pi / 5) / math.cos(math.pi / 5)) ** 2
)  # mm², pentagon


def test_a_hole_in_the_same_direction_is_one_by_even_odd_alone() -> None:
    """Source: SVG 1.1 (2nd ed.), 11.3, 'fill-rule', the example of two nested shapes."""
    assert fill_region([SQUARE, HOLE], evenodd=False).area == pytest.approx(100)
    assert fill_region([SQUARE, HOLE], evenodd=True).area == pytest.approx(100 - 36)
    assert fill_region([SQUARE, HOLE[::-1]], evenodd=False).area == pytest.approx(100 - 36)


def test_the_middle_of_a_star_is_filled_by_nonzero_alone() -> None:
    """Source: SVG 1.1 (2nd ed.), 11.3, 'fill-rule', the example of a star; its pentagon's area by trigonometry."""
    full, open_ = fill_region([STAR], evenodd=False), fill_region([STAR], evenodd=True)
    assert full.area - open_.area == pytest.approx(CORE)
    assert winding(np.array([[0.0, 0.0], [0.0, -9.0], [9.0, 9.0]]), [STAR]).tolist() == [2, 1, 0]
    assert enclosed([STAR], np.array([[0.0, 0.0], [0.0, -9.0]]), evenodd=True).tolist() == [False, True]


def test_an_open_part_is_filled_as_if_closed_and_a_line_fills_nothing() -> None:
    """Source: SVG 1.1 (2nd ed.), 11.3."""
    assert fill_region([SQUARE[:-1]], evenodd=False).area == pytest.approx(100)
    assert fill_region([SQUARE[:2], SQUARE[:1]], evenodd=False).is_empty


def test_outlines_that_cross_without_measure_are_refused_where_a_limit_is_set() -> None:
    scribble = np.random.default_rng(1).random((200, 2)) * 100
    with pytest.raises(TooManyCrossings):
        fill_region([scribble], evenodd=True, most_crossings=500)
    assert fill_region([scribble], evenodd=True).area > 0


def test_the_fills_of_many_shapes_keep_their_shape_and_order() -> None:
    shapes = [[STAR], [SQUARE[:2]], [SQUARE], [SQUARE, SQUARE + 20.0]]
    drawing = Drawing.build(shapes, (50, 50), Job(), fill="#123456", evenodd=[True, False, False, False])
    regions, shape = fill_regions(drawing, np.arange(4))
    filled = regions[shapely.area(regions) > 0]
    assert shape[shapely.area(regions) > 0].tolist() == [0] * 5 + [2, 3, 3]  # a star's five points meet in points
    assert shapely.area(filled)[5:].tolist() == pytest.approx([100, 100, 100])


LIMIT = np.array([4.0])


@pytest.mark.parametrize(
    ("cap", "more"), [("butt", 0.0), ("square", 4.0), ("round", math.pi)]
)  # of a line 2 mm wide: half a square and half a disc at each end
def test_a_stroke_paints_its_width_and_its_caps(cap: str, more: float) -> None:
    """Source: SVG 1.1 (2nd ed.), 11.4, 'stroke-linecap'."""
    lines = np.array([shapely.LineString([(0, 0), (10, 0)])], dtype=object)
    band = stroke_regions(lines, np.array([2.0]), np.array([cap], object), np.array(["miter"], object), LIMIT)
    assert band[0].area == pytest.approx(20 + more, rel=1e-3)


@pytest.mark.parametrize(("join", "corner"), [("miter", 1.0), ("bevel", 0.5), ("round", math.pi / 4)])
def test_a_stroke_turns_a_corner_by_its_join(join: str, corner: float) -> None:
    """Source: SVG 1.1 (2nd ed.), 11.4, 'stroke-linejoin'; the outer square millimetre of a right angle 2 mm wide."""
    lines = np.array([shapely.LineString([(0, 0), (10, 0), (10, 10)])], dtype=object)
    band = stroke_regions(lines, np.array([2.0]), np.array(["butt"], object), np.array([join], object), LIMIT)
    assert band[0].area == pytest.approx(39 + corner, rel=1e-3)


@pytest.mark.parametrize(("limit", "tip"), [(4.0, 0.0), (6.0, 1.0)])
def test_a_miter_past_its_limit_is_a_bevel_and_not_a_shorter_miter(limit: float, tip: float) -> None:
    """Source: SVG 1.1 (2nd ed.), 11.4, 'stroke-miterlimit': the length is 1 / sin of half the angle, here 5."""
    half = math.asin(1 / 5)
    way = np.array([(10 * math.cos(half), 10 * math.sin(half)), (0, 0), (10 * math.cos(half), -10 * math.sin(half))])
    lines = np.array([shapely.LineString(way)], dtype=object)
    band = stroke_regions(
        lines, np.array([2.0]), np.array(["butt"], object), np.array(["miter"], object), np.array([limit])
    )
    assert band[0].bounds[0] == pytest.approx(-5 * tip - (1 - tip) * math.sin(half))


def test_an_outline_that_runs_back_along_itself_encloses_nothing_there_once_its_points_are_rounded() -> None:
    """A leaf with a tip that goes out and comes back past where it began, turned by 19°: rounded, it is no line."""
    turn = np.radians(18.94)
    leaf = np.array([(0.0, 0.0), (30.0, 0.0), (-20.0, 0.0), (-30.0, -7.0), (-2.0, -50.0), (0.0, 0.0)])
    leaf = leaf @ np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))]) + 60
    drawing = Drawing.build([[leaf]], (200, 200), Job(), fill="#123456")
    regions, _ = fill_regions(drawing, np.arange(1))
    assert len(regions) == 1 and regions[0].area > 100


def test_an_outline_that_goes_out_and_comes_back_by_other_points_has_no_spike() -> None:
    """As of a leaf whose vein was drawn out and back, turned, and its points rounded; a real needle of a tip stays."""
    vein = [(30.0, 20.0), (40.0, 20.0001), (35.0, 20.0), (33.0, 20.0)]
    needle = [(0.0, 25.0), (-30.0, 25.01), (0.0, 25.02)]
    leaf = np.array(
        [(0.0, 0.0), (30.0, 0.0), *vein, (30.0, 20.0001), (30.0, 30.0), (0.0, 30.0), *needle[::-1], (0.0, 0.0)]
    )
    drawing = Drawing.build([[leaf + 50]], (200, 200), Job(), fill="#123456")
    [region] = fill_regions(drawing, np.arange(1))[0]
    assert region.bounds == pytest.approx((20, 50, 80, 80))
    assert region.area == pytest.approx(900.3, abs=0.01)
    assert region.is_valid
