"""Ends within a small distance of one another, or of a line, meet.

First an end that lies on a line (an edge that was cut where it runs beneath another shape) becomes a junction with it.
Then free ends are paired, the nearest first; then what is still free reaches for the nearest line.
"""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.polylines import along, cut_at
from underdraw_stages.tidy.strokes.network import Network, as_network
from underdraw_stages.tidy.strokes.polylines import GRID_DECIMALS

ON_LINE_MM = 0.0005  # nearer than this an end lies on a line: five quanta, and half of what `doubled` calls exact
OWN_STRETCH = 3.0  # an end does not reach for its own last stretch, this many times the distance long
BACK = 0.97  # cosine: an end does not reach back along its own line, within 14 degrees
OVERSHOT_BACK = 0.5  # the same of an end that overshot a line: within 60 degrees


def meet_on_lines(network: Network) -> Network:
    """Free ends that lie on a line become junctions with it."""
    return _reach_lines(network, ON_LINE_MM, 0.0)[0]


def meet_instead_of(network: Network, gone: NDArray[Any], within: float) -> Network:
    """Free ends on lines that went because of others reach those others, within `within` mm.

    A bit that is left beside a line which it meets at its other end is a sliver, and goes as well.
    """
    while len(gone) and len(network):
        chain, side = _free_ends(network)
        on_gone, _ = shapely.STRtree(gone).query(
            shapely.points(network.at[network.ends[chain, side]]), predicate="dwithin", distance=ON_LINE_MM
        )
        on_gone = np.unique(on_gone)
        reach = _near_lines(network, chain[on_gone], side[on_gone], within + ON_LINE_MM, 0.0).nearest()
        if not reach.crossed.any():
            return _with_junctions(network, reach)
        network = network.without(np.isin(np.arange(len(network)), reach.chain[reach.crossed]))
    return network


def close_gaps(network: Network, join: float, shortest: float) -> tuple[Network, int]:
    """Free ends within `join` mm meet each other or a line. Returns the network and how many gaps were closed.

    An overshoot (a free chain shorter than `shortest` at a junction) does not reach back for the line it crossed.
    """
    network, paired = _pair_ends(network, join)
    network, reached = _reach_lines(network, join, shortest)
    return network, paired + reached


