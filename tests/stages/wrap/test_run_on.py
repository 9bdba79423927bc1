"""Run-on: lines that reach the face's edge go on as they were going, and never cross a neighbour."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from on_board import board, crossings, in_corner_squares, tendrils, wrapped

from underdraw.drawing.drawing import NO_MARKER
from underdraw_stages.wrap.courses import GRAZING, ROOM_KEPT, courses


def test_a_line_goes_on_in_its_own_direction_to_the_images_edge() -> None:
    drawing, _ = board([(200.0, 200.0), (300.0, 220.0)])
    made, *_ = wrapped(drawing, "run-on")
    assert len(made) == 1
    assert made.coords[-1] == pytest.approx([400.0, 280.0], abs=0.05)


def test_a_straight_line_with_svgs_own_fill_goes_on_as_one_without() -> None:
    """SVG 1.1, section 11.3: a path that states no fill has a black one; of a straight one it fills nothing."""
    drawing, _ = board([(200.0, 200.0), (300.0, 220.0)])
    plain, *_ = wrapped(drawing, "run-on")
    made, *_ = wrapped(drawing.replace(fill=np.array(["#000000"], dtype=object)), "run-on")
    assert made.coords.tolist() == plain.coords.tolist() and made.drawn_mm > drawing.drawn_mm + 10
    assert made.fill.tolist() == [""]  # else it would fill the bend at the fold


def test_a_line_that_runs_on_is_one_stroke_with_a_point_on_the_fold() -> None:
    drawing, panel = board(*tendrils(1))
    made, *_ = wrapped(drawing, "run-on")
    assert len(made) == len(drawing)
    met, widest = crossings(made, panel)
    assert met > 5
    assert widest < 0.001


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 2**31))
def test_every_line_that_reaches_the_edge_goes_on_to_the_images_edge(seed: int) -> None:
    drawing, panel = board(*tendrils(seed))
    made, *_ = wrapped(drawing, "run-on")
    x0, y0, x1, y1 = panel.face_box
    ends = drawing.coords[np.concatenate([drawing.parts[:-1], drawing.parts[1:] - 1])]
    on_edge = (np.isin(ends[:, 0], (x0, x1)) | np.isin(ends[:, 1], (y0, y1))).sum()
    last = made.coords[np.concatenate([made.parts[:-1], made.parts[1:] - 1])]
    w, h = panel.image
    at_image_edge = (np.isin(last[:, 0], (0, w)) | np.isin(last[:, 1], (0, h))).sum()
    assert at_image_edge >= on_edge - 1  # one that only grazes the edge may stay
    assert in_corner_squares(made, panel) == 0


@settings(max_examples=60, deadline=None)
@given(
    lines=st.lists(st.tuples(st.floats(0, 300), st.floats(-30, 30)), min_size=1, max_size=30),
    width=st.floats(5, 90),
)
def test_neighbours_never_cross_and_keep_room_between_them(lines: list[tuple[float, float]], width: float) -> None:
    along, slope = np.array(lines).T
    depths, places = courses(along, slope, width, 0.0, 300.0)
    order = np.lexsort((slope, along))
    gaps = np.diff(places[order], axis=0)
    room = np.diff(along[order])
    assert (gaps >= ROOM_KEPT * room[:, None] - 1e-6).all()
    assert (places >= -1e-6).all() and (places <= 300 + 1e-6).all()
    assert depths[0] == 0 and depths[-1] == pytest.approx(width)


def test_a_grazing_line_bends_away_from_the_edge() -> None:
    depths, places = courses(np.array([150.0]), np.array([8.0]), 50.0, 0.0, 1000.0)
    end = (places[0, -1] - places[0, -2]) / (depths[-1] - depths[-2])
    start = (places[0, 1] - places[0, 0]) / (depths[1] - depths[0])
    assert end == pytest.approx(GRAZING, rel=0.01)
    assert start > 3 * GRAZING


def test_parallel_lines_stay_parallel() -> None:
    along = np.arange(100.0, 130.0, 2.0)
    _, places = courses(along, np.full(len(along), 0.7), 50.0, 0.0, 300.0)
    assert np.diff(places, axis=0) == pytest.approx(2.0)


def test_lines_drawn_on_canvas_do_not_cross_either() -> None:
    """The same with shapely: lines that do not cross on the face do not cross on the side."""
    fan = [[(300.0 - 10, 150.0 + 8 * k - 3 * (k - 5)), (300.0, 150.0 + 5 * k)] for k in range(11)]
    drawing, panel = board(*fan)
    made, *_ = wrapped(drawing, "run-on")
    side = shapely.intersection(made.part_lines(), shapely.box(*panel.side_boxes["right"]))
    for one in range(len(side)):
        for other in range(one):
            assert not shapely.intersects(side[one], side[other])


def test_a_cut_fill_goes_on_between_the_courses_of_its_outline() -> None:
    leaf = [(260.0, 100.0), (300.0, 90.0), (300.0, 170.0), (260.0, 160.0), (260.0, 100.0)]
    drawing, panel = board(leaf, fill="#6b8e4e", stroke="")
    made, *_ = wrapped(drawing, "run-on")
    cover = made.select(made.marker == NO_MARKER)
    rings = [shapely.Polygon(cover.part_coords(part)) for part in range(len(cover.parts) - 1)]
    side = shapely.intersection(shapely.union_all(rings), shapely.box(*panel.side_boxes["right"]))
    assert side.area == pytest.approx((80 + (80 + 2 * 12.5)) / 2 * 50, rel=0.01)
    line = made.select(made.fill == "").part_lines()[0]
    outline = shapely.intersection(line, shapely.box(*panel.side_boxes["right"]))
    assert shapely.hausdorff_distance(shapely.intersection(outline, side.boundary.buffer(0.02)), outline) < 0.05


def test_a_line_beneath_a_fill_pushes_no_seen_line_aside() -> None:
    """A stem that runs under a leaf, flat against the leaf's own outline: the leaf goes on as if it were alone."""
    leaf = [(260.0, 100.0), (300.0, 90.0), (300.0, 170.0), (260.0, 160.0), (260.0, 100.0)]
    stem = [(290.0, 170.0), (300.0, 92.0)]
    fills = np.array(["", "#6b8e4e"], dtype=object)
    both, _ = wrapped(board(stem, leaf, fill=fills)[0], "run-on")[:2]
    alone, _ = wrapped(board(leaf, fill="#6b8e4e")[0], "run-on")[:2]
    assert both.part_coords(len(both.parts) - 2).tolist() == alone.part_coords(len(alone.parts) - 2).tolist()


