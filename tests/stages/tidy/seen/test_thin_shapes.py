"""Thin shapes as lines: an expanded stroke goes back to the middle that it was expanded from."""

import numpy as np
import pytest
import shapely
from night_artwork import artwork, box, fill, painted, ring, run, tidied
from references import all_lines

TENDRIL = shapely.LineString(np.stack([np.linspace(10, 90, 120), 50 + 15 * np.sin(np.linspace(0, 9, 120))], axis=1))


def expanded(line: shapely.LineString, width: float, cap: str) -> dict[str, object]:
    area = line.buffer(width / 2, cap_style=cap)
    return painted(*(ring.coords for ring in (area.exterior, *area.interiors)), fill="#333333", evenodd=True)


@pytest.mark.parametrize("cap", ("round", "flat"))
def test_an_expanded_tendril_is_drawn_along_its_middle(cap: str) -> None:
    """Outside check: the line that shapely expanded, and the Hausdorff distance to it."""
    drawing = tidied(expanded(TENDRIL, 0.8, cap), centre=1.0)
    assert len(drawing) == 1
    assert (
        shapely.hausdorff_distance(shapely.segmentize(all_lines(drawing), 0.05), shapely.segmentize(TENDRIL, 0.05))
        < 0.06
    )
    assert drawing.drawn_mm == pytest.approx(TENDRIL.length, rel=0.005)


def test_an_expanded_ring_is_drawn_along_its_middle() -> None:
    circle = shapely.LineString(ring(50, 50, 20))
    drawing = tidied(expanded(circle, 0.8, "round"), centre=1.0)
    assert len(drawing) == 1
    assert drawing.part_closed().all()
    assert shapely.hausdorff_distance(all_lines(drawing), circle) < 0.06


def test_both_edges_are_drawn_where_it_is_not_asked_for() -> None:
    drawing = tidied(expanded(TENDRIL, 0.8, "round"))
    assert drawing.drawn_mm == pytest.approx(2 * TENDRIL.length, rel=0.05)


@pytest.mark.parametrize("shape", (box(10, 10, 60, 11.2), box(10, 10, 11.8, 10.9)), ids=("broad", "short"))
def test_a_shape_that_is_not_thin_or_not_long_keeps_its_edge(shape: dict[str, object]) -> None:
    drawing = tidied(shape, centre=1.0)
    assert drawing.part_closed().all()


def test_a_fork_keeps_its_three_arms() -> None:
    arms = [
        shapely.LineString([(50, 50), (50 + 30 * np.cos(turn), 50 + 30 * np.sin(turn))]) for turn in (0.3, 2.4, 4.5)
    ]
    area = shapely.union_all([arm.buffer(0.4) for arm in arms])
    drawing = tidied(painted(area.exterior.coords, fill="#333333"), centre=1.0)
    assert drawing.drawn_mm == pytest.approx(90, abs=1.0)
    assert len(drawing) == 2


def test_a_fleck_becomes_a_dot() -> None:
    result = run(artwork(fill(*ring(50, 50, 0.4, 24)[:-1]), box(60, 60, 90, 90)), centre=1.0)
    drawing = result.drawing
    assert drawing.part_coords(1).round(3).tolist() == [[50, 50], [50, 50]]
    assert "1 thin shape drawn as its middle" in result.summary


def test_a_line_beneath_a_thin_shape_goes_on_to_its_middle() -> None:
    beneath = painted([(20, 20), (20, 50.2)], stroke="#1b1b3a", stroke_width=0.5)
    drawing = tidied(beneath, box(10, 49.6, 90, 50.4), centre=1.0, join=0.0, shortest=0.0)
    assert shapely.union_all(all_lines(drawing)).length == pytest.approx(80 + 30, abs=0.05)


@pytest.mark.slow
def test_a_long_slanted_sliver_becomes_one_line() -> None:
    """Thousands of points on one straight line took the diagram minutes."""
    drawing = tidied(fill((10, 10), (45, 45), (44.95, 45.05)), centre=2.0)
    assert len(drawing) == 1
    assert drawing.drawn_mm == pytest.approx(35 * 2**0.5, abs=1.0)
