"""What is trimmed to a box is what lies in it: lengths by shapely, fills by either rule, and no line along a cut."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw.drawing.drawing import NO_MARKER
from underdraw.drawing.trimming import trim
from underdraw.drawing.trimming.cut_lines import trim_lines
from underdraw.job.sections import Job

BOX = (20.0, 20.0, 80.0, 80.0)
CROSS = [(0.0, 20.0, 100.0, 80.0), (20.0, 0.0, 80.0, 100.0)]


def scribbles(seed: int, count: int = 40, closed: bool = False) -> list[NDArray[np.float64]]:
    rng = np.random.default_rng(seed)
    lines = [
        rng.uniform(0, 100, 2) + np.cumsum(rng.normal(0, 9, (rng.integers(3, 20), 2)), axis=0) for _ in range(count)
    ]
    return [np.vstack([line, line[:1]]) for line in lines] if closed else lines


def drawing(shapes: list[list[NDArray[np.float64]]], **looks: object) -> Drawing:
    return Drawing.build(shapes, (100.0, 100.0), Job(), **{"marker": "outline", **looks})


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 2**31), boxes=st.sampled_from([[BOX], CROSS]), closed=st.booleans())
def test_trimmed_lines_are_as_long_as_shapely_says(
    seed: int, boxes: list[tuple[float, float, float, float]], closed: bool
) -> None:
    made = drawing([[line] for line in scribbles(seed, closed=closed)], stroke="#000000")
    region = shapely.union_all([shapely.box(*box) for box in boxes])
    due = shapely.length(shapely.intersection(made.shape_lines(), region))
    cut = trim(made, boxes)
    assert cut.drawing.drawn_mm == pytest.approx(due.sum(), abs=0.01)
    assert made.shape_lengths() - cut.lost == pytest.approx(due, abs=2e-3)
    assert shapely.covers(region.buffer(1e-4), cut.drawing.shape_lines()).all()


def test_a_cut_line_ends_exactly_on_the_edge() -> None:
    cut = trim(drawing([[np.array([(50.0, 50.0), (93.3, 61.7)])]], stroke="#000000"), [BOX])
    assert cut.drawing.coords[-1, 0] == 80.0


def test_a_ring_that_is_cut_does_not_break_where_it_happened_to_begin() -> None:
    ring = np.array([(60.0, 50.0), (90.0, 60.0), (60.0, 70.0), (50.0, 60.0), (60.0, 50.0)])
    cut = trim_lines(ring, np.array([0, 5]), [BOX])
    assert len(cut) == 1
    assert tuple(ring[0]) in set(map(tuple, cut.coords[1:-1]))


def test_a_line_from_one_box_into_the_next_stays_one() -> None:
    line = np.array([(5.0, 50.0), (50.0, 50.0), (50.0, 5.0)])
    cut = trim_lines(line, np.array([0, 3]), CROSS)
    assert len(cut) == 1 and (cut.coords == line).all()


def test_a_line_across_a_blank_corner_is_two() -> None:
    cut = trim_lines(np.array([(0.0, 30.0), (30.0, 0.0)]), np.array([0, 2]), CROSS)
    assert cut.coords.tolist() == [[0, 30], [10, 20], [20, 10], [30, 0]]
    assert len(cut) == 2


def test_a_dot_inside_stays_and_one_outside_goes() -> None:
    dots = drawing([[np.array([(50.0, 50.0)])], [np.array([(5.0, 5.0), (5.0, 5.0)])]], stroke="#000000")
    assert trim(dots, [BOX]).drawing.coords.tolist() == [[50, 50]]


def test_a_dot_that_belongs_to_a_fill_does_not_stay_behind_outside() -> None:
    square = np.array([(30.0, 30.0), (40.0, 30.0), (40.0, 40.0), (30.0, 30.0)])
    shape = [square, np.array([(5.0, 5.0)])]
    cut = trim(drawing([shape], fill="#88aa44"), [BOX]).drawing
    assert cut.bounds == (30, 30, 40, 40)


def winding(rings: list[NDArray[np.float64]], points: NDArray[np.float64]) -> NDArray[np.int64]:
    """How often rings go round points, by summed angles: another way than the one under test."""
    total = np.zeros(len(points))
    for ring in rings:
        ring = ring if (ring[0] == ring[-1]).all() else np.vstack([ring, ring[:1]])
        arms = ring[None] - points[:, None]
        turn = np.arctan2(arms[..., 1], arms[..., 0])
        step = np.diff(turn, axis=1)
        total += ((step + np.pi) % (2 * np.pi) - np.pi).sum(axis=1)
    return np.round(total / (2 * np.pi)).astype(np.int64)


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**31), boxes=st.sampled_from([[BOX], CROSS]), evenodd=st.booleans())
def test_a_trimmed_fill_covers_what_the_fill_covered_there(
    seed: int, boxes: list[tuple[float, float, float, float]], evenodd: bool
) -> None:
    shapes = [scribbles(seed + number, count=2) for number in range(6)]
    made = drawing(shapes, fill="#88aa44", evenodd=evenodd)
    cut = trim(made, boxes).drawing
    points = np.random.default_rng(seed).uniform(0, 100, (300, 2))
    region = shapely.union_all([shapely.box(*box) for box in boxes])
    inside = shapely.contains_xy(region, points[:, 0], points[:, 1])

    def covered(some: Drawing) -> NDArray[np.bool_]:
        found = np.zeros(len(points), dtype=np.bool_)
        for row in np.flatnonzero(some.fill != ""):
            rings = [some.part_coords(part) for part in range(some.shapes[row], some.shapes[row + 1])]
            times = winding(rings, points)
            found |= times % 2 == 1 if evenodd else times != 0
        return found

    assert (covered(cut) == (covered(made) & inside)).mean() > 0.995  # a point on an outline may round either way


def test_a_cut_fill_hides_and_its_outline_is_drawn_without_the_cut() -> None:
    square = np.array([(60.0, 40.0), (90.0, 40.0), (90.0, 70.0), (60.0, 70.0), (60.0, 40.0)])
    cut = trim(drawing([[square]], fill="#88aa44"), [BOX]).drawing
    assert cut.fill.tolist() == ["#88aa44", ""]
    assert cut.marker.tolist() == [NO_MARKER, "outline"]
    assert cut.stroke.tolist() == ["", "#88aa44"]
    assert cut.shape_lengths()[1] == pytest.approx(20 + 30 + 20)
    assert not (cut.part_coords(1)[1:-1] == 80.0).any()


def test_what_is_left_of_an_outline_keeps_its_stroke_and_a_bare_fill_has_a_hairline_of_its_colour() -> None:
    """An open outline stays open; that of a fill without stroke is closed, as the fill is."""
    leaf = np.array([(50.0, 30.0), (95.0, 30.0), (95.0, 70.0), (50.0, 70.0)])
    made = drawing(
        [[leaf], [leaf]], fill="#3d6f63", stroke=["#1b1b3a", ""], stroke_width=[2.0, 0.0], fill_opacity=[1.0, 0.5]
    )
    cut = trim(made, [BOX]).drawing
    outline = cut.fill == ""  # the edge that closes the first leaf, its stroke, and the second leaf's edge
    tip = Job().markers[0].tip
    assert cut.stroke[outline].tolist() == ["#3d6f63", "#1b1b3a", "#3d6f63"]
    assert cut.stroke_width[outline].tolist() == [tip, 2.0, tip]
    assert cut.stroke_opacity[outline].tolist() == [1.0, 1.0, 0.5]
    assert cut.cut_edge[outline].tolist() == [True, False, True]
    assert cut.shape_lengths()[outline] == pytest.approx([40.0, 60.0, 100.0])
    again = trim(cut, [(20.0, 20.0, 60.0, 60.0)]).drawing  # and cut once more, as wrapped sides are
    assert again.shape_lengths()[again.fill == ""] == pytest.approx([30.0, 10.0, 40.0])
    under = drawing([[leaf]], fill="#3d6f63", stroke="#1b1b3a", stroke_width=41.0)  # the stroke's own ends cover it
    assert len(trim(under, [BOX]).drawing) == 2


def test_a_fill_whose_edge_lies_on_the_box_is_not_outlined_there() -> None:
    page = np.array([(20.0, 20.0), (80.0, 20.0), (80.0, 50.0), (20.0, 50.0), (20.0, 20.0)])
    cut = trim(drawing([[page]], fill="#88aa44"), [BOX])
    assert cut.lost.sum() == 0
    assert cut.drawing.shape_lengths()[1] == pytest.approx(60)


def test_a_stroke_on_the_edge_is_meant_and_stays() -> None:
    frame = np.array([(20.0, 20.0), (80.0, 20.0), (80.0, 80.0), (20.0, 80.0), (20.0, 20.0)])
    cut = trim(drawing([[frame]], fill="#88aa44", stroke="#000000"), [BOX])
    assert cut.drawing.drawn_mm == pytest.approx(240)


def test_what_is_all_inside_is_handed_back_as_it_was() -> None:
    made = drawing([[np.array([(30.0, 30.0), (70.0, 70.0)])]], stroke="#000000")
    assert trim(made, [BOX]).drawing is made
