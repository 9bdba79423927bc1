"""Doubled lines once: shared borders, exact overlaps, lines nearer than a marker could show."""

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st
from night_artwork import AMBER, artwork, box, fill, lines_of, ring, run, stroke, tidied
from references import all_lines, drawn_twice_mm, farthest

from underdraw_stages.tidy.strokes import doubled


def test_a_border_that_two_petals_share_is_drawn_once() -> None:
    result = run(artwork(box(10, 10, 50, 50), box(50, 10, 90, 50)))
    assert result.drawing.drawn_mm == pytest.approx(320 - 40)
    assert drawn_twice_mm(result.drawing) == 0


def test_a_border_with_points_at_different_places_is_drawn_once() -> None:
    left = fill((10, 10), (50, 10), (50, 23.3333), (50, 50), (10, 50))
    right = fill((50, 50), (50, 37.1234), (50, 10), (90, 10), (90, 50))
    drawing = tidied({**left, "fill_opacity": 0.5}, {**right, "fill_opacity": 0.5})
    assert drawing.drawn_mm == pytest.approx(280)
    assert drawn_twice_mm(drawing) == pytest.approx(0, abs=1e-6)


def test_a_line_drawn_three_times_is_drawn_once_and_the_saving_told() -> None:
    line = ((10, 10), (60, 40), (90, 20))
    result = run(artwork(stroke(*line), stroke(*line[::-1]), stroke(*line)), cover=False)
    length = np.hypot(50, 30) + np.hypot(30, 20)
    assert len(result.drawing) == 1
    assert result.drawing.drawn_mm == pytest.approx(length, abs=1e-3)
    assert result.figures["doubled_mm"] == pytest.approx(2 * length, abs=1e-3)


def test_a_short_exact_overlap_goes_even_where_nothing_near_may_go() -> None:
    drawing = tidied(stroke((10, 10), (20, 10)), stroke((19, 10), (30, 10)), cover=False, same=0.0)
    assert lines_of(drawing) == [[(10, 10), (30, 10)]]


def test_lines_nearer_than_same_become_one() -> None:
    drawing = tidied(stroke((10, 10), (90, 10)), stroke((20, 10.15), (70, 10.15)), cover=False)
    assert drawing.drawn_mm == pytest.approx(80, abs=0.5)


def test_lines_farther_apart_than_same_stay_two() -> None:
    shapes = (stroke((10, 10), (90, 10)), stroke((20, 10.25), (70, 10.25)))
    assert tidied(*shapes, cover=False).drawn_mm == pytest.approx(130)
    assert tidied(*shapes, cover=False, same=0.3).drawn_mm == pytest.approx(80, abs=0.7)


def test_lines_side_by_side_for_less_than_three_tips_stay_two() -> None:
    """Tip 0.7 mm: 2.0 mm side by side stay, 2.3 mm go."""
    long_line = stroke((10, 10), (90, 10))
    for length, kept in ((2.0, True), (2.3, False)):
        drawing = tidied(long_line, stroke((40, 10.1), (40 + length, 10.1)), cover=False, join=0.0)
        assert (drawing.drawn_mm > 80 + length / 2) is kept


def test_a_line_that_runs_up_to_another_stops_where_they_become_one() -> None:
    drawing = tidied(stroke((10, 10), (90, 10)), stroke((30, 40), (40, 10.1), (80, 10.1), (90, 40)), cover=False)
    assert drawing.drawn_mm == pytest.approx(80 + 2 * np.hypot(10, 29.9), abs=1.5)
    nodes = [point for line in lines_of(drawing) for point in line]
    assert len(nodes) > len(set(nodes)), "the cut ends must meet the line that stays"


def test_a_line_that_comes_back_beside_itself_is_drawn_once() -> None:
    drawing = tidied(stroke((10, 10), (60, 10), (60, 10.12), (10, 10.12)), cover=False)
    assert drawing.drawn_mm == pytest.approx(50, abs=1.5)


