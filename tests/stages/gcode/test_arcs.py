"""Arcs found again: within the tolerance, never across a corner, fewer moves than straight ones."""

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import integrate

from underdraw_stages.gcode.arcs.arc_fit import CORNER_TURN, Fitted, fit

TOLERANCE = 0.02


def arc_points(fitted: Fitted, count: int = 400) -> list[np.ndarray]:
    """Every move as dense points, worked out from two ends and the bend by the circle's own equation."""
    moves = []
    for first, last, bend in zip(fitted.first, fitted.last, fitted.bend, strict=True):
        a, b = fitted.places[first], fitted.places[last]
        if bend == 0:
            moves.append(np.linspace(a, b, count))
            continue
        half, along = np.hypot(*(b - a)) / 2, (b - a) / np.hypot(*(b - a))
        left, height = np.array([-along[1], along[0]]), -1 / (2 * bend)
        radius = np.hypot(half, height)
        turn = np.arcsin(min(1.0, half / radius)) * np.linspace(-1, 1, count)
        side = np.sign(bend)
        moves.append(
            (a + b) / 2 + left * height + radius * (np.outer(np.sin(turn), along) + np.outer(np.cos(turn) * side, left))
        )
    return moves


def farthest(points: np.ndarray, fitted: Fitted) -> float:
    """The farthest that a move lies from the polyline, or the polyline from the moves."""
    drawn = np.vstack(arc_points(fitted))
    line, made = shapely.LineString(points), shapely.LineString(drawn)
    dense = shapely.get_coordinates(shapely.segmentize(line, 0.5))
    return float(
        max(shapely.distance(line, shapely.points(drawn)).max(), shapely.distance(made, shapely.points(dense)).max())
    )


def one(points: np.ndarray, tolerance: float = TOLERANCE, arcs: bool = True) -> Fitted:
    return fit(points, np.array([0, len(points)]), tolerance, arcs)


def test_a_circle_is_two_or_three_arcs_of_its_radius() -> None:
    turn = np.linspace(0, 2 * np.pi, 159)
    points = np.stack([50 * np.cos(turn), 50 * np.sin(turn)], axis=1)
    fitted = one(points)
    assert 2 <= len(fitted.first) <= 3
    half = np.hypot(*(fitted.places[fitted.last] - fitted.places[fitted.first]).T) / 2
    radius = np.hypot(half, 1 / (2 * fitted.bend))
    assert radius == pytest.approx(50, abs=TOLERANCE)
    assert (fitted.bend < 0).all()  # counter-clockwise


def test_a_square_is_four_straight_moves() -> None:
    points = np.array([(0, 0), (30, 0), (30, 30), (0, 30), (0, 0)], dtype=float)
    fitted = one(points)
    assert fitted.first.tolist() == [0, 1, 2, 3]
    assert (fitted.bend == 0).all()


def test_a_straight_line_in_many_pieces_is_one_move() -> None:
    points = np.stack([np.linspace(0, 90, 51), np.linspace(0, 40, 51)], axis=1)
    fitted = one(points)
    assert fitted.last.tolist() == [50]
    assert fitted.bend.tolist() == [0]


@pytest.mark.slow
@given(st.integers(0, 2**31), st.sampled_from([0.005, 0.02, 0.1]), st.booleans())
@example(3628800, 0.02, True)
@settings(max_examples=15, deadline=None)
def test_no_move_strays_farther_than_the_tolerance(seed: int, tolerance: float, arcs: bool) -> None:
    rng = np.random.default_rng(seed)
    turns = np.cumsum(rng.normal(0, rng.choice([0.02, 0.2, 1.0]), 120)) + np.where(
        rng.random(120) < 0.05, rng.uniform(-3, 3, 120), 0
    )
    steps = rng.exponential(rng.choice([0.05, 0.5, 5.0]), 120)[:, None]
    points = np.cumsum(steps * np.stack([np.cos(turns), np.sin(turns)], axis=1), axis=0)
    fitted = one(points, tolerance, arcs)
    assert fitted.first[0] == 0
    assert fitted.last[-1] == len(points) - 1
    assert (fitted.last[:-1] == fitted.first[1:]).all()
    assert farthest(points, fitted) <= tolerance + 1e-6
    if not arcs:
        assert (fitted.bend == 0).all()


@given(st.integers(0, 2**31))
@settings(max_examples=40, deadline=None)
def test_no_move_runs_across_a_corner(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(0, 0.05, (80, 2)), axis=0)  # steps so short that a corner would hide in the tolerance
    fitted = one(points, 0.5)
    heading = np.arctan2(*np.diff(points, axis=0).T[::-1])
    turn = np.abs((np.diff(heading) + np.pi) % (2 * np.pi) - np.pi)
    corners = set((np.flatnonzero(turn > CORNER_TURN) + 1).tolist())
    inside = set(itertools.chain.from_iterable(range(a + 1, b) for a, b in zip(fitted.first, fitted.last, strict=True)))
    assert not corners & inside


def test_two_curves_that_meet_at_a_right_angle_stay_two() -> None:
    turn = np.linspace(0, np.pi / 2, 40)
    one_way = np.stack([20 * np.sin(turn), 20 * np.cos(turn)], axis=1)
    back = np.stack([40 - 20 * np.cos(turn), 20 * np.sin(turn)], axis=1)
    fitted = one(np.vstack([one_way, back[1:]]))
    assert 39 in fitted.last.tolist()


def test_equal_points_and_lone_points_do_no_harm() -> None:
    points = np.array([(0, 0), (0, 0), (5, 5), (5, 5), (9, 9), (9, 9), (2, 2), (2, 2)], dtype=float)
    fitted = fit(points, np.array([0, 4, 6, 8]), TOLERANCE)
    assert fitted.bounds.tolist() == [0, 1, 1, 1]
    assert fit(np.empty((0, 2)), np.array([0]), TOLERANCE).bounds.tolist() == [0]


def test_a_long_stroke_costs_hardly_more_moves_for_being_cut_to_be_worked_on() -> None:
    turn = np.linspace(0, 40 * np.pi, 20_000)
    points = np.stack([(5 + turn) * np.cos(turn), (5 + turn) * np.sin(turn)], axis=1)
    whole = one(points)
    straight = one(points, arcs=False)
    assert len(whole.first) < 0.05 * len(straight.first)


def test_a_bezier_keeps_its_length_to_the_tolerance() -> None:
    a, b, c, d = np.array([(0, 0), (60, 120), (-40, 90), (80, 10)], dtype=float)

    def speed(t: float) -> float:
        return float(np.hypot(*(3 * (1 - t) ** 2 * (b - a) + 6 * (1 - t) * t * (c - b) + 3 * t**2 * (d - c))))

    exact = integrate.quad(speed, 0, 1, epsabs=1e-9)[0]
    t = np.linspace(0, 1, 400)[:, None]
    points = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    fitted = one(points)
    length = sum(np.hypot(*np.diff(move, axis=0).T).sum() for move in arc_points(fitted))
    assert length == pytest.approx(exact, rel=2e-4)
    assert len(fitted.first) <= 0.2 * len(one(points, arcs=False).first) + 5
