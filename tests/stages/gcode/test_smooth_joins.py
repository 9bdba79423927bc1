"""Arcs join without a turn where the drawing is smooth: angles worked out by numpy from the program read back."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from underdraw import Drawing, Result
from underdraw.program import Report
from underdraw_stages.gcode.arcs.arc_fit import fit
from underdraw_stages.gcode.arcs.smooth_joins import MOVES_FOR_ONE_MORE, corners
from underdraw_stages.gcode.arcs.tangent_arcs import tridiagonal_solve

TOLERANCE = 0.02
STEEP, SLIGHT = np.radians(0.5), np.radians(0.1)


def joins(report: Report) -> tuple[np.ndarray, np.ndarray]:
    """(j,) radians that the way turns by where one drawn move meets the next, and (j, 2) mm where that is."""
    moves = report.drawn.moves
    rows = np.flatnonzero(moves.drawing)
    start, end, kind = moves.start[rows, :2], moves.end[rows, :2], moves.kind[rows]
    chord = end - start
    side = np.where(kind == 2, -1.0, np.where(kind == 3, 1.0, 0.0))  # G2 clockwise, G3 not (NISTIR 6556, 3.5.3)

    def heading(radius: np.ndarray) -> np.ndarray:
        along = np.where((side == 0)[:, None], chord, np.stack([-radius[:, 1], radius[:, 0]], axis=1) * side[:, None])
        return np.asarray(np.arctan2(along[:, 1], along[:, 0]))

    leaving, arriving = heading(start - moves.centre[rows]), heading(end - moves.centre[rows])
    meet = (np.diff(rows) == 1) & (start[1:] == end[:-1]).all(axis=1)
    turn = np.abs((leaving[1:] - arriving[:-1] + np.pi) % (2 * np.pi) - np.pi)
    return turn[meet], end[:-1][meet]


def ellipse(a: float, b: float, x: float, y: float, points: int = 240) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, points)
    line = np.stack([x + a * np.cos(turn), y + b * np.sin(turn)], axis=1)
    line[-1] = line[0]
    return line


def spiral() -> np.ndarray:
    turn = np.linspace(0, 5 * np.pi, 500)
    return np.stack([100 + (3 + 2 * turn) * np.cos(turn), 120 + (3 + 2 * turn) * np.sin(turn)], axis=1)


def wave() -> np.ndarray:
    x = np.linspace(10, 190, 600)
    return np.stack([x, 120 + 15 * np.sin(x / 9) + x / 20], axis=1)


def most_moves(before: int) -> int:
    """What a smooth curve may take that took so many before: wide arcs are halved besides."""
    return before + 2 + before // MOVES_FOR_ONE_MORE


CURVES = {"ellipse": ellipse(60, 25, 100, 120), "spiral": spiral(), "wave": wave()}
LEAST = {"ellipse": 0.6, "spiral": 0.95, "wave": 0.2}  # share of joins; a wave's curvature turns round and round


@pytest.mark.slow
@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_most_joins_of_a_smooth_curve_are_tangent_in_the_program(
    name: str,
    units: str,
    garden: Callable[..., Drawing],
    write: Callable[..., Result],
    read_back: Callable[..., Report],
) -> None:
    drawing = garden([CURVES[name]])
    report = read_back(write(drawing, units=units).files[0].data, drawing)
    assert not report.problems
    turn, _ = joins(report)
    assert len(turn) >= 3
    assert (turn < SLIGHT).mean() > LEAST[name]
    assert turn.max() < np.radians(6)
    before = fit(drawing.coords * (1, -1), drawing.parts, TOLERANCE - 0.001, smooth=False)
    assert len(turn) + 1 <= most_moves(len(before.first))


def test_without_smoothing_joins_of_the_same_curves_turn() -> None:
    """So the test above can fail: half of the joins of the longest arcs turn by more."""
    for curve in CURVES.values():
        fitted = fit(curve, np.array([0, len(curve)]), TOLERANCE, smooth=False)
        chord = curve[fitted.last] - curve[fitted.first]
        angle, half = np.arctan2(chord[:, 1], chord[:, 0]), np.hypot(*chord.T) / 2
        turn = (
            np.diff(angle + np.arctan(2 * half * fitted.bend))
            + 2 * np.diff(np.append(0, np.cumsum(-np.arctan(2 * half * fitted.bend))))[:-1]
        )
        turn = np.abs((turn + np.pi) % (2 * np.pi) - np.pi)
        assert (turn > np.radians(0.1)).mean() > 0.5


def test_corners_stay_where_they_are(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    """Two quarter circles that meet at a right angle, and a kink of 12 degrees between long straight lines."""
    turn = np.linspace(0, np.pi / 2, 40)
    cusp = np.vstack(
        [
            np.stack([20 + 20 * np.sin(turn), 60 + 20 * np.cos(turn)], axis=1),
            np.stack([60 - 20 * np.cos(turn), 60 + 20 * np.sin(turn)], axis=1)[1:],
        ]
    )
    kink = np.array([(20, 150), (60, 150), (60 + 40 * np.cos(0.21), 150 + 40 * np.sin(0.21))])
    drawing = garden([cusp, kink])
    report = read_back(write(drawing).files[0].data, drawing)
    turned, where = joins(report)
    height = drawing.sheet[1]
    for corner, angle in (((40, 60), np.pi), ((60, 150), 0.21)):
        at = np.hypot(*(where - (corner[0], height - corner[1])).T).argmin()
        assert where[at] == pytest.approx((corner[0], height - corner[1]), abs=1e-4)
        assert turned[at] == pytest.approx(angle, abs=0.03)


def test_a_curve_cut_into_chords_has_no_corner_and_a_kink_in_it_is_one() -> None:
    smooth = ellipse(60, 25, 100, 120)
    assert not corners(smooth, np.radians(30)).any()
    kinked = np.vstack([smooth[:60], smooth[59] + (smooth[60:] - smooth[59]) @ _turned(8)])
    assert np.flatnonzero(corners(kinked, np.radians(30))).tolist() == [59]


def _turned(degrees: float) -> Any:
    angle = np.radians(degrees)
    return np.array([(np.cos(angle), np.sin(angle)), (-np.sin(angle), np.cos(angle))])


@pytest.mark.slow
def test_many_random_curves_stay_within_the_tolerance_with_tangent_joins() -> None:
    rng = np.random.default_rng(17)
    turned, moves, before = [], 0, 0
    for _ in range(40):
        t = np.linspace(0, 1, 300)[:, None]
        a, b, c, d = rng.uniform(0, 150, (4, 1, 2))
        curve = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
        fitted = fit(curve, np.array([0, len(curve)]), TOLERANCE)
        moves += len(fitted.first)
        before += len(fit(curve, np.array([0, len(curve)]), TOLERANCE, smooth=False).first)
        chord = fitted.places[fitted.last] - fitted.places[fitted.first]
        half = np.hypot(*chord.T) / 2
        turn = -np.arctan(2 * half * fitted.bend)
        angle = np.arctan2(chord[:, 1], chord[:, 0])
        met = ((angle - turn)[1:] - (angle + turn)[:-1] + np.pi) % (2 * np.pi) - np.pi
        turned += np.abs(met)[~corners(curve, np.radians(30))[fitted.first[1:]]].tolist()
    assert np.mean(np.array(turned) < STEEP) > 0.8
    assert moves <= 1.25 * before  # short curves; in whole drawings it is a tenth


@pytest.mark.parametrize("joins", [1, 2, 3, 4, 5, 8, 17, 100])
def test_a_row_of_joins_is_solved_as_numpys_linear_algebra_solves_it(joins: int) -> None:
    rng = np.random.default_rng(joins)
    factor = rng.normal(size=(joins, 2, 2))
    diagonal = factor @ np.swapaxes(factor, 1, 2) + 8 * np.eye(2)
    across, vector = rng.normal(size=(joins, 2, 2)), rng.normal(size=(joins, 2))
    across[joins // 2] = 0.0  # one chain ends here, another one begins
    dense = np.zeros((2 * joins, 2 * joins))
    for at in range(joins):
        here, there = slice(2 * at, 2 * at + 2), slice(2 * at + 2, 2 * at + 4)
        dense[here, here] = diagonal[at]
        if at + 1 < joins:
            dense[here, there], dense[there, here] = across[at], across[at].T
    expected = np.linalg.solve(dense, vector.ravel()).reshape(joins, 2)
    assert tridiagonal_solve(diagonal, across, vector) == pytest.approx(expected, abs=1e-12)