def test_a_fill_that_covers_the_corner_covers_both_sides_and_not_the_corner_square() -> None:
    sky = [(0.0, 0.0), (300.0, 0.0), (300.0, 120.0), (0.0, 120.0), (0.0, 0.0)]
    drawing, panel = board(sky, fill="#1b1b3a", stroke="")
    made, *_ = wrapped(drawing, "run-on")
    cover = made.select(made.marker == NO_MARKER)
    area = shapely.union_all([shapely.Polygon(cover.part_coords(part)) for part in range(len(cover.parts) - 1)])
    assert shapely.intersection(area, shapely.box(*panel.side_boxes["top"])).area == pytest.approx(300 * 50)
    assert shapely.intersection(area, shapely.box(*panel.corner_squares[0])).area == pytest.approx(0)


def test_a_line_that_ends_a_hair_before_the_edge_was_meant_to_reach_it() -> None:
    drawing, _ = board([(200.0, 200.0), (299.9, 200.0)])
    made, *_ = wrapped(drawing, "run-on")
    assert made.coords[-1, 0] == 400.0


def test_a_line_along_the_edge_does_not_run_on() -> None:
    drawing, _ = board([(300.0, 100.0), (300.0, 200.0)])
    made, _, said = wrapped(drawing, "run-on")
    assert (made.coords == drawing.coords).all()
    assert "no line reaches the face's edge" in said[0]
