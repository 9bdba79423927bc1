"""The fewest strokes that draw everything once, and among those the smoothest."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st
from night_artwork import AMBER, artwork, blobs, box, lines_of, ring, run, stroke, tidied
from references import drawn_twice_mm, fewest_by_networkx, times_passed


def test_a_stroke_goes_straight_on_through_a_crossing() -> None:
    drawing = tidied(
        *(stroke((x, 10), (x, 90)) for x in (30, 50, 70)), *(stroke((10, y), (90, y)) for y in (30, 50, 70))
    )
    assert len(drawing) == 6
    for line in lines_of(drawing):
        assert len({x for x, _ in line}) == 1 or len({y for _, y in line}) == 1


def test_the_house_with_a_cross_is_drawn_in_one_go() -> None:
    """The pastime: a square, its diagonals and a roof have two odd corners, so one stroke will do."""
    square = [(20, 20), (60, 20), (60, 60), (20, 60)]
    lines = [(a, b) for index, a in enumerate(square) for b in square[index + 1 :]]
    lines += [((20, 60), (40, 90)), ((40, 90), (60, 60))]
    assert len(tidied(*(stroke(*line) for line in lines))) == 1


def test_rings_that_cross_become_one_stroke() -> None:
    chain = [stroke(*ring(40 + 25 * step, 60, 20), width=0.2) for step in range(4)]
    drawing = tidied(*chain)
    assert len(drawing) == 1
    assert drawing.part_closed().all()


def test_rings_that_do_not_touch_stay_apart() -> None:
    assert len(tidied(*(stroke(*ring(40 + 50 * step, 60, 20)) for step in range(3)))) == 3


def test_a_figure_of_eight_with_a_tail_is_one_stroke() -> None:
    loops = [stroke(*ring(40, 60, 20), width=0.2), stroke(*ring(80, 60, 20), width=0.2)]
    assert len(tidied(*loops, stroke((60, 60), (60, 100), width=0.2), same=0.0)) == 1


def test_a_ring_with_a_stem_at_any_of_its_points_is_one_stroke() -> None:
    petal = ring(60, 60, 20)
    for point in (0, 5, 20, 40):
        x, y = petal[point].round(4)
        drawing = tidied(stroke(*petal, width=0.2), stroke((x, y), (x + 60, y + 45), width=0.2), cover=False)
        assert len(drawing) == fewest_by_networkx(drawing)


def test_each_marker_has_strokes_of_its_own() -> None:
    drawing = tidied(stroke((10, 10), (50, 10)), stroke((50, 10), (90, 10), colour=AMBER))
    assert drawing.marker.tolist() == ["outline", "accent"]
    assert drawing.stroke_width.tolist() == [0.7, 0.5]


def test_every_junction_lifts_where_that_is_asked() -> None:
    shapes = (stroke((10, 50), (90, 50)), stroke((50, 10), (50, 90)))
    assert len(tidied(*shapes)) == 2
    assert len(tidied(*shapes, fewest=False)) == 4


@pytest.mark.parametrize("seed", range(6))
def test_petals_take_as_few_strokes_as_euler_allows(seed: int) -> None:
    """Outside check: networkx counts the odd nodes of what was drawn, noded by shapely."""
    drawing = run(artwork(*blobs(80, seed))).drawing
    assert len(drawing) == fewest_by_networkx(drawing)
    assert drawn_twice_mm(drawing) < 1e-3 * drawing.drawn_mm


@effort(max_examples=25, deadline=None)
@given(
    st.lists(
        st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=2, max_size=6, unique=True),
        min_size=1,
        max_size=14,
    )
)
def test_random_networks_take_the_fewest_strokes_and_nothing_twice(paths: list[list[tuple[int, int]]]) -> None:
    """Outside check: networkx on random planar networks; every segment is passed once."""
    shapes = [stroke(*(np.array(path) * 8.0 + 20)) for path in paths]
    drawing = run(artwork(*shapes), cover=False).drawing
    assert len(drawing) == fewest_by_networkx(drawing)
    assert set(times_passed(drawing).values()) == {1}


def test_a_busy_node_is_paired_straight_through() -> None:
    rays = [stroke((50, 50), (50 + 40 * np.cos(turn), 50 + 40 * np.sin(turn))) for turn in np.arange(12) * np.pi / 6]
    drawing = tidied(*rays, cover=False)
    assert len(drawing) == 6
    for line in lines_of(drawing):
        assert np.allclose((np.array(line[0]) + np.array(line[-1])) / 2, [50, 50], atol=1e-3)


def test_a_grid_beneath_a_petal_is_still_the_fewest() -> None:
    grid = [stroke((10 + 8 * n, 10), (10 + 8 * n, 106)) for n in range(13)]
    grid += [stroke((10, 10 + 8 * n), (106, 10 + 8 * n)) for n in range(13)]
    drawing = tidied(*grid, box(33, 33, 71, 71))
    assert len(drawing) == fewest_by_networkx(drawing)
