"""Ends within a small distance of one another, or of a line, meet.

First an end that lies on a line (an edge that was cut where it runs beneath another shape) becomes a junction with it.
Then free ends are paired, the nearest first; then what is still free reaches for the nearest line.
"""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.lines import GRID_DECIMALS, along, cut_at
from underdraw_stages.tidy.network import Network, as_network

ON_LINE_MM = 0.0005  # nearer than this an end lies on a line: five quanta, and half of what `doubled` calls exact
OWN_STRETCH = 3.0  # an end does not reach for its own last stretch, this many times the distance long


def meet_on_lines(network: Network) -> Network:
    """Free ends that lie on a line become junctions with it."""
    return _reach_lines(network, ON_LINE_MM, 0.0)[0]


def meet_in_place_of(network: Network, gone: NDArray[Any], within: float) -> Network:
    """Free ends that lie on lines that went for the sake of others reach those others, within `within` mm."""
    return _reach_lines(network, within + ON_LINE_MM, 0.0, gone)[0]


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
    coords = np.concatenate([network.coords, at[np.array(bridges)].reshape(-1, 2)])
    owner = np.concatenate([network.owner, len(network) + np.repeat(np.arange(len(bridges)), 2)])
    return as_network(coords, owner), len(bridges)


def _reach_lines(
    network: Network, within: float, shortest: float, only: NDArray[Any] | None = None
) -> tuple[Network, int]:
    """Connect each free end to the nearest line within `within` mm, which gets a junction there.

    only: (r,) lines; ends that lie on none of them stay free.
    """
    chain, side = _free_ends(network)
    if only is not None and len(chain):
        mine, _ = shapely.STRtree(only).query(
            shapely.points(network.at[network.ends[chain, side]]), predicate="dwithin", distance=ON_LINE_MM
        )
        chain, side = chain[np.unique(mine)], side[np.unique(mine)]
    if not len(chain):
        return network, 0
    at = network.at[network.ends[chain, side]]
    end, point, share, gap = _near_lines(network, chain, side, within, shortest)
    if not len(end):
        return network, 0
    coords = network.coords
    foot = np.round(coords[point] + share[:, None] * (coords[point + 1] - coords[point]), GRID_DECIMALS)
    foot[gap <= ON_LINE_MM] = at[end][gap <= ON_LINE_MM]
    return _with_junctions(network, point, share, foot, chain[end], side[end]), len(end)


def _near_lines(
    network: Network, chain: NDArray[np.int64], side: NDArray[np.int64], within: float, shortest: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """The nearest line of each free end that has one: (k,) end, point before the place, share of that segment, mm."""
    coords, owner = network.coords, network.owner
    points = shapely.points(network.at[network.ends[chain, side]])
    near, _ = shapely.STRtree(points).query(network.chains, predicate="dwithin", distance=within)
    start = np.flatnonzero((owner[1:] == owner[:-1]) & np.isin(owner[:-1], near))  # the first point of each segment
    segments = shapely.linestrings(np.stack([coords[start], coords[start + 1]], axis=1))
    segment, end = shapely.STRtree(points).query(segments, predicate="dwithin", distance=within)
    point = start[segment]
    share, gap = _foot(shapely.get_coordinates(points)[end], coords[point], coords[point + 1])
    own_length = network.lengths[chain[end]]

    place = along(coords, owner)
    foot_along = place[point] + share * (place[point + 1] - place[point])
    from_end = np.where(side[end] == 0, foot_along, own_length - foot_along)
    own = (chain[end] == owner[point]) & (from_end < OWN_STRETCH * within)
    root = network.ends[chain[end], 1 - side[end]]
    overshoot = (own_length < max(shortest, OWN_STRETCH * within)) & (network.degree[root] > 2)
    crossed = overshoot & (network.ends[owner[point]] == root[:, None]).any(axis=1)

    order = np.lexsort((point, gap, end))
    order = order[~(own | crossed)[order]]
    nearest = order[np.concatenate([[True], end[order][1:] != end[order][:-1]])] if len(order) else order
    return end[nearest], point[nearest], share[nearest], gap[nearest]


def _foot(
    at: NDArray[np.float64], start: NDArray[np.float64], stop: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where along each segment (0 to 1) it is nearest to a point, and the distance in mm."""
    step = stop - start
    share = np.clip(((at - start) * step).sum(axis=1) / (step * step).sum(axis=1), 0.0, 1.0)
    return share, np.hypot(*(start + share[:, None] * step - at).T)


def _with_junctions(
    network: Network,
    point: NDArray[np.int64],
    share: NDArray[np.float64],
    foot: NDArray[np.float64],
    chain: NDArray[np.int64],
    side: NDArray[np.int64],
) -> Network:
    """The network with a junction at each (k, 2) foot, `share` of the way from `point` to the next one.

    The chain end (chain, side) that reaches for it is carried on to it.
    """
    coords, owner = network.coords, network.owner
    order = np.lexsort((share, point))
    ending = np.where(side == 0, network.offsets[chain], network.offsets[chain + 1] - 1)
    place = np.concatenate([point[order] + 1, np.where(side == 0, ending, ending + 1)])
    kind = np.concatenate(
        [np.full(len(order), 1), np.where(side == 0, 2, 0)]
    )  # one chain's end, then the next one's start
    sequence = np.lexsort((kind, place))  # stable, so that feet on one segment stay in order
    place = place[sequence]
    fresh = np.concatenate([foot[order], foot])[sequence]
    fresh_owner = np.concatenate([owner[point[order]], chain])[sequence]
    coords = np.insert(coords, place, fresh, axis=0)
    seam = np.insert(np.zeros(len(owner), dtype=np.bool_), place, kind[sequence] == 1)
    owner = np.insert(owner, place, fresh_owner)
    return as_network(*cut_at(coords, owner, seam)[:2])
