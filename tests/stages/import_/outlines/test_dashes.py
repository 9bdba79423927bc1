"""Dashes of a line: a pattern may begin anywhere, even where a damaged file has it begin."""

import math

import numpy as np
import pytest

from underdraw_stages.import_.outlines.dashes import dash

LINE, ALONG, PATTERN = np.array([[0.0, 0.0], [20.0, 0.0]]), np.array([0.0, 20.0]), (5.0, 3.0)


def pieces(offset: float) -> list[list[float]]:
    return [piece[:, 0].tolist() for piece in dash(LINE, ALONG, PATTERN, offset, False)]


def test_the_pattern_begins_where_its_offset_has_it() -> None:
    assert pieces(0.0) == [[0, 5], [8, 13], [16, 20]]
    assert pieces(3.0) == [[0, 2], [5, 10], [13, 18]]  # SVG 1.1, 11.4: the distance into the pattern at the start
    assert pieces(-2.0) == [[2, 7], [10, 15], [18, 20]]


@pytest.mark.parametrize("offset", [math.inf, -math.inf, math.nan])
def test_an_offset_out_of_all_measure_is_none(offset: float) -> None:
    assert pieces(offset) == pieces(0.0)


def test_an_offset_of_any_size_is_taken_within_one_run_of_the_pattern() -> None:
    assert pieces(3.0 + 8.0 * 10**6) == pieces(3.0)
