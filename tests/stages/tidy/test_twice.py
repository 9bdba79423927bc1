"""Tidied twice is tidied once, to the byte."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st
from night_artwork import AMBER, artwork, blobs, box, painted, ring, run, same_bytes, stroke

from underdraw.job.sections import MarkerSection


def lively(seed: int) -> list[dict[str, Any]]:
    """Petals, broad and fine strokes of two markers, stipple, doubled lines and gaps, at random."""
    random = np.random.default_rng(seed)
    shapes = blobs(25, seed)
    for index in range(20):
        points = np.cumsum(random.normal(0, 12, (6, 2)), axis=0) + random.uniform(40, 160, 2)
        width = float(random.choice([0.3, 1.0, 4.0]))
        shapes.insert(
            int(random.integers(len(shapes))),
            stroke(*points, width=width, colour=AMBER if index % 3 else "#1b1b3a"),
        )
        if index % 2:
            shapes.append(stroke(*(points[::-1] + random.normal(0, 0.06, points.shape)), width=width))
    shapes += [
        painted([point, point], stroke=AMBER, stroke_width=1, cap="round") for point in random.uniform(20, 170, (5, 2))
    ]
    return shapes


@pytest.mark.parametrize("seed", range(5))
def test_tidied_twice_is_tidied_once(seed: int) -> None:
    once = run(artwork(*lively(seed)))
    twice = run(once.drawing)
    assert same_bytes(once.drawing, twice.drawing)
    assert twice.figures["strokes_before"] == twice.figures["strokes_after"] == once.figures["strokes_after"]
    assert (twice.figures["joined"], twice.figures["dropped"], twice.figures["hidden_mm"]) == (0, 0, 0)


@pytest.mark.slow
@pytest.mark.parametrize("settings", ({"same": 1.0}, {"join": 1.0}, {"centre": 2.0}, {"cover": False}, {"points": 0.1}))
@pytest.mark.parametrize("seed", (3, 21, 26))
def test_it_holds_for_other_settings(settings: dict[str, Any], seed: int) -> None:
    once = run(artwork(*lively(seed)), **settings)
    assert same_bytes(once.drawing, run(once.drawing, **settings).drawing)


@pytest.mark.parametrize("seed", (9, 13, 26))
def test_lines_that_part_slowly_are_not_pared_down_bit_by_bit(seed: int) -> None:
    """Two sides of a spike, a stem that leaves another at a small angle: near their corner they are one line wide."""
    once = run(artwork(*lively(seed)), same=0.0)
    twice = run(once.drawing, same=0.0)
    assert same_bytes(once.drawing, twice.drawing)
    assert twice.figures["doubled_mm"] == 0


def test_it_does_not_depend_on_the_record_of_the_first_time() -> None:
    """Without a history, only broad covers are new to it: told to look at none, it changes nothing."""
    once = run(artwork(*lively(5))).drawing
    assert same_bytes(once, run(once.replace(history=()), cover=False).drawing)


@pytest.mark.parametrize("seed", range(12))
def test_lines_that_cross_are_not_doubles_for_being_near_where_they_do(seed: int) -> None:
    """With a tip finer than `--same`, three tips are less than two lines take to part."""
    random = np.random.default_rng(seed)
    fine = (MarkerSection(name="outline", tip=0.3, colours=()),)
    lines = [stroke(*random.uniform(20, 60, (2, 2)), width=0.1) for _ in range(14)]
    once = run(artwork(*lines, markers=fine), same=1.0)
    assert same_bytes(once.drawing, run(once.drawing, same=1.0).drawing)


@effort(max_examples=15, deadline=None)
@given(
    st.lists(
        st.lists(st.tuples(st.floats(10, 60), st.floats(10, 60)), min_size=2, max_size=5),
        min_size=1,
        max_size=10,
    )
)
def test_it_holds_for_random_scribbles(paths: list[list[tuple[float, float]]]) -> None:
    drawing = artwork(*(stroke(*path, width=0.2) for path in paths), box(100, 100, 120, 120))
    once = run(drawing).drawing
    assert same_bytes(once, run(once).drawing)


def test_the_same_artwork_gives_the_same_bytes() -> None:
    assert same_bytes(run(artwork(*lively(2))).drawing, run(artwork(*lively(2))).drawing)


def test_the_drawing_that_came_in_is_not_changed() -> None:
    drawing = artwork(*lively(1), painted(ring(50, 50, 20), fill="#123456"))
    before = drawing.coords.copy(), drawing.fill.copy()
    run(drawing)
    assert np.array_equal(before[0], drawing.coords)
    assert np.array_equal(before[1], drawing.fill)
