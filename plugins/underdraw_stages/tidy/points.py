"""Fewer points: a line keeps those it needs to stay within a small distance of where it ran (Douglas, Peucker 1973)."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.network import Network, fingerprints, noded

MOST_ROUNDS = 8  # a chain left as it is may touch another that was straightened; then that one is left too


def fewer_points(network: Network, within: float) -> Network:
    """Each chain with fewer points, within `within` mm of itself; nodes stay where they are.

    A chain that would come down to nothing, or touch another, is left as it is.
    """
    if not len(network):
        return network
    return _straightened(network.turned(), within).settled()


def _straightened(network: Network, within: float) -> Network:
    chains = _simplified(network, within)
    left = np.zeros(len(network), dtype=np.bool_)
    for _ in range(MOST_ROUNDS):
        thinned = Network.of(chains)
        touching = _touching(thinned)
        if not touching.any():
            return thinned
        if left[touching].all():  # not the straightening's doing: a bridge or a cut of an earlier step
            network = noded(network.chains).turned()
            chains, left = _simplified(network, within), np.zeros(len(network), dtype=np.bool_)
        else:
            left |= touching
            chains[touching] = network.chains[touching]
    return network


def _simplified(network: Network, within: float) -> NDArray[Any]:
    straight = shapely.simplify(network.chains, within, preserve_topology=False)
    least = np.where(network.ends[:, 0] == network.ends[:, 1], 4, 2)
    return np.where(shapely.get_num_coordinates(straight) >= least, straight, network.chains)


def _touching(network: Network) -> NDArray[np.bool_]:
    """(e,) which chains meet others, or themselves, elsewhere than at a node: those that noding would change."""
    if network.apart:
        return np.zeros(len(network), dtype=np.bool_)
    parts = shapely.get_parts(shapely.union_all(network.chains))
    after = fingerprints(*shapely.get_coordinates(parts, return_index=True))
    mine = fingerprints(network.coords, network.owner)
    _, index, count = np.unique(mine, return_inverse=True, return_counts=True)
    return ~np.isin(mine, after) | (count[index] > 1)
