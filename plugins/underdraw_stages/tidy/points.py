"""Fewer points: a line keeps those it needs to stay within a small distance of where it ran (Douglas, Peucker 1973)."""

import numpy as np
import shapely

from underdraw_stages.tidy.network import Network, noded

MOST_ROUNDS = 6  # straightened lines may touch where they did not before; each round has fewer of those


def fewer_points(network: Network, within: float) -> Network:
    """Each chain with fewer points, within `within` mm of itself; nodes stay where they are.

    A chain that would come down to nothing is left as it is. Where straightened chains now touch, they are cut.
    """
    for _ in range(MOST_ROUNDS):
        if not len(network):
            return network
        if within > 0:
            straight = shapely.simplify(network.chains, within, preserve_topology=False)
            least = np.where(network.ends[:, 0] == network.ends[:, 1], 4, 2)
            kept = shapely.get_num_coordinates(straight) >= least
            network = Network(np.where(kept, straight, network.chains), network.ends, network.at, network.degree)
        if apart(network):
            return network
        network = noded(network.chains)
    return network


def apart(network: Network) -> bool:
    """Whether chains meet at nodes only."""
    chains = network.chains
    closed = network.ends[:, 0] == network.ends[:, 1]
    halves = []  # a closed line's end counts as its inside: look at it as two open ones
    for ring in chains[closed]:
        coords = shapely.get_coordinates(ring)
        middle = len(coords) // 2
        halves += [shapely.linestrings(coords[: middle + 1]), shapely.linestrings(coords[middle:])]
    together = np.concatenate([chains[~closed], np.array(halves, dtype=object)])
    return bool(shapely.is_simple(shapely.multilinestrings(together)))
