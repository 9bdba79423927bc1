"""A drawing in memory: ragged arrays that do not change under anybody."""

import numpy as np
import pytest
import shapely

from underdraw.drawing.drawing import Drawing
from underdraw.errors import InputError
from underdraw.job.sections import Job

SQUARE = [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)]
LINE = [(1, 1), (4, 5)]
DOT = [(7, 7)]


@pytest.fixture
def three() -> Drawing:
    return Drawing.build([[SQUARE, LINE], [LINE], [DOT]], (20, 20), Job(), stroke=["#000000", "", "#ff0000"])


def test_lengths_are_those_of_the_polylines(three: Drawing) -> None:
    assert three.part_lengths().tolist() == [40.0, 5.0, 5.0, 0.0]
    assert three.shape_lengths().tolist() == [45.0, 5.0, 0.0]
    assert three.drawn_mm == pytest.approx(shapely.length(three.part_lines()).sum())


def test_closed_is_where_a_part_ends_where_it_began(three: Drawing) -> None:
    assert three.part_closed().tolist() == [True, False, False, False]


def test_select_keeps_parts_and_columns_together(three: Drawing) -> None:
    picked = three.select([2, 0])
    assert picked.stroke.tolist() == ["#ff0000", "#000000"]
    assert picked.part_coords(0).tolist() == [[7.0, 7.0]]
    assert picked.part_coords(1).tolist() == [list(map(float, point)) for point in SQUARE]
    assert len(three.select(three.stroke == "")) == 1


def test_lines_of_shapely_go_out_and_come_back(three: Drawing) -> None:
    back = three.select([0, 1]).with_lines(three.select([0, 1]).shape_lines())
    assert np.array_equal(back.coords, three.select([0, 1]).coords)
    assert np.array_equal(back.shapes, [0, 2, 3])


def test_with_lines_inherits_looks_by_row(three: Drawing) -> None:
    made = three.with_lines(np.array([shapely.LineString(LINE)] * 3), rows=[2, 2, 0], marker="accent")
    assert made.stroke.tolist() == ["#ff0000", "#ff0000", "#000000"]
    assert made.marker.tolist() == ["accent"] * 3


def test_nobody_can_change_a_drawing_that_was_handed_on(three: Drawing) -> None:
    with pytest.raises(ValueError, match="read-only"):
        three.coords[0, 0] = 1.0


def test_making_a_drawing_does_not_lock_the_callers_arrays() -> None:
    coords = np.array([[0.0, 0.0], [1.0, 1.0]])
    Drawing(coords, np.array([0, 2]), np.array([0, 1]), (2, 2), Job())
    coords[0, 0] = 5.0
    assert coords[0, 0] == 5.0


def test_coordinates_are_kept_to_a_tenth_of_a_micrometre() -> None:
    made = Drawing.build([[[(0.123456789, -0.00001), (1, 1)]]], (2, 2), Job())
    assert made.coords[0].tolist() == [0.1235, 0.0]
    assert not np.signbit(made.coords).any()


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 1e9])
def test_coordinates_that_no_canvas_has_are_refused(bad: float) -> None:
    with pytest.raises(InputError, match="coordinate"):
        Drawing.build([[[(0, 0), (bad, 1)]]], (2, 2), Job())


def test_an_empty_drawing_is_a_drawing() -> None:
    empty = Drawing.build([], (10, 10), Job())
    assert (len(empty), empty.drawn_mm, empty.bounds) == (0, 0.0, None)
    assert len(empty.shape_lines()) == len(empty.part_lines()) == 0
