"""Things joined two by two into groups: which group is each in?

A forest of parents whose roots name the groups (Galler and Fischer, 'An improved equivalence algorithm', 1964), its
paths shortened by halving (van Leeuwen and van der Weide 1977).
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray


class Groups:
    """Groups of the numbers from 0 to count - 1, each alone to begin with; any member's number may name its group.

    >>> groups = Groups(4)
    >>> groups.join(2, 0), groups.join(0, 3)
    (2, 2)
    >>> groups.names().tolist()
    [2, 1, 2, 2]
    """

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))

    def name(self, item: int) -> int:
        """The member that names an item's group."""
        parent = self._parent
        while parent[item] != item:
            parent[item] = parent[parent[item]]
            item = parent[item]
        return item

    def join(self, one: int, other: int) -> int:
        """Put the groups of two items together; both have the first one's name from now on, which is returned."""
        name = self.name(one)
        self._parent[self.name(other)] = name
        return name

    def names(self) -> NDArray[np.int64]:
        """(count,) the name of each item's group."""
        return roots(self._parent)


def roots(parent: ArrayLike) -> NDArray[np.int64]:
    """(n,) the root of each of (n,) items of a forest; a root is its own parent.

    >>> roots([0, 0, 1, 3]).tolist()
    [0, 0, 0, 3]
    """
    root = np.array(parent, dtype=np.int64)
    while (root[root] != root).any():
        root = root[root]
    return root


def connected(count: int, one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.int64]:
    """(count,) the lowest number of what each item is connected with, by (k,) pairs; for many pairs at once.

    >>> connected(5, np.array([3, 1]), np.array([1, 4])).tolist()
    [0, 1, 2, 1, 1]
    """
    lowest = np.arange(count)
    while True:  # every item takes the lowest number that it meets, until none meets a lower one
        before, low = lowest, np.minimum(lowest[one], lowest[other])
        lowest = lowest.copy()
        np.minimum.at(lowest, before[one], low)
        np.minimum.at(lowest, before[other], low)
        lowest = roots(lowest)
        if (lowest == before).all():
            return lowest
