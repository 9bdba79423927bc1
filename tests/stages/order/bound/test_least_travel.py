"""The bound never exceeds any travel: checked against every order there is, and against the best that is found."""

from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from strokes_of import AS_FAR_AS_TIME, Listener, flowers, garden, moths

from underdraw.machine.travel import park_point
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.bound.least_travel import least_travel
from underdraw_stages.order.bound.odd_sets import odd_sets
from underdraw_stages.order.compiled.kernels import compiled, interpreted
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds
from underdraw_stages.order.stage import how_good, order

PARK = np.array([0.0, 100.0])


def ways(line: NDArray[np.float64]) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Where a stroke may be begun, and where it then ends."""
    if len(line) > 2 and (line[0] == line[-1]).all():
        return [(point, point) for point in line[:-1]]
    return [(line[0], line[-1]), (line[-1], line[0])]


def least_of_all_orders(lines: list[NDArray[np.float64]]) -> float:
    """mm of the shortest travel, by trying every order, direction and entry point (by rows of a table of layers)."""
    best = np.inf
    for sequence in permutations(range(len(lines))):
        spent = {(0, tuple(PARK)): 0.0}
        for stroke in sequence:
            reached: dict[tuple[int, tuple[float, ...]], float] = {}
            for into, out in ways(lines[stroke]):
                here = min(far + np.hypot(*(into - np.array(at))) for (_, at), far in spent.items())
                key = (stroke, tuple(out))
                reached[key] = min(here, reached.get(key, np.inf))
            spent = reached
        best = min(best, *(far + np.hypot(*(PARK - np.array(at))) for (_, at), far in spent.items()))
    return float(best)


def bound_of(lines: list[NDArray[np.float64]]) -> float:
    drawing = garden(lines, sheet=(100.0, 100.0))
    assert (park_point(drawing) == PARK).all()
    return least_travel(StrokeEnds.of(drawing), PARK, Plan.as_drawn(np.arange(len(lines))), interpreted())


POINTS = st.tuples(st.integers(0, 100), st.integers(0, 100)).map(lambda pair: np.array(pair, dtype=np.float64))
OPEN = st.tuples(POINTS, POINTS).map(np.array)
CLOSED = st.lists(POINTS, min_size=3, max_size=5).map(lambda ring: np.array([*ring, ring[0]]))
LINES = st.lists(st.one_of(OPEN, CLOSED), min_size=1, max_size=5)


@given(LINES)
@settings(max_examples=60, deadline=None)
def test_the_bound_is_no_more_than_the_best_of_all_orders(lines: list[NDArray[np.float64]]) -> None:
    assert bound_of(lines) <= least_of_all_orders(lines) + 1e-6


@pytest.mark.slow
@given(LINES)
@settings(max_examples=40, deadline=None)
def test_the_order_is_the_best_of_all_orders_where_those_can_be_tried(lines: list[NDArray[np.float64]]) -> None:
    drawing = garden(lines, sheet=(100.0, 100.0), acceleration=AS_FAR_AS_TIME)
    found = order(drawing, OrderSettings(bound=True), Listener()).figures
    best = least_of_all_orders(lines)
    assert found["bound_mm"] <= best + 1e-3
    assert best - 1e-3 <= found["travel_mm"] <= best + 1e-3


def held_karp(lines: list[NDArray[np.float64]]) -> float:
    """mm of the shortest travel through up to a dozen open strokes, by dynamic programming over sets of strokes."""
    count = len(lines)
    into, out = np.array([line[[0, -1]] for line in lines]), np.array([line[[-1, 0]] for line in lines])
    spent = {(1 << k, k, turn): float(np.hypot(*(into[k, turn] - PARK))) for k in range(count) for turn in (0, 1)}
    for visited in range(1, 1 << count):
        for last, turn, k, way in product(range(count), (0, 1), range(count), (0, 1)):
            far = spent.get((visited, last, turn))
            if far is None or visited >> k & 1:
                continue
            key = (visited | 1 << k, k, way)
            here = far + float(np.hypot(*(into[k, way] - out[last, turn])))
            spent[key] = min(here, spent.get(key, np.inf))
    every = (1 << count) - 1
    return min(far + float(np.hypot(*(out[k, turn] - PARK))) for (v, k, turn), far in spent.items() if v == every)


@pytest.mark.parametrize("count", [6, 7, 8])
def test_for_eight_strokes_the_order_is_the_best_and_the_bound_below_it(count: int) -> None:
    for seed in range(3):
        lines = [np.round(line / 10, 4) for line in moths(count, seed)]
        drawing = garden(lines, sheet=(100.0, 100.0), acceleration=AS_FAR_AS_TIME)
        found, best = order(drawing, OrderSettings(bound=True), Listener()).figures, held_karp(lines)
        assert found["travel_mm"] == pytest.approx(best, abs=1e-2)
        assert found["bound_mm"] <= best + 1e-3
        assert found["bound_mm"] >= 0.8 * best


@pytest.mark.parametrize("seed", range(40))
def test_the_bound_holds_where_many_strokes_meet_at_few_places(seed: int) -> None:
    # Places where an odd number of strokes meet are what the bound counts on; so there are many here.
    random = np.random.default_rng(seed)
    places = random.uniform(0, 100, (5, 2)).round(4)
    lines = [places[random.choice(5, 2, replace=bool(seed % 2))] + random.integers(0, 2, (2, 1)) for _ in range(7)]
    assert bound_of(lines) <= held_karp(lines) + 1e-6


def test_odd_sets_are_odd_and_do_not_overlap_within_a_level() -> None:
    # Three ends at one place, two at another near by: the three are a set, and with the two they are five, another.
    at = np.array([0.0, 0.0, 0.0, 5.0, 5.0, 50.0])
    one, two = np.triu_indices(6, 1)
    sets = odd_sets(np.ones(6, dtype=np.bool_), one, two, np.abs(at[one] - at[two]))
    assert sets[0].tolist() == [0, 0, 0, -1, -1, -1]
    assert sets[1].tolist() == [1, 1, 1, 1, 1, -1]
    assert (sets[2] == -1).all()


@pytest.mark.slow
@pytest.mark.parametrize("count", [150, 600])
def test_the_bound_is_close_for_open_strokes(count: int) -> None:
    figures = order(garden(moths(count, 3), acceleration=AS_FAR_AS_TIME), OrderSettings(bound=True), Listener()).figures
    print(f"\n{count} strokes: travel {figures['travel_mm']:.0f} mm, bound {figures['bound_mm']:.0f} mm")
    assert 0.95 * figures["travel_mm"] <= figures["bound_mm"] <= figures["travel_mm"]


def test_the_bound_is_the_same_compiled_or_not() -> None:
    drawing = garden([*moths(30, 5), *flowers(25, 6, points=24)])
    strokes, plan = StrokeEnds.of(drawing), Plan.as_drawn(np.arange(55))
    park = park_point(drawing)
    slow, quick = (least_travel(strokes, park, plan, kernels) for kernels in (interpreted(), compiled()))
    assert slow == pytest.approx(quick, rel=1e-9)


def test_more_than_two_thousand_strokes_get_no_bound() -> None:
    figures = order(garden(moths(2001, 7, long=5.0)), OrderSettings(seconds=0.0, bound=True), Listener()).figures
    assert "bound_mm" not in figures


def test_travel_a_rounding_below_its_bound_is_told_as_none_above_it() -> None:
    assert how_good({"travel_mm": 100.0 - 1e-9, "bound_mm": 100.0}) == ", at most 0 % above the least possible"
