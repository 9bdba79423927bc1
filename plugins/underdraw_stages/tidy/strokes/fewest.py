"""The fewest strokes that draw a network once, and among those the smoothest.

A connected network whose chains are each drawn once takes half its odd nodes of strokes, at least one (Euler 1736;
Listing 1847). Pairing the ends at every node gives that, but for closed strokes: each is taken into another stroke
that passes one of its nodes, where that bends the lines least.
"""

import heapq
from itertools import combinations
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.groups import Groups
from underdraw.drawing.ragged import offsets, row_positions
from underdraw_stages.tidy.strokes.network import Network
from underdraw_stages.tidy.strokes.pairing import NONE, Pairing

Slot = tuple[int, int]  # two paired ends at a node, or one end and NONE


def fewest_strokes(network: Network, look: float, fewest: bool = True) -> NDArray[Any]:
    """(k,) LineStrings that draw each chain once; with `fewest` False every chain by itself.

    look: mm from a node at which a chain's direction there is taken.
    """
    if not len(network):
        return network.chains
    pairing = Pairing(network, look)
    if fewest:
        pairing.pair_smoothly()
        _take_in_closed(pairing)
    else:
        pairing.close_rings()
    return _drawn(network, [walk for walk, _ in pairing.walks()])


def _take_in_closed(pairing: Pairing) -> None:
    """Merge each closed stroke with another that passes the same node, the gentlest bends first (Kruskal 1956)."""
    walks = pairing.walks()
    closed = np.array([is_closed for _, is_closed in walks])
    if not closed.any():
        return
    stroke_of = np.empty(len(pairing.network), dtype=np.int64)
    stroke_of[np.array([end for walk, _ in walks for end in walk]) // 2] = np.repeat(
        np.arange(len(walks)), [len(walk) for walk, _ in walks]
    )
    _Merger(pairing, closed, stroke_of).run()


class _Merger:
    """Strokes being merged at nodes: which belong together by now, and the swaps of partners that would merge more."""

    def __init__(self, pairing: Pairing, closed: NDArray[np.bool_], stroke_of: NDArray[np.int64]) -> None:
        self.pairing = pairing
        self.closed: list[bool] = closed.tolist()
        self.stroke_of: list[int] = stroke_of.tolist()
        self.groups = Groups(len(closed))
        self.swaps: list[tuple[float, Slot, Slot, bool]] = []
        self.by_node = np.argsort(pairing.node, kind="stable")
        self.first = offsets(pairing.network.degree)
        self.shared = self._shared_nodes(closed, stroke_of)

    def run(self) -> None:
        """Merge until no closed stroke meets another."""
        for node in self.shared:
            for one, other in combinations(self._slots(node), 2):
                self._offer(one, other)
        while self.swaps:
            _, one, other, crossed = heapq.heappop(self.swaps)
            if self._stands(one) and self._stands(other) and self._would_merge(one, other):
                self._swap(one, other, crossed)

    def _shared_nodes(self, closed: NDArray[np.bool_], stroke_of: NDArray[np.int64]) -> list[int]:
        """The nodes where a closed stroke meets another one."""
        node, stroke = self.pairing.node, np.repeat(stroke_of, 2)
        count = len(self.pairing.network.at)
        low, high = np.full(count, len(closed)), np.full(count, NONE)
        np.minimum.at(low, node, stroke)
        np.maximum.at(high, node, stroke)
        some_closed = np.zeros(count, dtype=np.bool_)
        some_closed[node[closed[stroke]]] = True
        return np.flatnonzero(some_closed & (low != high)).tolist()

    def _slots(self, node: int) -> list[Slot]:
        """What is paired at a node, and what is left alone."""
        ends = self.by_node[self.first[node] : self.first[node + 1]].tolist()
        partner = self.pairing.partner
        return [(end, int(partner[end])) for end in ends if partner[end] == NONE or end < partner[end]]

    def _stands(self, slot: Slot) -> bool:
        """Whether a slot is still as it was when its swap was offered."""
        return bool(self.pairing.partner[slot[0]] == slot[1])

    def _stroke(self, end: int) -> int:
        return self.groups.name(self.stroke_of[end // 2])

    def _would_merge(self, one: Slot, other: Slot) -> bool:
        a, b = self._stroke(one[0]), self._stroke(other[0])
        return a != b and (self.closed[a] or self.closed[b])

    def _offer(self, one: Slot, other: Slot) -> None:
        """Keep the better of the two swaps between two slots, if it would merge strokes."""
        if not self._would_merge(one, other):
            return
        (a, b), (c, d) = one, other
        straight, crossed = self._turns((a, c), (b, d)), self._turns((a, d), (b, c))
        cost = min(straight, crossed) - self._turns(one, other)
        heapq.heappush(self.swaps, (cost, one, other, crossed < straight))

    def _turns(self, *pairs: Slot) -> float:
        return sum(float(self.pairing.turn(a, b)) for a, b in pairs if NONE not in (a, b))

    def _swap(self, one: Slot, other: Slot, crossed: bool) -> None:
        """Pair the ends of two slots the other way, and offer what that makes possible."""
        (a, b), (c, d) = one, other[::-1] if crossed else other
        for end, partner in ((a, c), (b, d)):
            if NONE in (end, partner):
                self.pairing.partner[max(end, partner)] = NONE
            else:
                self.pairing.join(end, partner)
        into, gone = self._stroke(one[0]), self._stroke(other[0])
        self.groups.join(into, gone)
        self.closed[into] = self.closed[into] and self.closed[gone]
        fresh = {end for end in (a, b, c, d) if end != NONE}
        for slots in combinations(self._slots(int(self.pairing.node[one[0]])), 2):
            if fresh & {*slots[0], *slots[1]}:
                self._offer(*slots)


def _drawn(network: Network, walks: list[list[int]]) -> NDArray[Any]:
    """(k,) one LineString a walk: its chains one after the other, a point that two share once."""
    ends = np.array([end for walk in walks for end in walk])
    stroke = np.repeat(np.arange(len(walks)), [len(walk) for walk in walks])
    chain, back = ends // 2, ends % 2 == 1
    start, stop = network.offsets[chain], network.offsets[chain + 1]
    counts = stop - start
    step = row_positions(counts)
    index = np.where(np.repeat(back, counts), np.repeat(stop, counts) - 1 - step, np.repeat(start, counts) + step)
    goes_on = np.concatenate([[False], stroke[1:] == stroke[:-1]])
    kept = ~((step == 0) & np.repeat(goes_on, counts))
    return shapely.linestrings(network.coords[index[kept]], indices=np.repeat(stroke, counts)[kept])  # type: ignore[no-any-return]
