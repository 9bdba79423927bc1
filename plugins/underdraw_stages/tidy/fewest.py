"""The fewest strokes that draw a network once, and among those the smoothest.

A connected network whose chains are each drawn once needs half its odd nodes of strokes, at least one (Euler 1736;
Listing 1847). At every node the chain ends are paired so that the marker turns as little as can be; closed strokes that
this leaves are then taken into others that they meet, where that bends the line least.
"""

import heapq
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.network import Network

EXACT_DEGREE = 6  # at busier nodes pairs are taken one by one, the straightest first
NONE = -1
Matching = list[tuple[int, int]]


def strokes(network: Network, look: float, fewest: bool) -> NDArray[Any]:
    """(k,) LineStrings that draw each chain once.

    look: mm from a node at which a chain's direction there is taken. fewest: False leaves every chain by itself.
    """
    if not len(network):
        return network.chains
    pairing = _Pairing(network, look)
    if fewest:
        pairing.pair_smoothly()
        pairing.take_in_closed()
    else:
        pairing.close_rings()
    return _drawn(network, pairing.walks())


@dataclass(eq=False)
class _Pairing:
    """Which chain end goes on into which. End `2 * chain + side` is a chain's first (0) or last (1) point."""

    network: Network
    look: float
    partner: list[int] = field(default_factory=list)
    heading: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        """Take the direction in which each end leaves its node."""
        self.partner = [NONE] * (2 * len(self.network))
        chains = self.network.chains
        reach = np.minimum(self.look, self.network.lengths / 2)
        inner = [shapely.line_interpolate_point(chains, reach), shapely.line_interpolate_point(chains, -reach)]
        node = self.network.at[self.network.ends]
        away = np.stack([shapely.get_coordinates(point) for point in inner], axis=1) - node
        self.heading = np.arctan2(away[..., 1], away[..., 0]).reshape(-1)

    def turn(self, a: NDArray[np.int64], b: NDArray[np.int64]) -> NDArray[np.float64]:
        """Radians that the marker turns by when it comes in along end a and leaves along end b; 0 is straight on."""
        between = np.abs(self.heading[a] - self.heading[b]) % (2 * np.pi)
        return np.abs(np.pi - np.minimum(between, 2 * np.pi - between))  # type: ignore[no-any-return]

    def turn_of(self, a: int, b: int) -> float:
        """`turn` of one pair."""
        return float(self.turn(np.array([a]), np.array([b]))[0])

    def join(self, a: int, b: int) -> None:
        """Pair two ends."""
        self.partner[a], self.partner[b] = b, a

    def close_rings(self) -> None:
        """Pair only the ends of free rings."""
        ends = self.network.ends
        ring = (ends[:, 0] == ends[:, 1]) & (self.network.degree[ends[:, 0]] == 2)
        for chain in np.flatnonzero(ring).tolist():
            self.join(2 * chain, 2 * chain + 1)

    def pair_smoothly(self) -> None:
        """At each node, the pairs that turn least in all; at an odd node one end is left."""
        node = self.network.ends.reshape(-1)
        by_node = np.argsort(node, kind="stable")
        first = np.concatenate([[0], np.cumsum(self.network.degree)])
        for degree in np.unique(self.network.degree).tolist():
            at = np.flatnonzero(self.network.degree == degree)
            if degree < 2:
                continue
            ends = by_node[first[at][:, None] + np.arange(degree)]
            if degree <= EXACT_DEGREE:
                self._pair_exactly(ends, degree)
            else:
                self._pair_greedily(ends)

    def _pair_exactly(self, ends: NDArray[np.int64], degree: int) -> None:
        choices = matchings(degree)
        cost = np.stack(
            [sum((self.turn(ends[:, a], ends[:, b]) for a, b in pairs), np.zeros(len(ends))) for pairs in choices]
        )
        best = cost.argmin(axis=0)
        for choice, pairs in enumerate(choices):
            chosen = ends[best == choice]
            for a, b in pairs:
                for one, other in zip(chosen[:, a].tolist(), chosen[:, b].tolist(), strict=True):
                    self.join(one, other)

    def _pair_greedily(self, ends: NDArray[np.int64]) -> None:
        for row in ends:
            a, b = np.triu_indices(len(row), 1)
            turn = self.turn(row[a], row[b])
            for place in np.lexsort((b, a, turn)).tolist():
                one, other = int(row[a[place]]), int(row[b[place]])
                if self.partner[one] == NONE and self.partner[other] == NONE:
                    self.join(one, other)

    def walks(self) -> list[tuple[list[int], bool]]:
        """Every stroke as the ends at which it enters its chains, in drawing order, and whether it is closed."""
        seen = [False] * len(self.network)
        found = []
        starts = [end for end, partner in enumerate(self.partner) if partner == NONE]
        for start, closed in [
            *((end, False) for end in starts),
            *((end, True) for end in range(0, len(self.partner), 2)),
        ]:
            if seen[start // 2]:
                continue
            walk, end = [], start
            while end != NONE and not seen[end // 2]:
                walk.append(end)
                seen[end // 2] = True
                end = self.partner[end ^ 1]
            found.append((walk, closed))
        return found

    def take_in_closed(self) -> None:
        """Merge each closed stroke with another that passes the same node, the gentlest bends first (Kruskal)."""
        walks = self.walks()
        closed = [is_closed for _, is_closed in walks]
        if not any(closed):
            return
        walk_of = np.empty(len(self.network), dtype=np.int64)
        for index, (walk, _) in enumerate(walks):
            walk_of[np.array(walk) // 2] = index
        _Merger(self, closed, walk_of).run()


class _Merger:
    """Strokes being merged at nodes: which belong together by now, and the swaps of partners that would merge more."""

    def __init__(self, pairing: _Pairing, closed: list[bool], walk_of: NDArray[np.int64]) -> None:
        self.pairing, self.closed, self.walk_of = pairing, closed, walk_of.tolist()
        self.root = list(range(len(closed)))
        self.heap: list[tuple[float, int, int, int, int]] = []

    def stroke(self, end: int) -> int:
        walk: int = self.walk_of[end // 2]
        while self.root[walk] != walk:
            self.root[walk] = self.root[self.root[walk]]
            walk = self.root[walk]
        return walk

    def run(self) -> None:
        for ends in self._shared_nodes():
            for one, other in combinations(self._slots(ends), 2):
                self._offer(one, other)
        while self.heap:
            _, a, b, c, d = heapq.heappop(self.heap)
            self._swap(a, b, c, d)

    def _shared_nodes(self) -> list[list[int]]:
        """The ends at each node where a closed stroke meets another one."""
        network = self.pairing.network
        node = network.ends.reshape(-1)
        walk = np.repeat(np.array(self.walk_of), 2)
        low, high = np.full(len(network.at), len(self.root)), np.full(len(network.at), -1)
        np.minimum.at(low, node, walk)
        np.maximum.at(high, node, walk)
        some_closed = np.zeros(len(network.at), dtype=np.bool_)
        some_closed[node[np.array(self.closed)[walk]]] = True
        shared = some_closed & (low != high)
        by_node = np.argsort(node, kind="stable")
        first = np.concatenate([[0], np.cumsum(network.degree)])
        return [by_node[first[at] : first[at + 1]].tolist() for at in np.flatnonzero(shared)]

    def _slots(self, ends: list[int]) -> list[tuple[int, int]]:
        """The pairs at a node, and what is left alone as (end, NONE)."""
        partner = self.pairing.partner
        return [(end, partner[end]) for end in ends if partner[end] == NONE or end < partner[end]]

    def _offer(self, one: tuple[int, int], other: tuple[int, int]) -> None:
        """Put the better of the two swaps between two slots on the heap, if it would merge strokes."""
        (a, b), (c, d) = one, other
        if b == NONE and d == NONE:
            return
        ra, rc = self.stroke(a), self.stroke(c)
        if ra == rc or not (self.closed[ra] or self.closed[rc]):
            return
        straight, crossed = self._turns((a, c), (b, d)), self._turns((a, d), (b, c))
        cost = min(straight, crossed) - self._turns((a, b), (c, d))
        if straight <= crossed:
            heapq.heappush(self.heap, (cost, a, b, c, d))
        else:
            heapq.heappush(self.heap, (cost, a, b, d, c))

    def _turns(self, *pairs: tuple[int, int]) -> float:
        return sum(self.pairing.turn_of(a, b) for a, b in pairs if NONE not in (a, b))

    def _swap(self, a: int, b: int, c: int, d: int) -> None:
        """Pair a with c and b with d, if a is still with b, c with d, and the strokes still two."""
        partner = self.pairing.partner
        if (b == NONE and partner[a] != NONE) or (b != NONE and (a == NONE or partner[a] != b)):
            return
        if NONE not in (c, d) and partner[c] != d:
            return
        if d == NONE and partner[c] != NONE:
            return
        if c == NONE and partner[d] != NONE:
            return
        ra, rc = self.stroke(a), self.stroke(d if c == NONE else c)
        if ra == rc or not (self.closed[ra] or self.closed[rc]):
            return
        for one, other in ((a, c), (b, d)):
            if one == NONE and other != NONE:
                partner[other] = NONE
            elif other == NONE and one != NONE:
                partner[one] = NONE
            elif NONE not in (one, other):
                self.pairing.join(one, other)
        self.root[rc] = ra
        self.closed[ra] = self.closed[ra] and self.closed[rc]
        node = self.pairing.network.ends.reshape(-1)[a]
        ends = np.flatnonzero(self.pairing.network.ends.reshape(-1) == node).tolist()
        fresh = {a, b, c, d}
        slots = self._slots(ends)
        for one, other in combinations(slots, 2):
            if fresh & {*one, *other}:
                self._offer(one, other)


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
            for index, other in enumerate(rest)
            for more in pairs(rest[:index] + rest[index + 1 :])
        ]

    everyone = tuple(range(degree))
    if degree % 2 == 0:
        return pairs(everyone)
    return [found for left in everyone for found in pairs(everyone[:left] + everyone[left + 1 :])]


def _drawn(network: Network, walks: list[tuple[list[int], bool]]) -> NDArray[Any]:
    """(k,) one LineString a walk."""
    coords, owner = shapely.get_coordinates(network.chains, return_index=True)
    first = np.searchsorted(owner, np.arange(len(network) + 1))
    pieces, index = [], []
    for stroke, (walk, _) in enumerate(walks):
        for step, end in enumerate(walk):
            chain, side = end // 2, end % 2
            points = coords[first[chain] : first[chain + 1]]
            points = points[::-1] if side else points
            pieces.append(points[1:] if step else points)
            index.append(stroke)
    counts = [len(piece) for piece in pieces]
    return shapely.linestrings(np.concatenate(pieces), indices=np.repeat(index, counts))  # type: ignore[no-any-return]
