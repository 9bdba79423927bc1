"""One marker's lines to its strokes: doubles once, cut at crossings, gaps closed, leftovers dropped, ends paired."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.strokes.doubled import without_doubles
from underdraw_stages.tidy.strokes.fewer_points import fewer_points
from underdraw_stages.tidy.strokes.fewest import fewest_strokes
from underdraw_stages.tidy.strokes.gaps import close_gaps, meet_instead_of, meet_on_lines
from underdraw_stages.tidy.strokes.network import NOTHING_KNOWN, Network, fingerprints_of, in_position_order, noded
from underdraw_stages.tidy.strokes.polylines import Lines
from underdraw_stages.tidy.strokes.short_leftovers import drop_short_leftovers

ALIKE_TIPS = 3.0  # lines side by side for longer than so many tips are one line
ALIKE_APART = 3.0  # nor are they for less than so many times the distance: lines that cross are near for as long
LOOK_TIPS = 1.5  # a line's direction at a junction is taken so many tips away from it
MOST_ROUNDS = 12  # of steps that can make work for themselves: two are usual, the second of which changes nothing


@dataclass(eq=False)
class Counts:
    """What the steps counted; lengths in mm."""

    doubled: float = 0.0
    joined: int = 0
    dropped: int = 0
    dropped_length: float = 0.0

    def add(self, other: "Counts") -> None:
        """Count what the other one counted as well."""
        self.doubled += other.doubled
        self.joined += other.joined
        self.dropped += other.dropped
        self.dropped_length += other.dropped_length


def marker_strokes(lines: Lines, tip: float, settings: TidySettings, counts: Counts) -> NDArray[Any]:
    """One marker's lines to its strokes.

    What one step mends can give another step something to do: a closed gap makes a run long enough to be a double, a
    straightened line touches its neighbour. So the strokes are gone through as the lines were, until nothing changes;
    then tidying them again finds nothing to do.
    """
    geometry, known = lines.geometry, NOTHING_KNOWN
    meant = geometry[lines.whole & (shapely.length(geometry) < settings.shortest)]
    rounds = {_key(geometry): geometry}
    for _ in range(MOST_ROUNDS):
        counts_of_round = Counts()
        geometry, known = gone_through(geometry, known, meant, tip, settings, counts_of_round)
        key, before = _key(geometry), list(rounds)
        rounds[key] = geometry
        if key in before:
            return rounds[min(before[before.index(key) :])]  # of a few that lead to one another, always the same one
        counts.add(counts_of_round)
        meant = geometry[shapely.length(geometry) < settings.shortest]
    return geometry


def _key(lines: NDArray[Any]) -> bytes:
    """Equal for the same lines in any order."""
    return np.sort(fingerprints_of(lines)).tobytes()


def gone_through(
    geometry: NDArray[Any],
    known: NDArray[np.uint64],
    meant: NDArray[Any],
    tip: float,
    settings: TidySettings,
    counts: Counts,
) -> tuple[NDArray[Any], NDArray[np.uint64]]:
    """Lines to strokes, once; and the fingerprints of the chains they are made of, which are known next time."""
    left, doubles = drawn_once(geometry, tip, settings, counts)
    single = float(shapely.length(left).sum())
    network = noded(left, known)
    counts.doubled += max(0.0, single - float(network.lengths.sum()))  # too short to be a run of its own
    network = neat(network, doubles, meant, settings, counts)
    return in_position_order(fewest_strokes(network, LOOK_TIPS * tip, settings.fewest)), network.fingerprints


def drawn_once(
    geometry: NDArray[Any], tip: float, settings: TidySettings, counts: Counts
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Lines without their doubles, and the doubles."""
    left, doubles = without_doubles(geometry, settings.same, max(ALIKE_TIPS * tip, ALIKE_APART * settings.same))
    counts.doubled += float(shapely.length(doubles).sum())
    return left, doubles


def neat(
    network: Network, doubles: NDArray[Any], meant: NDArray[Any], settings: TidySettings, counts: Counts
) -> Network:
    """A network with its gaps closed, its short leftovers dropped and its points thinned."""
    known = network.fingerprints
    network = meet_instead_of(meet_on_lines(network), doubles, settings.same)
    for _ in range(MOST_ROUNDS):
        joined = dropped = 0
        if settings.join > 0:
            network, joined = close_gaps(network, settings.join, settings.shortest)
            counts.joined += joined
        if settings.shortest > 0:
            network, dropped, dropped_length = drop_short_leftovers(network, settings.shortest, meant)
            counts.dropped += dropped
            counts.dropped_length += dropped_length
        chains, network = len(network), fewer_points(network, settings.points, known)
        if joined == dropped == 0 and len(network) == chains:  # else there may be new ends that meet, or new leftovers
            break
        known = network.fingerprints
    return network
