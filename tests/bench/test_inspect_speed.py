"""Speed of `inspect`, against shapely's own buffer and union of the same lines in the same run.

pytest tests/bench/test_inspect_speed.py --benchmark-enable -s

Set out to be reached: 10,000 strokes with a million points in at most twice that buffer and union. Printed; only the
ratio within one run is held to.
"""

import time
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from underdraw import Drawing, Job
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.inspect import InspectSettings
from underdraw_stages.inspect.stage import inspect

STROKES, POINTS = 10_000, 100
MOST_UNIONS = 2.0
SIDE = 2000.0  # mm
WIDTH = 0.7


def curls() -> NDArray[Any]:
    """(s, n, 2) strokes of 30 mm that wander and cross each other."""
    rng = np.random.default_rng(1)
    heading = np.cumsum(rng.normal(0, 0.08, (STROKES, POINTS)), axis=1) + rng.uniform(0, 2 * np.pi, (STROKES, 1))
    steps = 0.3 * np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    return np.asarray(np.cumsum(steps, axis=1) + rng.uniform(0, SIDE, (STROKES, 1, 2)))


def rings() -> NDArray[Any]:
    """(s, n, 2) closed rings of all sizes over the sheet, which cut each other into many regions."""
    rng = np.random.default_rng(2)
    turn = np.linspace(0, 2 * np.pi, POINTS)
    round_ = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    round_[-1] = round_[0]
    return np.asarray(rng.uniform(0.3, 10.0, (STROKES, 1, 1)) * round_ + rng.uniform(0, SIDE, (STROKES, 1, 2)))


@pytest.mark.parametrize("strokes", [curls, rings])
def test_a_million_points_in_twice_the_time_of_their_ink(benchmark: Any, strokes: Any) -> None:
    points = strokes()
    drawing = Drawing.build(
        [[line] for line in points], (SIDE, SIDE), Job(), marker="outline", stroke_width=WIDTH
    ).replace(hides_nothing=True)
    assert len(drawing.coords) == STROKES * POINTS
    lines = shapely.linestrings(points)
    begin = time.perf_counter()
    shapely.union_all(shapely.buffer(lines, WIDTH / 2))
    ink = time.perf_counter() - begin
    context = TrialContext(Registry.installed())

    def timed() -> float:
        begin = time.perf_counter()
        inspect(drawing, InspectSettings(), context)
        return time.perf_counter() - begin

    took = benchmark.pedantic(timed, rounds=1)
    print(f"\n{strokes.__name__}: buffer and union {ink:.1f} s, inspect {took:.1f} s: {took / ink:.2f} times")
    assert took < MOST_UNIONS * ink
