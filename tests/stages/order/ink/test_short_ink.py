"""An ink_length shorter than any marker lasts is a slip of the unit: the swaps that come of it are warned of."""

import numpy as np
import pytest
from strokes_of import Listener

from underdraw import Drawing, InputError
from underdraw.job.file import job_from_data
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.ink.markers import ink_lines
from underdraw_stages.order.stage import order


def warnings(ink_length: str, lines: int = 12) -> list[str]:
    marker = {"name": "outline", "ink_length": ink_length}
    job = job_from_data({"canvas": {"face": "200 x 200 mm", "mount": "stretched"}, "marker": [marker]}, "moths")
    strokes = [[np.array([[10.0, 10.0 * row], [110.0, 10.0 * row]])] for row in range(1, lines + 1)]
    drawing = Drawing.build(strokes, (200.0, 200.0), job, marker="outline", stroke="#1b1b3a", stroke_width=0.7)
    context = Listener()
    order(drawing, OrderSettings(), context)
    return context.warnings


def test_metres_written_as_millimetres_are_noticed() -> None:
    [warning] = warnings("500 mm")
    assert "'outline': 2 swaps, as its ink_length is 500 mm; a marker draws metres: is the unit right?" in warning


def test_a_length_that_no_marker_can_be_spent_in_is_refused_before_swaps_are_planned_for_it() -> None:
    with pytest.raises(InputError, match="ink_length: expected a length of at least 10 mm, got '0.001 mm'"):
        warnings("0.001 mm")


@pytest.mark.parametrize("ink_length", ["1 m", "60 m"])
def test_a_marker_that_draws_metres_is_no_slip(ink_length: str) -> None:
    assert not warnings(ink_length)


@pytest.mark.parametrize(
    ("loads", "listed"), [(6, "ink left in each: 5 mm, 5 mm, 5 mm, 5 mm, 5 mm, 95 mm"), (8, "5 mm … 95 mm")]
)
def test_what_is_left_in_the_last_of_many_is_listed_too(loads: int, listed: str) -> None:
    figures = [
        {"marker": "outline", "load": number, "drawn_mm": 900.0, "left_mm": 95.0 if number == loads else 5.0}
        for number in range(1, loads + 1)
    ]
    (line,) = ink_lines(figures, "mm")
    assert line.endswith(listed) and line.count("5 mm") == 7 - (loads == 6)


def test_a_short_ink_that_lasts_all_the_same_is_no_slip() -> None:
    assert not warnings("900 mm", lines=2)
