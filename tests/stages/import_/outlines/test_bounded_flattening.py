"""Curves are worked out a few at a time, so that no file takes memory without end; what comes out is the same."""

import numpy as np
import pytest

from underdraw_stages.import_.outlines import flatten as flattening
from underdraw_stages.import_.outlines.flatten import TooManyPoints, flatten


def curves(count: int, size: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Loops of a night garden, each where the one before ended, as one part. Invented data."""
    random = np.random.default_rng(7)
    points = np.cumsum(random.normal(0, size, (3 * count + 1, 2)), axis=0)
    return np.array([points[3 * at : 3 * at + 4] for at in range(count)]), np.array([0, count]), points[:1]


@pytest.mark.parametrize(("chunk", "at_once"), [(1, 1_000_000), (7, 1_000_000), (50, 40), (50, 1)])
def test_the_points_do_not_depend_on_how_many_are_worked_out_at_a_time(monkeypatch, chunk, at_once) -> None:  # type: ignore[no-untyped-def]
    bends, parts, starts = curves(50, 30.0)
    whole = flatten(bends, parts, starts, 0.01)
    monkeypatch.setattr(flattening, "CHUNK", chunk)
    monkeypatch.setattr(flattening, "AT_ONCE", at_once)
    again = flatten(bends, parts, starts, 0.01)
    assert np.array_equal(whole[1], again[1])
    assert np.abs(whole[0] - again[0]).max() < 1e-9  # mm: sums over fewer curves round otherwise; a drawing keeps 1e-4


def test_more_points_than_are_of_use_are_refused_before_they_are_worked_out() -> None:
    with pytest.raises(TooManyPoints):
        flatten(*curves(50, 30_000.0), 0.001, most=1000)
