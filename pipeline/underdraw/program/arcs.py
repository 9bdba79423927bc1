"""Arcs as NISTIR 6556, section 3.5.3, means them: centres, sweeps, and their points."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
FULL_TURN = 2 * np.pi
MOST_PIECES = 1_000  # of one line or arc: a piece a millimetre on most canvases; longer moves get longer pieces
MOST_POINTS = 2_000_000  # along all that is looked at: a wild program gets coarser points, not all the memory


def centre_of(start: Array, end: Array, clockwise: Flags, i: Array, j: Array, r: Array) -> tuple[Array, Array]:
    """(a, 2) centres and (a,) gaps of arcs given by centre (I, J from the start) or by radius (R).

    The gap is by how much the radii at start and end differ; by radius, by how much the radius is too short to span
    its chord. A negative radius is the long way round (section 3.5.3.1). nan where neither is given.
    """
    given = ~(np.isnan(i) & np.isnan(j))
    by_centre = start + np.stack([np.nan_to_num(i), np.nan_to_num(j)], axis=1)
    at_start, at_end = np.hypot(*(start - by_centre).T), np.hypot(*(end - by_centre).T)
    chord = end - start
    span = np.hypot(*chord.T)
    with np.errstate(invalid="ignore", divide="ignore"):
        height = np.sqrt(np.maximum(r**2 - (span / 2) ** 2, 0.0))
        left = np.stack([-chord[:, 1], chord[:, 0]], axis=1) / span[:, None]
        # A short arc turns round a centre on the right of its chord when clockwise, on the left otherwise.
        side = np.where(clockwise, -1.0, 1.0) * np.where(r < 0, -1.0, 1.0)
        by_radius = (start + end) / 2 + left * (side * height)[:, None]
        short = np.maximum(span / 2 - np.abs(r), 0.0)
    centre = np.where(given[:, None], by_centre, by_radius)
    gap = np.where(given, np.abs(at_start - at_end), short)
    return centre, np.nan_to_num(gap)


def sweep_of(start: Array, end: Array, centre: Array, clockwise: Flags) -> Array:
    """(a,) radians turned, above 0 and at most a full turn, which is what equal ends mean."""
    first = np.arctan2(*(start - centre).T[::-1])
    last = np.arctan2(*(end - centre).T[::-1])
    turn = np.where(clockwise, first - last, last - first) % FULL_TURN
    return np.where((start == end).all(axis=1), FULL_TURN, turn)


def arc_points(
    start: Array, end: Array, centre: Array, clockwise: Flags, sag: float, step: float
) -> tuple[Array, NDArray[np.int64]]:
    """Points along arcs, ends included: (n, 2), and (a + 1,) offsets.

    Chords stay within `sag` mm of the arc and are no longer than `step` mm.

    The radius runs evenly from that at the start to that at the end, so that both ends are met.
    """
    sweep = sweep_of(start, end, centre, clockwise)
    first, last = np.hypot(*(start - centre).T), np.hypot(*(end - centre).T)
    radius = np.maximum(np.maximum(first, last), 1e-9)
    turn = np.minimum(2 * np.arccos(np.clip(1 - sag / radius, -1.0, 1.0)), step / radius)
    pieces = in_bounds(sweep / np.maximum(turn, 1e-9))
    bounds = np.concatenate([[0], np.cumsum(pieces + 1)])
    arc_of_point = np.repeat(np.arange(len(pieces)), pieces + 1)
    share = (np.arange(bounds[-1]) - bounds[arc_of_point]) / pieces[arc_of_point]
    angle = np.arctan2(*(start - centre).T[::-1])
    turned = angle[arc_of_point] + np.where(clockwise, -1.0, 1.0)[arc_of_point] * sweep[arc_of_point] * share
    reach = first[arc_of_point] + (last - first)[arc_of_point] * share
    points = centre[arc_of_point] + reach[:, None] * np.stack([np.cos(turned), np.sin(turned)], axis=1)
    points[bounds[:-1]], points[bounds[1:] - 1] = start, end
    return points, bounds


def in_bounds(pieces: Array) -> NDArray[np.int64]:
    """(p,) how many pieces each part is cut into: from one to `MOST_PIECES`, and not more than `MOST_POINTS` in all."""
    wanted = np.clip(np.ceil(np.nan_to_num(pieces)), 1, MOST_PIECES)
    total = wanted.sum()
    return np.asarray(np.maximum(wanted * min(1.0, MOST_POINTS / max(total, 1)), 1).astype(np.int64))


def arc_extremes(start: Array, end: Array, centre: Array, clockwise: Flags) -> Array:
    """(n, 2) the points where arcs run farthest left, right, near or far, other than at their ends."""
    if not len(start):
        return np.empty((0, 2))
    quarters = np.arange(4) * np.pi / 2
    first = np.arctan2(*(start - centre).T[::-1])[:, None]
    turn = np.where(clockwise[:, None], first - quarters, quarters - first) % FULL_TURN
    passed = turn < sweep_of(start, end, centre, clockwise)[:, None]
    radius = np.hypot(*(start - centre).T)[:, None, None]
    spokes = np.stack([np.cos(quarters), np.sin(quarters)], axis=1)
    return np.asarray((centre[:, None, :] + radius * spokes)[passed])
