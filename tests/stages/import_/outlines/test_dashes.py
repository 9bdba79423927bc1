"""Dashes of a line: a pattern may begin anywhere, even where a damaged file has it begin."""

import math

import numpy as np
import pytest

from underdraw_stages.import_.outlines.dashes import dash
from underdraw_stages.import_.shapes.vertex_markers import direction_of

LINE, ALONG, PATTERN = np.array([[0.0, 0.0], [20.0, 0.0]]), np.array([0.0, 20.0]), (5.0, 3.0)


def pieces(offset: float) -> list[list[float]]:
    return [piece[:, 0].tolist() for piece in dash(LINE, ALONG, PATTERN, offset, False)]


def test_the_pattern_begins_where_its_offset_has_it() -> None:
    assert pieces(0.0) == [[0, 5], [8, 13], [16, 20]]
    assert pieces(3.0) == [[0, 2], [5, 10], [13, 18]]  # SVG 1.1, 11.4: the distance into the pattern at the start
    assert pieces(-2.0) == [[2, 7], [10, 15], [18, 20]]


def test_a_dash_over_the_start_of_a_closed_line_is_one_piece_and_no_other_is_lost() -> None:
    ring = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]])
    along = np.array([0.0, 10.0, 20.0, 30.0, 40.0])
    found = dash(ring, along, (6.0, 4.0), 3.0, True)
    assert [np.hypot(*np.diff(piece, axis=0).T).sum() for piece in found] == pytest.approx([6.0] * 4)
    assert found[0].tolist() == [[0, 3], [0, 0], [3, 0]]
    assert len(dash(ring, along, (6.0, 4.0), 3.0, False)) == 5  # an open one is cut at its start
    assert len(dash(ring, along, (6.0, 4.0), 0.0, True)) == 4


def test_a_marker_at_the_start_is_turned_round_where_it_is_asked_to() -> None:
    """SVG 2, section 13.7.3."""
    orients, places = ("auto", "auto-start-reverse"), ("start", "mid", "end")
    turned = {(orient, which): direction_of(orient, which, 30.0) for orient in orients for which in places}
    assert turned.pop(("auto-start-reverse", "start")) == 210.0
    assert set(turned.values()) == {30.0}


def test_dashes_begin_where_the_stated_length_has_them(run) -> None:  # type: ignore[no-untyped-def]
    """SVG 2, section 9.6.1: 30 mm stated as 10; dashes and gaps of 2 from 1 on are 3, then 6 mm long."""
    drawing = run(
        '<path d="M5 5H35" pathLength="10" stroke="#123" stroke-dasharray="2" stroke-dashoffset="1"/>'
    ).drawing
    assert drawing.part_lengths() == pytest.approx([3, 6, 6], abs=2e-3)


@pytest.mark.parametrize("offset", [math.inf, -math.inf, math.nan])
def test_an_offset_out_of_all_measure_is_none(offset: float) -> None:
    assert pieces(offset) == pieces(0.0)


def test_an_offset_of_any_size_is_taken_within_one_run_of_the_pattern() -> None:
    assert pieces(3.0 + 8.0 * 10**6) == pieces(3.0)
