"""Which ends lie near which; all of shapely's distances, sorted, are the yardstick."""

from typing import Any

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from strokes_of import flowers, garden, moths

from underdraw_stages.order.search.neighbours import Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import StrokeEnds


def on_a_lattice(count: int) -> list[NDArray[np.float64]]:
    """Short strokes on a lattice, so that most of them have neighbours at equal distances."""
    at = np.stack(np.meshgrid(np.arange(count), np.arange(count)), axis=-1).reshape(-1, 1, 2) * 10.0
    return list(np.concatenate([at, at + np.array([4.0, 0.0])], axis=1))


def far_and_near() -> list[NDArray[np.float64]]:
    """Strokes in a small heap, and a few far from it and from one another."""
    return [line / 1000 for line in moths(60, 7)] + [line * 50 for line in moths(12, 8)]


def in_one_place(count: int) -> list[NDArray[np.float64]]:
    """Strokes, most of which begin at one point, and marks of no length upon it."""
    rng = np.random.default_rng(count)
    fan = [50.0 + np.stack([np.zeros(2), rng.uniform(1, 9, 2)]) for _ in range(count)]
    return [*fan, *(np.full((2, 2), 50.0) for _ in range(count)), *moths(9, 4)]


GARDENS = {
    "moths and flowers": [*moths(40, 1), *flowers(30, 2)],
    "on a lattice": on_a_lattice(9),
    "fewer than a list": moths(3, 5),
    "rings alone": flowers(4, 6),
    "far and near": far_and_near(),
    "in one place": in_one_place(40),
}


@pytest.mark.parametrize("lines", GARDENS.values(), ids=GARDENS)
def test_the_nearest_are_those_of_a_stable_sort_of_all_distances(lines: list[NDArray[np.float64]]) -> None:
    nodes = Nodes.of(StrokeEnds.of(garden(lines)))
    points = [shapely.MultiPoint(nodes.points[nodes.node == node]) for node in range(len(nodes.stroke))]
    far = shapely.distance(np.array(points)[:, None], np.array(points)[None, :])
    far[nodes.stroke[:, None] == nodes.stroke[None, :]] = np.inf
    far = np.where(np.isinf(far), np.inf, np.round(far, 9))
    found = near_nodes(nodes, 8)
    near, near_mm = found.near, found.mm
    expected = np.sort(far, axis=1)[:, :8]
    expected = np.pad(expected, ((0, 0), (0, 8 - expected.shape[1])), constant_values=np.inf)
    assert near_mm == pytest.approx(expected)
    assert (near[np.isinf(near_mm)] == -1).all()
    there = near >= 0
    row = np.broadcast_to(np.arange(len(near))[:, None], near.shape)
    assert far[row[there], near[there]] == pytest.approx(near_mm[there])  # each stands beside its own distance
    equal = near_mm[:, 1:] == near_mm[:, :-1]
    assert (np.diff(near, axis=1)[equal & there[:, 1:]] > 0).all()  # of equal ones the first


def test_strokes_in_another_order_have_the_same_neighbours() -> None:
    strokes = StrokeEnds.of(garden([*moths(60, 3), *flowers(20, 4)]))
    order = np.random.default_rng(5).permutation(len(strokes))
    before, after = Nodes.of(strokes), Nodes.of(strokes.subset(order))
    found, again = near_nodes(before, 8).renumbered(order, after), near_nodes(after, 8)
    assert np.array_equal(found.near, again.near)
    assert found.mm == pytest.approx(again.mm)


def test_of_many_in_one_place_few_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    pairs = 0

    class Counting(shapely.STRtree):
        def query(self, *args: Any, **named: Any) -> Any:
            nonlocal pairs
            found = super().query(*args, **named)
            pairs += found.shape[1]
            return found

    monkeypatch.setattr(shapely, "STRtree", Counting)
    nodes = Nodes.of(StrokeEnds.of(garden([np.full((2, 2), 50.0)] * 10_000)))
    found = near_nodes(nodes, 8)
    assert (found.mm == 0).all() and found.near[0].tolist() == [1, 2, 3, 4, 5, 6, 7, 8]
    assert pairs <= 10 * 10_000
