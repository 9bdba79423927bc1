"""One marker's lines to its strokes: doubled lines once, cut at crossings, gaps closed, crumbs dropped, ends paired."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.crumbs import drop_crumbs
from underdraw_stages.tidy.doubled import without_doubles
from underdraw_stages.tidy.fewest import strokes
from underdraw_stages.tidy.gaps import close_gaps, meet_in_place_of, meet_on_lines
from underdraw_stages.tidy.lines import Lines
from underdraw_stages.tidy.network import Network, cut_at_nodes, fingerprints, in_place_order, noded
from underdraw_stages.tidy.points import fewer_points

ALIKE_TIPS = 3.0  # lines side by side for longer than so many tips are one line
LOOK_TIPS = 1.5  # a line's direction at a junction is taken so many tips away from it
MOST_ROUNDS = 6  # of a step that can make work for itself; each leaves far less than it found
MOST_REPEATS = 6  # of all steps; two are usual, the second of which changes nothing


@dataclass(eq=False)
class Tally:
    """What the steps counted; lengths in mm."""

    doubled: float = 0.0
    joined: int = 0
    dropped: int = 0
    dropped_length: float = 0.0


def marker_strokes(lines: Lines, tip: float, settings: TidySettings, tally: Tally) -> NDArray[Any]:
    """One marker's lines to its strokes.

    What one step mends can give another step something to do: a closed gap makes a run long enough to be a double, a
    straightened line touches its neighbour. So all is gone through again until nothing changes, and tidying the
    strokes again finds nothing to do.
    """
    geometry, whole = lines.geometry, lines.whole
    before = np.empty(0, dtype=np.uint64)
    for _ in range(MOST_REPEATS):
        meant = geometry[whole & (shapely.length(geometry) < settings.shortest)]
        geometry = gone_through(geometry, meant, tip, settings, tally)
        whole = np.ones(len(geometry), dtype=np.bool_)
        after = fingerprints(*shapely.get_coordinates(geometry, return_index=True))
        if np.array_equal(before, after):
            break
        before = after
    return geometry


def gone_through(
    geometry: NDArray[Any], meant: NDArray[Any], tip: float, settings: TidySettings, tally: Tally
) -> NDArray[Any]:
    """Lines to strokes, once.

    Doubled lines are looked for in the lines and again in the strokes made of them, for pairing ends can bring short
    runs together into one that is long enough to go.
    """
    geometry, doubles = drawn_once(geometry, tip, settings, tally)
    single = float(shapely.length(geometry).sum())
    network = meet_on_lines(noded(geometry))
    tally.doubled += max(0.0, single - float(network.lengths.sum()))  # too short to be a run of its own
    for _ in range(MOST_ROUNDS):
        network = neat(network, doubles, meant, settings, tally)
        geometry = strokes(network, LOOK_TIPS * tip, settings.fewest)
        left, doubles = drawn_once(geometry, tip, settings, tally)
        if not len(doubles):
            break
        network = cut_at_nodes(left, network)
    return in_place_order(geometry)


def drawn_once(
    geometry: NDArray[Any], tip: float, settings: TidySettings, tally: Tally
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Lines without their doubles, and the doubles."""
    left, doubles = without_doubles(geometry, settings.same, ALIKE_TIPS * tip)
    tally.doubled += float(shapely.length(doubles).sum())
    return left, doubles


def neat(network: Network, doubles: NDArray[Any], meant: NDArray[Any], settings: TidySettings, tally: Tally) -> Network:
    """A network with its gaps closed, its crumbs dropped and its points thinned."""
    if len(doubles):
        network = meet_in_place_of(network, doubles, settings.same)
    for _ in range(MOST_ROUNDS):
        joined = dropped = 0
        if settings.join > 0:
            network, joined = close_gaps(network, settings.join, settings.shortest)
            tally.joined += joined
        if settings.shortest > 0:
            network, dropped, dropped_length = drop_crumbs(network, settings.shortest, meant)
            tally.dropped += dropped
            tally.dropped_length += dropped_length
        chains, network = len(network), fewer_points(network, settings.points)
        if joined == dropped == 0 and len(network) == chains:  # else there may be new ends that meet, or new crumbs
            break
    return network
