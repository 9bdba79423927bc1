"""Gaps and short leftovers: ends meet, left-over bits go, what was meant short stays."""

from itertools import pairwise

import numpy as np
import pytest
from night_artwork import AMBER, INDIGO, artwork, box, fill, lines_of, painted, run, same_bytes, stroke, tidied


def test_fragments_of_one_sweep_become_one_stroke() -> None:
    """Two hundred fragments 0.1 mm apart, in no order and any direction, as exports cut long curves."""
    random = np.random.default_rng(1)
    turn = np.linspace(0, 3, 201)
    points = np.stack([100 + 80 * np.cos(turn), 100 + 80 * np.sin(turn)], axis=1)
    pieces = []
    for start, stop in pairwise(points):
        step = (stop - start) / np.hypot(*(stop - start))
        piece = [tuple(start + 0.05 * step), tuple(stop - 0.05 * step)]
        pieces.append(stroke(*(piece if random.random() < 0.5 else piece[::-1]), width=0.1))
    random.shuffle(pieces)
    result = run(artwork(*pieces))
    assert len(result.drawing) == 1
    assert result.figures["joined"] == 199
    assert result.drawing.drawn_mm == pytest.approx(240, abs=0.2)


@pytest.mark.parametrize(("gap", "strokes"), ((0.19, 1), (0.21, 2)))
def test_ends_within_join_meet_and_others_do_not(gap: float, strokes: int) -> None:
    assert len(tidied(stroke((10, 10), (50, 10), width=0.2), stroke((50 + gap, 10), (90, 10), width=0.2))) == strokes


def test_join_switched_off_leaves_gaps() -> None:
    assert len(tidied(stroke((10, 10), (50, 10), width=0.1), stroke((50.1, 10), (90, 10), width=0.1), join=0.0)) == 2


def test_broad_strokes_whose_ends_overlap_are_one_line() -> None:
    """The eye sees no gap between round ends that lie on one another, whatever lies between their middles."""
    assert len(tidied(stroke((10, 10), (50, 10), width=4), stroke((51.5, 10), (90, 10), width=4))) == 1


def test_an_end_near_a_line_meets_it() -> None:
    drawing = tidied(stroke((10, 10), (90, 10), width=0.2), stroke((50, 10.15), (50, 60), width=0.2))
    assert (50, 10) in [point for line in lines_of(drawing) for point in line]
    assert drawing.drawn_mm == pytest.approx(130)


def test_a_ring_left_open_by_a_hair_is_closed() -> None:
    drawing = tidied(stroke((10, 10), (60, 10), (60, 60), (10, 60), (10, 10.1)))
    assert drawing.part_closed().all()


def test_a_hook_whose_end_nears_its_own_line_meets_it() -> None:
    hook = stroke((10, 10), (60, 10), (60, 40), (30, 40), (30, 10.15), width=0.2)
    assert (30, 10) in [point for line in lines_of(tidied(hook)) for point in line]


def test_an_overshoot_at_a_crossing_goes() -> None:
    result = run(artwork(stroke((10, 10), (50.3, 10), width=0.2), stroke((50, 9.7), (50, 60), width=0.2)))
    assert result.figures["dropped"] == 2
    assert lines_of(result.drawing) == [[(10, 10), (50, 10), (50, 60)]]


def test_an_overshoot_stays_where_short_leftovers_are_kept() -> None:
    drawing = tidied(stroke((10, 10), (50.3, 10), width=0.2), stroke((50, 9.7), (50, 60), width=0.2), shortest=0.0)
    assert drawing.drawn_mm == pytest.approx(40.3 + 50.3)


def test_a_leftover_between_two_shapes_goes_and_is_counted() -> None:
    """A line beneath two shapes with a 0.3 mm slit between them: what shows in the slit was not meant."""
    line = stroke((10, 30), (90, 30), width=0.2)
    result = run(artwork(line, box(20, 20, 50, 40), box(50.3, 20, 80, 40)), join=0.0)
    assert result.figures["dropped"] == 1
    assert result.figures["dropped_mm"] == pytest.approx(0.3, abs=0.01)


def test_short_strokes_that_were_meant_stay() -> None:
    """Stamens, stipple and ticks: drawn short, and nothing was cut from them."""
    ticks = [stroke((20 + 3 * step, 20), (20 + 3 * step, 20.3), width=0.5) for step in range(10)]
    stipple = [painted([(20 + 3 * step, 30)] * 2, stroke=INDIGO, stroke_width=0.5, cap="round") for step in range(10)]
    result = run(artwork(*ticks, *stipple))
    assert len(result.drawing) == 20
    assert result.figures["dropped"] == 0


def test_a_petal_smaller_than_the_shortest_stroke_is_no_leftover() -> None:
    assert len(tidied(box(20, 20, 20.1, 20.1))) == 1


def test_gaps_between_two_markers_stay() -> None:
    assert len(tidied(stroke((10, 10), (50, 10)), stroke((50.1, 10), (90, 10), colour=AMBER))) == 2


@pytest.mark.parametrize(
    "lines",
    (
        [((10, 10), (10.6, 10.6)), ((10.6, 10), (10, 10.6))],
        [((10, 10), (10.9, 10)), ((10.45, 9.55), (10.45, 10.45))],
        [((10, 10), (40, 10)), ((40, 9.6), (40, 10.4))],
    ),
    ids=("a cross", "a plus", "the bar across a stem's end"),
)
def test_a_small_mark_of_several_lines_is_no_left_over(lines: list[tuple[tuple[float, float], ...]]) -> None:
    """Each line is longer than `--shortest`, and its arms beyond the crossing are shorter."""
    shapes = [stroke(*line, width=0.1) for line in lines]
    result = run(artwork(*shapes, stroke((100, 100), (150, 100), width=0.1)))
    assert result.figures["dropped"] == 0
    assert result.drawing.drawn_mm == pytest.approx(50 + sum(np.hypot(*np.subtract(*line)) for line in lines), abs=0.01)
    assert same_bytes(result.drawing, run(result.drawing).drawing)


def test_dots_that_the_grid_makes_one_are_one() -> None:
    fleck = fill((10, 10), (10.0001, 10), (10, 10.0001))
    once = run(artwork(fleck, stroke((10, 10), (10.0001, 10)), stroke((100, 100), (150, 100)))).drawing
    assert len(once) == 2
    assert same_bytes(once, run(once).drawing)
