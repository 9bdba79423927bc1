"""Small sets of an odd number of ends: as travel joins ends in pairs, at least one travel must leave each of them.

Such a set is where an odd number of strokes meet, or any nearest few ends (Edmonds, 'Maximum matching and a polyhedron
with 0,1-vertices', 1965; Padberg and Rao, 'Odd minimum cut-sets and b-matchings', 1982).
"""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.groups import Groups

TOUCH_MM = 1e-3  # ends nearer than that are one place
LEVELS = 3  # sets within sets within sets


def odd_sets(
    is_end: NDArray[np.bool_], one: NDArray[np.int64], two: NDArray[np.int64], mm: NDArray[np.float64]
) -> NDArray[np.int64]:
    """(LEVELS, nodes) which set each node is in, from 0; -1: none. Sets of one level do not overlap, and each of a
    higher level holds one of the level below.

    is_end: (nodes,) ends of open strokes, which are joined once; closed strokes are joined twice and do not count.
    one, two, mm: (e,) near pairs of nodes and their distances. Near nodes grow together, the nearest first, and a
    group that is odd and has three ends or more becomes a set, one level above the highest that it holds.
    """
    groups = Groups(len(is_end))
    members: list[list[int]] = [[node] for node in range(len(is_end))]
    ends = is_end.astype(int).tolist()
    holds = [0] * len(is_end)
    set_of_node = np.full((LEVELS, len(is_end)), -1, dtype=np.int64)
    sets = 0

    def settle(name: int) -> None:
        nonlocal sets
        if holds[name] < LEVELS and ends[name] >= 3 and ends[name] % 2:
            set_of_node[holds[name], members[name]] = sets
            holds[name] += 1
            sets += 1

    order = np.argsort(mm, kind="stable")
    touching = int((mm <= TOUCH_MM).sum())
    pairs = list(zip(one[order].tolist(), two[order].tolist(), strict=True))
    for count, (a, b) in enumerate(pairs):
        if count == touching:
            for name in np.unique(groups.names()).tolist():
                settle(name)
        first, second = groups.name(a), groups.name(b)
        if first == second:
            continue
        if len(members[first]) < len(members[second]):
            first, second = second, first
        groups.join(first, second)
        members[first] += members[second]
        ends[first] += ends[second]
        holds[first] = max(holds[first], holds[second])
        if count >= touching:
            settle(first)
    return set_of_node
