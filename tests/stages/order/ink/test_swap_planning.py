"""A marker is swapped before it fades, between strokes, where it costs least."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from strokes_of import Listener, flowers, garden, lines_of, moths, unturned

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import MarkerSection
from underdraw.machine.travel import travel_legs
from underdraw.plugins.parts import Result
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.ink.long_strokes import split_line
from underdraw_stages.order.ink.swap_planning import swap_at_best
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds
from underdraw_stages.order.stage import order

QUICK = OrderSettings(seconds=0.0)  # the first tour: what loads owe does not hang on how good the order is


def ordered(drawing: Drawing, settings: OrderSettings = QUICK) -> Result:
    return order(drawing, settings, Listener())


def drawn_once(before: Drawing, after: Drawing) -> bool:
    """Whether the same line is drawn, all of it and none of it twice, marker by marker."""
    for name in set(before.marker.tolist()):
        was, now = (drawing.select(drawing.marker == name) for drawing in (before, after))
        lines = (shapely.union_all(drawing.shape_lines()) for drawing in (was, now))
        if abs(was.drawn_mm - now.drawn_mm) > 1e-2 or shapely.hausdorff_distance(*lines) > 1e-3:
            return False
    return True


@pytest.mark.parametrize("seed", range(30))
def test_no_load_is_more_than_its_marker_holds_and_no_stroke_is_lost_or_drawn_twice(seed: int) -> None:
    random = np.random.default_rng(seed)
    lines = [*moths(random.integers(5, 60), seed), *flowers(random.integers(0, 20), seed, radius=40.0)]
    lines = [line for line in lines if len(line) > 1]
    sections = [
        MarkerSection(name="vine", ink_length=float(random.uniform(150, 2000))),
        MarkerSection(name="moth", ink_length=float(random.uniform(150, 2000)) if seed % 3 else None),
    ]
    names = random.choice(np.array(["vine", "moth"], dtype=object), len(lines))
    before = garden(lines, names, sections)
    result = ordered(before)
    after, lengths = result.drawing, result.drawing.shape_lengths()
    assert drawn_once(before, after)
    for section in sections:
        here = after.marker == section.name
        loads = after.load[here]
        assert (np.diff(loads) >= 0).all()
        assert sorted(set(loads.tolist())) == list(range(1, loads.max(initial=0) + 1))
        if section.ink_length is not None:
            drawn = np.bincount(loads, weights=lengths[here])
            assert drawn.max(initial=0.0) <= 0.9 * section.ink_length + 1e-6
        else:
            assert loads.max(initial=1) == 1
    assert result.figures["loads"] == len(result.figures["ink"])
    assert sum(entry["strokes"] for entry in result.figures["ink"]) == len(after)


def test_what_is_left_in_each_marker_is_told() -> None:
    row = [[(10.0 * k, 0.0), (10.0 * k, 50.0)] for k in range(10)]
    result = ordered(garden(row, markers=[MarkerSection(name="outline", ink_length=250.0)], sheet=(100.0, 60.0)))
    assert [entry["drawn_mm"] for entry in result.figures["ink"]] == [200.0, 200.0, 100.0]
    assert [entry["left_mm"] for entry in result.figures["ink"]] == [50.0, 50.0, 150.0]
    assert "3 markers" in result.summary
    assert "50 mm, 50 mm, 150 mm" in result.summary


def test_without_an_ink_length_there_is_one_load_and_a_word_on_measuring_it() -> None:
    result = ordered(garden(moths(5, 1)))
    assert result.figures["loads"] == 1
    assert "ink_length" in result.summary
    assert "fades" in result.summary


def test_a_swap_falls_where_the_marker_passes_by_park() -> None:
    # A way out and back with park in its middle: six strokes of 10 mm, of which a load holds four. As few loads as may
    # be is two; four and two, three and three, two and four all will do, but after three the marker is at park.
    ends = np.array([[[-40, 1], [-30, 1]], [[-25, 1], [-15, 1]], [[-10, 1], [0, 1]], [[0, 0], [10, 0]]], dtype=float)
    ends = np.concatenate([ends, [[[15, 0], [25, 0]], [[30, 0], [40, 0]]]])
    strokes = StrokeEnds(ends[:, 0], ends[:, 1], np.zeros(7, np.int64), np.empty((0, 2)))
    loads = swap_at_best(strokes, Plan.as_drawn(np.arange(6)), np.full(6, 10.0), 40.0, np.array([0.0, 0.5]))
    assert loads.numbers(6).tolist() == [1, 1, 1, 2, 2, 2]


def brute_force_swaps(
    straight: list[float], by_park: list[float], lengths: list[float], most: float
) -> tuple[int, float]:
    """(loads, mm) of the best choice of swaps, trying all."""
    best = (len(lengths) + 1, np.inf)
    for mask in range(1 << (len(lengths) - 1)):
        swaps = [k for k in range(len(lengths) - 1) if mask >> k & 1]
        bounds = [0, *(k + 1 for k in swaps), len(lengths)]
        if all(sum(lengths[a:b]) <= most for a, b in pairwise(bounds)):
            best = min(best, (len(swaps) + 1, sum(by_park[k] - straight[k] for k in swaps)))
    return best


@pytest.mark.parametrize("seed", range(10))
def test_swaps_are_the_best_of_all_choices(seed: int) -> None:
    random = np.random.default_rng(seed)
    first, last = random.uniform(0, 100, (2, 9, 2))
    lengths, most, park = np.round(random.uniform(5, 30, 9), 4), 60.0, np.array([50.0, 50.0])
    strokes = StrokeEnds(first, last, np.zeros(10, np.int64), np.empty((0, 2)))
    numbers = swap_at_best(strokes, Plan.as_drawn(np.arange(9)), lengths, most, park).numbers(9)
    swaps = np.flatnonzero(np.diff(numbers))
    straight = np.hypot(*(first[1:] - last[:-1]).T)
    by_park = np.hypot(*(last[:-1] - park).T) + np.hypot(*(first[1:] - park).T)
    count, least = brute_force_swaps(straight.tolist(), by_park.tolist(), lengths.tolist(), most)
    assert len(swaps) + 1 == count
    assert (by_park - straight)[swaps].sum() == pytest.approx(least)


def length(line: NDArray[np.float64]) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def test_a_stroke_longer_than_a_load_is_split_at_its_sharpest_corner() -> None:
    # Bends of 45 and of 90 degrees: the square one is where an end shows least.
    line = np.array([(0.0, 0.0), (40.0, 0.0), (60.0, 20.0), (40.0, 40.0)])
    first, second = split_line(line, 90.0)
    assert first.tolist() == line[:3].tolist()
    assert second.tolist() == line[2:].tolist()


def test_a_corner_near_an_end_is_passed_over() -> None:
    """A load of a few millimetres would be a swap for nothing; the less sharp corner in the middle is taken."""
    line = np.array([(0.0, 0.0), (0.0, 2.0), (100.0, 2.0), (170.0, 72.0), (170.0, 74.0)])
    for way in (line, line[::-1]):
        first, _ = split_line(way, 150.0)
        assert first[-1].tolist() == [100.0, 2.0]


def test_of_corners_as_sharp_as_one_another_the_one_nearest_the_middle_is_taken() -> None:
    steps = np.array([(30.0, 0.0), (0.0, 30.0), (30.0, 0.0), (0.0, 30.0), (30.0, 0.0)])
    stairs = np.vstack([[(0.0, 0.0)], np.cumsum(steps, axis=0)])  # square corners at 30, 60, 90 and 120 of 150 mm
    first, _ = split_line(stairs[:-1], 119.0)  # of 120 mm: the middle one
    assert first.tolist() == stairs[:3].tolist()


def test_a_smooth_or_straight_stroke_is_split_in_pieces_that_a_load_holds() -> None:
    angles = np.linspace(0, np.pi, 200)
    for line in (np.array([(0.0, 0.0), (1000.0, 0.0)]), 300 * np.column_stack([np.cos(angles), np.sin(angles)])):
        pieces = split_line(line, 130.0)
        assert all(length(piece) <= 130.0 for piece in pieces)
        assert sum(map(length, pieces)) == pytest.approx(length(line))
        assert all((a[-1] == b[0]).all() for a, b in pairwise(pieces))
        assert len(pieces) <= 16


def test_a_closed_stroke_that_is_too_long_begins_at_its_sharpest_corner() -> None:
    ring = np.array([(0.0, 0.0), (60.0, 0.0), (80.0, 30.0), (60.0, 60.0), (0.0, 60.0), (0.0, 0.0)])
    pieces = split_line(ring, 200.0)
    corners = {tuple(ring[k]) for k in (0, 4)}
    assert {tuple(piece[0]) for piece in pieces} <= corners
    assert sum(map(length, pieces)) == pytest.approx(length(ring))


def test_splitting_is_said() -> None:
    long = [(0.0, 0.0), (500.0, 0.0), (500.0, 500.0)]
    before = garden([long, *moths(4, 3)], markers=[MarkerSection(name="outline", ink_length=700.0)])
    result = ordered(before)
    assert "at its sharpest corner" in result.summary
    assert drawn_once(before, result.drawing)
    assert len(result.drawing) == len(before) + 1


def test_loads_are_kept_in_the_artworks_order_with_keep() -> None:
    before = garden(moths(30, 4), markers=[MarkerSection(name="outline", ink_length=800.0)])
    result = order(before, OrderSettings(keep=True), Listener())
    assert list(map(unturned, lines_of(result.drawing))) == list(map(unturned, lines_of(before)))
    assert result.figures["loads"] > 1


def test_travel_goes_to_park_at_every_swap() -> None:
    before = garden(moths(30, 4), markers=[MarkerSection(name="outline", ink_length=800.0)])
    result = ordered(before)
    legs, swaps = travel_legs(result.drawing)
    assert len(swaps) == result.figures["loads"]
    assert result.figures["travel_mm"] == pytest.approx(legs.length, abs=1e-3)
