"""How near the shortest possible travel `order` comes: published tours, and an independent solver's."""

from itertools import pairwise

import elkai
import numpy as np
import pytest
from numpy.typing import NDArray
from strokes_of import AS_FAR_AS_TIME, BOARD, Listener, garden, lines_of, moths
from tsplib import CITIES, OPTIMA

from underdraw_stages.order import OrderSettings, stage
from underdraw_stages.order.stage import order

FORCED = 10**6  # added to every travel, so that a solver that knows no strokes never leaves one undrawn


def rounded(points: NDArray[np.float64]) -> NDArray[np.int64]:
    """(n, n) whole-number distances, as TSPLIB rounds them."""
    far = np.hypot(*(points[:, None] - points[None, :]).transpose(2, 0, 1))
    return np.floor(far + 0.5).astype(np.int64)


def tour_length(name: str) -> int:
    """Rounded length of the tour that `order` finds through the cities, the first of them its park position."""
    cities = np.array(CITIES[name], dtype=np.float64)
    height = float(cities[:, 1].max())
    board = cities * (1, -1) + (0, height)  # y down, from the board's top
    drawing = garden(
        [[city] for city in board[1:]],
        sheet=(float(cities[:, 0].max()), height),
        park=tuple(cities[0]),
        acceleration=AS_FAR_AS_TIME,
    )
    drawn = order(drawing, OrderSettings(), Listener()).drawing
    tour = np.concatenate([board[:1], [line[0] for line in lines_of(drawn)]])
    assert sorted(map(tuple, tour)) == sorted(map(tuple, board))
    hops = np.hypot(*(tour - np.roll(tour, 1, axis=0)).T)
    return int(np.floor(hops + 0.5).sum())


@pytest.mark.parametrize("name", CITIES)
def test_the_cities_are_the_published_ones(name: str) -> None:
    # An independent solver (LKH, by elkai) reaches the published optimum on them, no less and no more.
    far = rounded(np.array(CITIES[name], dtype=np.float64))
    tour = elkai.DistanceMatrix(far.tolist()).solve_tsp(runs=10)
    assert far[tour[:-1], tour[1:]].sum() == OPTIMA[name]


def test_strokes_of_no_length_are_toured_within_a_hundredth_of_the_published_best() -> None:
    # TSPLIB 95 (Reinelt 1991): eil51 426, berlin52 7542, st70 675, kroA100 21282.
    over = {name: tour_length(name) / OPTIMA[name] - 1 for name in CITIES}
    print("\n" + "\n".join(f"{name:9} best {OPTIMA[name]:6}  over by {share:.2%}" for name, share in over.items()))
    assert min(over.values()) >= 0
    assert max(over.values()) <= 0.02
    assert np.mean(list(over.values())) <= 0.01


def solved(lines: list[NDArray[np.float64]], park: tuple[float, float]) -> float:
    """mm of the travel that an independent solver finds, strokes being edges that it must use."""
    points = np.round(np.concatenate([*lines, [park, park]]), 4)
    far = np.rint(100 * np.hypot(*(points[:, None] - points[None, :]).transpose(2, 0, 1))).astype(np.int64) + FORCED
    ends = np.arange(0, len(points), 2)
    far[ends, ends + 1] = far[ends + 1, ends] = 0
    np.fill_diagonal(far, 0)
    tour = elkai.DistanceMatrix(far.tolist()).solve_tsp(runs=1)
    hops = [(a, b) for a, b in pairwise(tour) if a // 2 != b // 2]
    assert len(hops) == len(points) // 2
    return float(sum(np.hypot(*(points[a] - points[b])) for a, b in hops))


def over_the_solvers(counts: list[int], as_it_stands: bool, monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Travel as `order` has it over that of an independent solver (LKH, by elkai), an instance a count of strokes."""
    monkeypatch.setattr(stage, "has_compiler", lambda: not as_it_stands)
    ratios = []
    for seed, count in enumerate(counts):
        lines = moths(count, seed)
        found = order(garden(lines, acceleration=AS_FAR_AS_TIME), OrderSettings(), Listener()).figures["travel_mm"]
        ratios.append(found / solved(lines, (0.0, BOARD[1])))
    print("\n" + "\n".join(f"{count:4} strokes: {ratio:.4f}" for count, ratio in zip(counts, ratios, strict=True)))
    print(f"mean {np.mean(ratios):.4f}")
    return ratios


def test_travel_of_a_few_dozen_strokes_is_within_a_hundredth_of_an_independent_solvers(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ratios = over_the_solvers([20, 40, 60, 80, 100], True, monkeypatch)
    assert np.mean(ratios) <= 1.01
    assert max(ratios) <= 1.03


@pytest.mark.slow
def test_travel_is_within_a_fiftieth_of_an_independent_solvers(monkeypatch: pytest.MonkeyPatch) -> None:
    # The same order comes out as it stands: test_kernels.
    counts = np.geomspace(50, 500, 20).round().astype(int).tolist()
    assert np.mean(over_the_solvers(counts, False, monkeypatch)) <= 1.02
