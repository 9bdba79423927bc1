"""Which ends lie near which, by all distances at once and by the tree; shapely's distances are the yardstick."""

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from strokes_of import flowers, garden, moths

from underdraw_stages.order.compiled.kernels import interpreted
from underdraw_stages.order.search import neighbours
from underdraw_stages.order.search.neighbours import Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import StrokeEnds


def on_a_lattice(count: int) -> list[NDArray[np.float64]]:
    """Short strokes on a lattice, so that most of them have neighbours at equal distances."""
    at = np.stack(np.meshgrid(np.arange(count), np.arange(count)), axis=-1).reshape(-1, 1, 2) * 10.0
    return list(np.concatenate([at, at + np.array([4.0, 0.0])], axis=1))


@pytest.mark.parametrize("lines", [[*moths(40, 1), *flowers(30, 2)], on_a_lattice(9), moths(3, 5), flowers(4, 6)])
def test_the_nearest_are_those_of_a_stable_sort_of_all_distances(lines: list[NDArray[np.float64]]) -> None:
    nodes = Nodes.of(StrokeEnds.of(garden(lines)))
    points = [shapely.MultiPoint(nodes.points[nodes.node == node]) for node in range(len(nodes.stroke))]
    far = shapely.distance(np.array(points)[:, None], np.array(points)[None, :])
    far[nodes.stroke[:, None] == nodes.stroke[None, :]] = np.inf
    far = np.where(np.isinf(far), np.inf, np.round(far, 9))
    near, near_mm = near_nodes(nodes, 8, interpreted())
    expected = np.sort(far, axis=1)[:, :8]
    expected = np.pad(expected, ((0, 0), (0, 8 - expected.shape[1])), constant_values=np.inf)
    assert near_mm == pytest.approx(expected)
    assert (near[np.isinf(near_mm)] == -1).all()
    there = near >= 0
    row = np.broadcast_to(np.arange(len(near))[:, None], near.shape)
    assert far[row[there], near[there]] == pytest.approx(near_mm[there])  # each stands beside its own distance
    equal = near_mm[:, 1:] == near_mm[:, :-1]
    assert (np.diff(near, axis=1)[equal & there[:, 1:]] > 0).all()  # of equal ones the first


def test_the_tree_finds_them_as_well(monkeypatch: pytest.MonkeyPatch) -> None:
    nodes = Nodes.of(StrokeEnds.of(garden([*moths(60, 3), *flowers(20, 4)])))
    _, at_once = near_nodes(nodes, 8, interpreted())
    monkeypatch.setattr(neighbours, "BRUTE", 0)
    _, by_tree = near_nodes(nodes, 8, interpreted())
    assert by_tree == pytest.approx(at_once)
