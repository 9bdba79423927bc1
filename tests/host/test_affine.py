"""Affine maps: the order they are put together in, and back again."""

import numpy as np
import pytest

from underdraw.drawing.affine import IDENTITY, compose, inverse, scale_of, transformed, translation

TURN = (0.0, 1.0, -1.0, 0.0, 0.0, 0.0)  # 90°, x right to y down


def test_the_inner_map_is_done_first() -> None:
    """Source: SVG 1.1 (2nd ed.), 7.5: nested transforms are multiplied, the outermost on the left."""
    point = np.array([[1.0, 0.0]])
    assert transformed(point, compose(translation(10, 20), TURN)).tolist() == [[10.0, 21.0]]
    assert transformed(point, compose(TURN, translation(10, 20))).tolist() == [[-20.0, 11.0]]


def test_an_inverse_undoes_and_a_flat_map_has_none() -> None:
    skewed = (2.0, 0.5, -1.0, 3.0, 7.0, -4.0)
    back = inverse(skewed)
    assert back is not None
    assert compose(back, skewed) == pytest.approx(IDENTITY)
    assert scale_of(skewed) ** 2 == pytest.approx(2.0 * 3.0 + 0.5)
    assert inverse((1.0, 2.0, 2.0, 4.0, 0.0, 0.0)) is None
