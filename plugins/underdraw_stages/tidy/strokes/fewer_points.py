"""Fewer points: a line keeps those it needs to stay within a small distance of where it ran (Douglas, Peucker 1973)."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.strokes.network import NOTHING_KNOWN, Network, noded, noded_again, touching

MOST_ROUNDS = 8  # a chain left as it is may touch another that was straightened; then that one is left too


def fewer_points(network: Network, within: float, known: NDArray[np.uint64]) -> Network:
    """Each chain with fewer points, within `within` mm of itself; nodes stay where they are.

    A chain that would come down to nothing, or touch another, is left as it is. known: (k,) fingerprints of chains
    that meet each other at nodes alone; in the network that is returned all of them do.
    """
    if not len(network):
        return network
    return _straightened(network.turned(), within, known).settled()


def _straightened(network: Network, within: float, known: NDArray[np.uint64]) -> Network:
    chains = _simplified(network, within)
    left = np.zeros(len(network), dtype=np.bool_)
    for _ in range(MOST_ROUNDS):
        thinned = Network.of(chains)
        met = touching(thinned, known)
        if not met.any():
            return thinned
        known = thinned.fingerprints[~met]
        if left[met].all():  # not the straightening's doing: a bridge or a cut of an earlier step
            network = noded_again(network, met).turned()
            chains, left = _simplified(network, within), np.zeros(len(network), dtype=np.bool_)
        else:
            left |= met
            chains[met] = network.chains[met]
    return noded(network.chains, NOTHING_KNOWN).turned()


def _simplified(network: Network, within: float) -> NDArray[Any]:
    straight = shapely.simplify(network.chains, within, preserve_topology=False)
    least = np.where(network.ends[:, 0] == network.ends[:, 1], 4, 2)
    return np.where(shapely.get_num_coordinates(straight) >= least, straight, network.chains)
