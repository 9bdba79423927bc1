"""Left-over bits go: dangles at junctions, and stray strokes too short to be drawn. What was meant short stays."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.strokes.network import Network

THROUGH = 2  # chains of a junction, of a line that goes through it
MOST_ROUNDS = 8  # a dangle's going may leave another; a comb of them is no longer a left-over


def drop_short_leftovers(network: Network, shortest: float, meant: NDArray[Any]) -> tuple[Network, int, float]:
    """Drop dangles and stray strokes shorter than `shortest` mm.

    meant: lines of the artwork that are short as they stand (dots, ticks): a stray stroke made of one stays. Returns
    the network, how many bits went, and their mm together.
    """
    dropped, dropped_mm = 0, 0.0
    for _ in range(MOST_ROUNDS):
        bits = _dangles(network, shortest) | _strays(network, shortest, meant)
        if not bits.any():
            break
        dropped += int(bits.sum())
        dropped_mm += float(network.lengths[bits].sum())
        network = network.without(bits)
    return network, dropped, dropped_mm


def _dangles(network: Network, shortest: float) -> NDArray[np.bool_]:
    """(e,) short chains from a free end to a junction that a longer line goes through.

    Where none does, they are no left-overs but what was drawn: a small cross, a star, the bar across a line's end.
    """
    degree = network.degree[network.ends]
    short = (network.lengths < shortest) & (degree.min(axis=1) == 1) & (degree.max(axis=1) > 2)
    staying = np.bincount(network.ends[~short].ravel(), minlength=len(network.at))
    root = np.take_along_axis(network.ends, degree.argmax(axis=1)[:, None], axis=1)[:, 0]
    return short & (staying[root] >= THROUGH)  # type: ignore[no-any-return]


def _strays(network: Network, shortest: float, meant: NDArray[Any]) -> NDArray[np.bool_]:
    """(e,) chains of connected parts that are shorter than `shortest` in all, and were not meant."""
    if not (network.lengths < shortest).any():
        return np.zeros(len(network), dtype=np.bool_)
    component = network.components()
    total = np.bincount(component, weights=network.lengths)
    short = total < shortest
    if not short.any():
        return short[component]
    chain = np.flatnonzero(short[component])
    if len(meant):
        near, _ = shapely.STRtree(meant).query(network.chains[chain], predicate="dwithin", distance=0.001)
        short[component[chain[near]]] = False
    return short[component]
