"""Which chain goes on into which at every junction, so that the marker turns as little as can be."""

from functools import cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw_stages.tidy.strokes.network import Network

EXACT_DEGREE = 6  # at busier nodes pairs are taken one by one, the straightest first
NONE = -1  # no partner: a stroke ends here
Matching = list[tuple[int, int]]


class Pairing:
    """The partner of every chain end. End `2 * chain + side` is a chain's first (side 0) or last (1) point."""

    def __init__(self, network: Network, look: float) -> None:
        """`look`: mm from a node at which a chain's direction there is taken."""
        self.network = network
        self.node = network.ends.reshape(-1)
        self.partner = np.full(len(self.node), NONE, dtype=np.int64)
        self.heading = _headings(network, look)

    def turn(self, a: Any, b: Any) -> Any:
        """Radians that the marker turns by, coming in along end a and leaving along end b; 0 is straight on."""
        between = np.abs(self.heading[a] - self.heading[b]) % (2 * np.pi)
        return np.abs(np.pi - np.minimum(between, 2 * np.pi - between))

    def join(self, a: Any, b: Any) -> None:
        """Pair ends (one each, or arrays)."""
        self.partner[a], self.partner[b] = b, a

    def close_rings(self) -> None:
        """Pair only the two ends of each free ring."""
        ring = np.flatnonzero(self.network.free_rings)
        self.join(2 * ring, 2 * ring + 1)

    def pair_smoothly(self) -> None:
        """At each node, the pairs that turn least in all; at an odd node one end is left."""
        by_node = np.argsort(self.node, kind="stable")
        first = offsets(self.network.degree)
        for degree in np.unique(self.network.degree).tolist():
            at = np.flatnonzero(self.network.degree == degree)
            ends = by_node[first[at][:, None] + np.arange(degree)]
            if 2 <= degree <= EXACT_DEGREE:
                self._pair_exactly(ends)
            elif degree > EXACT_DEGREE:
                self._pair_greedily(ends)

    def _pair_exactly(self, ends: NDArray[np.int64]) -> None:
        choices = matchings(ends.shape[1])
        cost = np.zeros((len(choices), len(ends)))
        for choice, pairs in enumerate(choices):
            for a, b in pairs:
                cost[choice] += self.turn(ends[:, a], ends[:, b])
        best = cost.argmin(axis=0)
        for choice, pairs in enumerate(choices):
            chosen = ends[best == choice]
            for a, b in pairs:
                self.join(chosen[:, a], chosen[:, b])

    def _pair_greedily(self, ends: NDArray[np.int64]) -> None:
        a, b = np.triu_indices(ends.shape[1], 1)
        for row in ends:
            turn = self.turn(row[a], row[b])
            for index in np.lexsort((b, a, turn)):
                one, other = row[a[index]], row[b[index]]
                if self.partner[one] == NONE and self.partner[other] == NONE:
                    self.join(one, other)

    def walks(self) -> list[tuple[list[int], bool]]:
        """Every stroke: the ends at which it enters its chains, in drawing order; and whether it is closed."""
        partner = self.partner.tolist()
        seen = [False] * len(self.network)
        starts = [(end, False) for end in np.flatnonzero(self.partner == NONE).tolist()]
        walks = []
        for start, closed in starts + [(end, True) for end in range(0, len(partner), 2)]:
            if seen[start // 2]:
                continue
            walk, end = [], start
            while end != NONE and not seen[end // 2]:
                walk.append(end)
                seen[end // 2] = True
                end = partner[end ^ 1]
            walks.append((walk, closed))
        return walks


def _headings(network: Network, look: float) -> NDArray[np.float64]:
    """(2 e,) the angle in which each chain end leaves its node, radians."""
    reach = np.minimum(look, network.lengths / 2)
    inner = [shapely.get_coordinates(shapely.line_interpolate_point(network.chains, at)) for at in (reach, -reach)]
    away = np.stack(inner, axis=1) - network.at[network.ends]
    return np.arctan2(away[..., 1], away[..., 0]).reshape(-1)


@cache
def matchings(degree: int) -> list[Matching]:
    """Every way to pair `degree` ends, one left over where it is odd.

    >>> matchings(3)
    [[(1, 2)], [(0, 2)], [(0, 1)]]
    """

    def pairs(ends: tuple[int, ...]) -> list[Matching]:
        if len(ends) < 2:
            return [[]]
        first, rest = ends[0], ends[1:]
        return [
            [(first, other), *more]
            for position, other in enumerate(rest)
            for more in pairs(rest[:position] + rest[position + 1 :])
        ]

    everyone = tuple(range(degree))
    if degree % 2 == 0:
        return pairs(everyone)
    return [matching for left in everyone for matching in pairs(everyone[:left] + everyone[left + 1 :])]