def test_a_third_line_is_not_lost_for_a_neighbour_that_is_lost_itself() -> None:
    """0.0, 0.15 and 0.3 mm: the middle one goes; the outer two are 0.3 mm apart and both stay."""
    drawing = tidied(*(stroke((10, 10 + y), (90 - 10 * y, 10 + y)) for y in (0, 0.15, 0.3)), cover=False)
    assert drawing.drawn_mm == pytest.approx(80 + 77, abs=1.0)


def test_a_crossing_is_no_double() -> None:
    drawing = tidied(stroke((10, 10), (90, 30)), stroke((10, 30), (90, 10)), cover=False)
    assert drawing.drawn_mm == pytest.approx(2 * np.hypot(80, 20))


def test_each_marker_draws_its_own_line() -> None:
    line = ((10, 10), (90, 10))
    drawing = tidied(stroke(*line), stroke(*line, colour=AMBER), cover=False)
    assert drawing.drawn_mm == pytest.approx(160)
    assert set(drawing.marker) == {"outline", "accent"}


@effort(max_examples=10, deadline=None)
@given(
    st.lists(
        st.tuples(*(st.integers(10, 90) for _ in range(4))).filter(lambda four: four[:2] != four[2:]),
        min_size=2,
        max_size=12,
    ),
    st.floats(0.0, 0.19),
)
def test_nothing_is_moved_or_lost_by_more_than_same(ends: list[tuple[int, int, int, int]], aside: float) -> None:
    """Outside check: distances by shapely, and the length of the union against the sum."""
    shapes = [stroke((x0, y0), (x1, y1)) for x0, y0, x1, y1 in ends]
    shapes += [stroke((x0 + aside, y0), (x1 + aside, y1)) for x0, y0, x1, y1 in ends[::2]]
    drawing = artwork(*shapes)
    result = run(drawing, cover=False, join=0.0, shortest=0.0)
    before, after = all_lines(drawing), all_lines(result.drawing)
    assert farthest(before, after) < 0.21
    assert farthest(after, before) < 0.11  # halfway along a cut end's way to the line that stays
    assert drawn_twice_mm(result.drawing) <= 0.001 * result.drawing.drawn_mm


def test_rings_drawn_twice_with_a_little_slip_become_one_ring() -> None:
    drawing = tidied(stroke(*ring(50, 50, 30)), stroke(*ring(50.1, 50, 30)), cover=False)
    assert drawing.drawn_mm == pytest.approx(2 * np.pi * 30, rel=0.02)


def test_runs_that_could_only_go_for_each_others_sake_stay_and_are_looked_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A tendril that bends back on itself across another, so that each run beside a line is long enough by two only."""
    other = [(35.3391, 45.9076), (35.4151, 46.3805), (35.423, 46.43), (35.4235, 46.4327), (35.4566, 46.6388)]
    other += [(35.774, 47.5328), (35.9534, 47.8439), (36.1375, 48.1632), (36.2479, 48.3546), (36.3086, 48.426)]
    tendril = [(35.0783, 47.2811), (35.1772, 47.1005), (35.3666, 46.5271), (35.401, 46.423), (35.4151, 46.3805)]
    tendril += [(35.5354, 46.0162), (35.6227, 46.1019), (35.4248, 46.4305), (35.4235, 46.4327), (35.3666, 46.5271)]
    tendril += [(35.2802, 46.6706), (35.0783, 47.2065)]
    looked, one_pass = [], doubled._one_pass

    def counted(*given: Any) -> Any:
        looked.append(one_pass(*given))
        return looked[-1]

    monkeypatch.setattr(doubled, "_one_pass", counted)
    lines = np.array([shapely.LineString(tendril), shapely.LineString(other)])
    left, gone = doubled.without_doubles(lines, 0.2, 2.1)
    assert (len(left), len(gone), len(looked)) == (2, 0, 1)
