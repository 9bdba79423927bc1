"""Ends within a small distance of one another, or of a line, meet.

First an end that lies on a line (an edge that was cut where it runs beneath another shape) becomes a junction with it.
Then free ends are paired, the nearest first; then what is still free reaches for the nearest line.
"""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.lines import cut_at
from underdraw_stages.tidy.network import Network, as_network

ON_LINE_MM = 0.002  # nearer than this an end lies on a line: twenty quanta, a hundredth of the finest tip
OWN_STRETCH = 3.0  # an end does not reach for its own last stretch, this many times the distance long


def meet_on_lines(network: Network) -> tuple[Network, int]:
    """Free ends that lie on a line become junctions. Returns the network and how many did."""
    return _reach_lines(network, ON_LINE_MM, 0.0)


def close_gaps(network: Network, join: float, shortest: float) -> tuple[Network, int]:
    """Free ends within `join` mm meet each other or a line. Returns the network and how many gaps were closed.

    An overshoot (a free chain shorter than `shortest` at a junction) does not reach back for the line it crossed.
    """
    network, paired = _pair_ends(network, join)
    network, reached = _reach_lines(network, join, shortest)
    return network, paired + reached


def _free_ends(network: Network) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The free ends: chain of each, and 0 or 1 for its first or last point."""
    chain, side = np.nonzero(network.degree[network.ends] == 1)
    return chain, side


def _pair_ends(network: Network, join: float) -> tuple[Network, int]:
    chain, side = _free_ends(network)
    at = network.at[network.ends[chain, side]]
    points = shapely.points(at)
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=join)
    first = a < b
    a, b = a[first], b[first]
    length = network.lengths
    own = chain[a] == chain[b]
    sensible = ~own | (length[chain[a]] > OWN_STRETCH * join)  # a crumb is not bent into a ring
    a, b = a[sensible], b[sensible]
    gap = np.hypot(*(at[a] - at[b]).T)
    meeting: dict[int, int] = {}  # an end, and the end that it meets at
    bridges = []
    for place in np.lexsort((b, a, gap)).tolist():
        one, other = int(a[place]), int(b[place])
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
    pairs = np.array(bridges)
    return as_network(np.concatenate([network.chains, shapely.linestrings(at[pairs])])), len(bridges)


def _reach_lines(network: Network, within: float, shortest: float) -> tuple[Network, int]:
    """Connect each free end to the nearest line within `within` mm, which gets a junction there."""
    chain, side = _free_ends(network)
    if not len(chain):
        return network, 0
    at = network.at[network.ends[chain, side]]
    coords, owner = shapely.get_coordinates(network.chains, return_index=True)
    start = np.flatnonzero(owner[1:] == owner[:-1])  # the first point of each segment
    segments = shapely.linestrings(np.stack([coords[start], coords[start + 1]], axis=1))
    end, segment = shapely.STRtree(segments).query(shapely.points(at), predicate="dwithin", distance=within)
    point = start[segment]
    share, gap = _foot(at[end], coords[point], coords[point + 1])
    allowed = ~_own_or_crossed(
        network, chain[end], side[end], owner[point], _along(coords, owner), point, share, within, shortest
    )
    end, point, share, gap = end[allowed], point[allowed], share[allowed], gap[allowed]
    best = np.lexsort((point, gap, end))
    best = best[np.concatenate([[True], end[best][1:] != end[best][:-1]])] if len(best) else best
    end, point, share, gap = end[best], point[best], share[best], gap[best]
    if not len(end):
        return network, 0
    foot = coords[point] + share[:, None] * (coords[point + 1] - coords[point])
    on_line = gap <= ON_LINE_MM
    foot[on_line] = at[end[on_line]]
    bridges = shapely.linestrings(np.stack([at[end], foot], axis=1)[~on_line])
    return as_network(np.concatenate([_with_junctions(coords, owner, point, share, foot), bridges])), len(end)


def _foot(
    at: NDArray[np.float64], start: NDArray[np.float64], stop: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where along each segment (0 to 1) it is nearest to a point, and the distance in mm."""
    step = stop - start
    share = np.clip(((at - start) * step).sum(axis=1) / (step * step).sum(axis=1), 0.0, 1.0)
    return share, np.hypot(*(start + share[:, None] * step - at).T)


def _along(coords: NDArray[np.float64], owner: NDArray[np.int64]) -> NDArray[np.float64]:
    """(n,) mm from the first point of its line to each point."""
    step = np.zeros(len(coords))
    step[1:] = np.where(owner[1:] == owner[:-1], np.hypot(*np.diff(coords, axis=0).T), 0.0)
    total = np.cumsum(step)
    first = np.flatnonzero(np.concatenate([[True], owner[1:] != owner[:-1]]))
    return total - total[first][np.searchsorted(first, np.arange(len(coords)), side="right") - 1]


def _own_or_crossed(
    network: Network,
    chain: NDArray[np.int64],
    side: NDArray[np.int64],
    other: NDArray[np.int64],
    along: NDArray[np.float64],
    point: NDArray[np.int64],
    share: NDArray[np.float64],
    within: float,
    shortest: float,
) -> NDArray[np.bool_]:
    """(k,) whether an end would reach for its own last stretch, or an overshoot for the line it has just crossed."""
    length = network.lengths
    foot_along = along[point] + share * (along[np.minimum(point + 1, len(along) - 1)] - along[point])
    from_end = np.where(side == 0, foot_along, length[chain] - foot_along)
    own = (chain == other) & (from_end < OWN_STRETCH * within)
    root = network.ends[chain, 1 - side]
    overshoot = (length[chain] < max(shortest, OWN_STRETCH * within)) & (network.degree[root] > 2)
    crossed = overshoot & ((network.ends[other] == root[:, None]).any(axis=1))
    return own | crossed


def _with_junctions(
    coords: NDArray[np.float64],
    owner: NDArray[np.int64],
    point: NDArray[np.int64],
    share: NDArray[np.float64],
    foot: NDArray[np.float64],
) -> NDArray[Any]:
    """Lines with a new point after `point[i]`, `share[i]` along that segment, and cut there."""
    order = np.lexsort((share, point))
    place = point[order] + 1
    coords = np.insert(coords, place, foot[order], axis=0)
    seam = np.insert(np.zeros(len(owner), dtype=np.bool_), place, True)
    return cut_at(coords, np.insert(owner, place, owner[point[order]]), seam)[0]
