"""Numbers in a transform are read whole, however they are parted. Source: SVG 1.1, section 7.6 and its grammar."""

import pytest

from underdraw_stages.import_.file.transforms import read_transform


@pytest.mark.parametrize(
    ("text", "matrix"),
    [
        ("translate(30 40)", (1, 0, 0, 1, 30, 40)),
        ("translate(196,220)", (1, 0, 0, 1, 196, 220)),
        ("scale(1.05)", (1.05, 0, 0, 1.05, 0, 0)),
        ("scale(.5.25)", (0.5, 0, 0, 0.25, 0, 0)),
        ("translate(-1-2)", (1, 0, 0, 1, -1, -2)),
        ("translate(1.5e-2,4)", (1, 0, 0, 1, 0.015, 4)),
        ("rotate(90)", (0, 1, -1, 0, 0, 0)),
        ("translate(10 20) rotate(90) scale(2)", (0, 2, -2, 0, 10, 20)),
    ],
)
def test_numbers_in_a_transform_are_read_whole(text: str, matrix: tuple[float, ...]) -> None:
    assert read_transform(text) == pytest.approx(matrix)