def _free_ends(network: Network) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The free ends, by position: chain of each, and 0 or 1 for its first or last point."""
    chain, side = np.nonzero(network.degree[network.ends] == 1)
    by_position = np.argsort(network.ends[chain, side])  # nodes are numbered by position
    return chain[by_position], side[by_position]


def _pair_ends(network: Network, join: float) -> tuple[Network, int]:
    chain, side = _free_ends(network)
    at = network.at[network.ends[chain, side]]
    points = shapely.points(at)
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=join)
    first = a < b
    a, b = a[first], b[first]
    length = network.lengths
    own = chain[a] == chain[b]
    sensible = ~own | (length[chain[a]] > OWN_STRETCH * join)  # a short leftover is not bent into a ring
    a, b = a[sensible], b[sensible]
    gap = np.hypot(*(at[a] - at[b]).T)
    meeting: dict[int, int] = {}  # an end, and the end that it meets at
    bridges = []
    for position in np.lexsort((b, a, gap)).tolist():
        one, other = int(a[position]), int(b[position])
        if one in meeting and other in meeting:
            continue
        if one not in meeting and other not in meeting:
            meeting[one] = meeting[other] = one
            bridges.append((one, other))
            continue
        early, late = (one, other) if one in meeting else (other, one)  # a third end comes to where two have met
        if np.hypot(*(at[late] - at[meeting[early]])) <= join:
            meeting[late] = meeting[early]
            bridges.append((meeting[early], late))
    if not bridges:
        return network, 0
    coords = np.concatenate([network.coords, at[np.array(bridges)].reshape(-1, 2)])
    chain_index = np.concatenate([network.chain_index, len(network) + np.repeat(np.arange(len(bridges)), 2)])
    return as_network(coords, chain_index), len(bridges)


def _reach_lines(network: Network, within: float, shortest: float) -> tuple[Network, int]:
    """Connect each free end to the nearest line within `within` mm, which gets a junction there."""
    reach = _near_lines(network, *_free_ends(network), within, shortest)
    reach = reach.select(~reach.crossed).nearest()
    return _with_junctions(network, reach), len(reach)


@dataclass(frozen=True, eq=False)
class _Reach:
    """Chain ends and line points in their reach, all (k,): chain, side; the vertex before the point, the share of that
    segment, the mm to it; whether the end overshot the line it would reach back for.
    """

    chain: NDArray[np.int64]
    side: NDArray[np.int64]
    point: NDArray[np.int64]
    share: NDArray[np.float64]
    gap: NDArray[np.float64]
    crossed: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.chain)

    def select(self, rows: NDArray[Any]) -> "_Reach":
        return _Reach(*(getattr(self, field.name)[rows] for field in fields(self)))

    def nearest(self) -> "_Reach":
        """The nearest point of each end."""
        order = np.lexsort((self.point, self.gap, self.side, self.chain))
        chain, side = self.chain[order], self.side[order]
        fresh = np.ones(len(order), dtype=np.bool_)
        fresh[1:] = (chain[1:] != chain[:-1]) | (side[1:] != side[:-1])
        return self.select(order[fresh])


def _near_lines(
    network: Network, chain: NDArray[np.int64], side: NDArray[np.int64], within: float, shortest: float
) -> _Reach:
    """Line points within `within` mm that free ends can reach: neither their own last stretch, nor back along it."""
    coords, chain_index = network.coords, network.chain_index
    at = network.at[network.ends[chain, side]]
    tree = shapely.STRtree(shapely.points(at))
    near, _ = tree.query(network.chains, predicate="dwithin", distance=within)
    within_chain = chain_index[1:] == chain_index[:-1]
    start = np.flatnonzero(within_chain & np.isin(chain_index[:-1], near))  # the first point of each segment
    segments = shapely.linestrings(np.stack([coords[start], coords[start + 1]], axis=1))
    segment, end = tree.query(segments, predicate="dwithin", distance=within)
    point, chain, side, at = start[segment], chain[end], side[end], at[end]
    share, gap = _foot(at, coords[point], coords[point + 1])
    own_length = network.lengths[chain]

    position = along(coords, chain_index)
    foot_along = position[point] + share * (position[point + 1] - position[point])
    from_end = np.where(side == 0, foot_along, own_length - foot_along)
    own = (chain == chain_index[point]) & (from_end < OWN_STRETCH * within)
    last = np.where(side == 0, network.offsets[chain], network.offsets[chain + 1] - 1)
    came = coords[np.where(side == 0, last + 1, last - 1)] - at
    reach = coords[point] + share[:, None] * (coords[point + 1] - coords[point]) - at
    root = network.ends[chain, 1 - side]
    overshot = (own_length < max(shortest, OWN_STRETCH * within)) & (network.degree[root] > 2)
    most = np.where(overshot, OVERSHOT_BACK, BACK)
    back = (came * reach).sum(axis=1) > most * np.hypot(*came.T) * np.hypot(*reach.T)
    crossed = overshot & (network.ends[chain_index[point]] == root[:, None]).any(axis=1)
    return _Reach(chain, side, point, share, gap, crossed).select(~(own | back))


def _foot(
    at: NDArray[np.float64], start: NDArray[np.float64], stop: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where along each segment (0 to 1) it is nearest to a point, and the distance in mm."""
    step = stop - start
    share = np.clip(((at - start) * step).sum(axis=1) / (step * step).sum(axis=1), 0.0, 1.0)
    return share, np.hypot(*(start + share[:, None] * step - at).T)


def _with_junctions(network: Network, reach: _Reach) -> Network:
    """The network with a junction at each point, to which the chain end that reaches for it is carried on."""
    if not len(reach):
        return network
    coords, chain_index, point = network.coords, network.chain_index, reach.point
    foot = np.round(coords[point] + reach.share[:, None] * (coords[point + 1] - coords[point]), GRID_DECIMALS)
    there = reach.gap <= ON_LINE_MM
    foot[there] = network.at[network.ends[reach.chain, reach.side]][there]
    order = np.lexsort((reach.share, point))
    ending = np.where(reach.side == 0, network.offsets[reach.chain], network.offsets[reach.chain + 1])
    position = np.concatenate([point[order] + 1, ending])
    kind = np.concatenate(  # one chain's end, then the next one's start
        [np.full(len(order), 1), np.where(reach.side == 0, 2, 0)]
    )
    sequence = np.lexsort((kind, position))  # stable, so that feet on one segment stay in order
    position = position[sequence]
    fresh = np.concatenate([foot[order], foot])[sequence]
    fresh_index = np.concatenate([chain_index[point[order]], reach.chain])[sequence]
    coords = np.insert(coords, position, fresh, axis=0)
    seam = np.insert(np.zeros(len(chain_index), dtype=np.bool_), position, kind[sequence] == 1)
    chain_index = np.insert(chain_index, position, fresh_index)
    return as_network(*cut_at(coords, chain_index, seam)[:2])
