"""Groups of things that are joined two by two, against networkx, which finds connected parts by walking along them."""

import networkx
import numpy as np
import pytest

from underdraw.drawing.groups import Groups, connected, roots


def parts_by_walking(count: int, pairs: np.ndarray) -> set[frozenset[int]]:
    graph = networkx.Graph()
    graph.add_nodes_from(range(count))
    graph.add_edges_from(pairs.tolist())
    return {frozenset(part) for part in networkx.connected_components(graph)}


def parts_by_name(names: np.ndarray) -> set[frozenset[int]]:
    return {frozenset(np.flatnonzero(names == name).tolist()) for name in np.unique(names)}


@pytest.mark.parametrize("seed", range(6))
def test_pairs_make_the_parts_that_walking_along_them_finds(seed: int) -> None:
    random = np.random.default_rng(seed)
    count = 200
    pairs = random.integers(0, count, (int(random.integers(20, 200)), 2))
    groups = Groups(count)
    for one, other in pairs.tolist():
        name = groups.join(one, other)
        assert groups.name(one) == groups.name(other) == name
    wanted = parts_by_walking(count, pairs)
    assert parts_by_name(groups.names()) == wanted
    assert parts_by_name(connected(count, *pairs.T)) == wanted


def test_a_group_is_named_by_its_lowest_number_or_by_the_one_that_was_joined_to() -> None:
    pairs = np.array([[7, 3], [3, 5], [2, 6]])
    assert connected(8, *pairs.T).tolist() == [0, 1, 2, 3, 4, 3, 2, 3]
    groups = Groups(8)
    assert [groups.join(*pair) for pair in pairs.tolist()] == [7, 7, 2]


def test_a_long_row_of_joins_is_no_deep_way() -> None:
    count = 100_000
    row = np.arange(count)
    assert not connected(count, row[1:], row[:-1]).any()
    assert not roots(np.maximum(row - 1, 0)).any()


def test_nothing_joined_leaves_each_by_itself() -> None:
    none = np.empty(0, dtype=np.int64)
    assert connected(3, none, none).tolist() == Groups(3).names().tolist() == [0, 1, 2]
    assert connected(0, none, none).tolist() == Groups(0).names().tolist() == []
