"""Distances between strokes' ends and rings, from below: never more than they really are.

A ring is known by some of its points and by how far its other points are from those (`sample_gap`); distant
pairs only by circles. Where a bound rests on such a pair, its distance is found exactly. Runs as it stands or compiled.
"""

from math import sqrt
from typing import NamedTuple

from underdraw_stages.order.compiled import Reals, Wholes


class Outlines(NamedTuple):
    """Nodes (ends of open strokes, and rings) by some of their points; mm."""

    start: Wholes  # (nodes + 1,) into x, y
    x: Reals
    y: Reals
    sample_gap: Reals  # (nodes,) how far a point of it may be from the nearest of those; 0 for an end
    middle_x: Reals  # (nodes,) a circle round all of its points
    middle_y: Reals
    radius: Reals


def lower_distances(o: Outlines, rings: Wholes, near: float, out: Reals) -> None:
    """(rings × nodes,) into `out`: no more than each ring's distance to each node, and close where below `near`."""
    nodes = len(o.sample_gap)
    for row in range(len(rings)):
        i = rings[row]
        for j in range(nodes):
            dx, dy = o.middle_x[i] - o.middle_x[j], o.middle_y[i] - o.middle_y[j]
            bound = sqrt(dx * dx + dy * dy) - o.radius[i] - o.radius[j]
            if bound < near and i != j:
                least = 1e300
                for a in range(o.start[i], o.start[i + 1]):
                    for b in range(o.start[j], o.start[j + 1]):
                        dx, dy = o.x[a] - o.x[b], o.y[a] - o.y[b]
                        here = dx * dx + dy * dy
                        least = min(least, here)
                bound = max(bound, sqrt(least) - o.sample_gap[i] - o.sample_gap[j])
            out[row * nodes + j] = max(0.0, bound)


KERNELS = ["lower_distances"]
