"""Seconds of single moves and of whole polylines on a machine that speeds up and slows down."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

STANDS = 0.0  # mm²/s²: the square of the speed of a tip at rest


def rest_to_rest(distance: ArrayLike, speed: ArrayLike, acceleration: float) -> Array:
    """Seconds for moves from rest to rest (any dynamics text): d/v + v/a if d ≥ v²/a, else 2·√(d/a).

    distance: mm, any shape. speed: mm/s, of the same shape or one for all.

    >>> rest_to_rest([0.0, 3.0, 100.0], 50.0, 300.0).round(4).tolist()
    [0.0, 0.2, 2.1667]
    """
    length, top = np.broadcast_arrays(np.asarray(distance, dtype=np.float64), np.asarray(speed, dtype=np.float64))
    long = length / top + top / acceleration
    return np.where(length >= top**2 / acceleration, long, 2 * np.sqrt(length / acceleration))


def corner_speed_squared(enter: Array, leave: Array, acceleration: float, corner: float) -> Array:
    """(n,) mm²/s²: how fast, squared, a corner may be passed when the tip may leave the path by `corner` mm.

    enter, leave: (n, 2 or 3) unit vectors of the path before and after. Geometry of the circle tangent to both legs:
    v² = a·δ·sin(φ/2)/(1 − sin(φ/2)) with φ the corner's interior angle; infinite straight on, 0 in a reversal.
    """
    along = np.clip(np.einsum("ij,ij->i", enter, leave), -1.0, 1.0)
    sine = np.sqrt((1 + along) / 2)  # sin(φ/2), the interior angle φ being π less the turn
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(sine < 1, acceleration * corner * sine / (1 - sine), np.inf)


def move_seconds(
    length: Array,
    speed: Array,
    enter: Array,
    leave: Array,
    stands: NDArray[np.bool_],
    *,
    acceleration: float,
    corner: float,
    radius: Array | None = None,
) -> Array:
    """(n,) seconds of each of n moves, one after the other: lines or arcs, in the plane or in space.

    length: (n,) mm. speed: (n,) mm/s at most. enter, leave: (n, 2 or 3) unit vectors at a move's start and end (equal
    for a line; anything for a move of no length). stands: (n,) whether the tip is at rest before the move; it also is
    before the first and after the last. acceleration: mm/s². corner: mm, see `corner_speed_squared`.
    radius: (n,) mm, of a move that is an arc, infinite for a line: √(a·r) is its greatest speed.
    """
    if not len(length):
        return np.empty(0)
    top = np.asarray(speed, dtype=np.float64) ** 2
    if radius is not None:
        top = np.minimum(top, acceleration * radius)
    limit = np.full(len(length) + 1, STANDS)  # greatest speed squared at each end of a move
    limit[1:-1] = np.minimum(top[:-1], top[1:])
    limit[1:-1] = np.minimum(limit[1:-1], corner_speed_squared(leave[:-1], enter[1:], acceleration, corner))
    limit[:-1][stands] = STANDS
    reached = _within_acceleration(limit, np.asarray(length, dtype=np.float64), acceleration)
    return _ramp_seconds(reached[:-1], reached[1:], top, np.asarray(length, dtype=np.float64), acceleration)


def _within_acceleration(limit: Array, length: Array, acceleration: float) -> Array:
    """(n + 1,) the speeds squared that can be had, speeding up from each point and slowing down to each.

    v² grows by at most 2·a·d over d, so the least over all earlier points j of limit[j] + 2·a·(s − s[j]) is what
    speeding up allows; likewise backwards: two running minima in place of a loop.
    """
    gained = 2 * acceleration * np.concatenate([[0.0], np.cumsum(length)])
    forward = np.minimum.accumulate(limit - gained) + gained
    backward = np.minimum.accumulate((limit + gained)[::-1])[::-1] - gained
    return np.maximum(np.minimum(np.minimum(forward, backward), limit), 0.0)


def _ramp_seconds(first: Array, last: Array, top: Array, length: Array, acceleration: float) -> Array:
    """(n,) seconds of moves with speeds squared `first` and `last` at their ends and at most `top` between."""
    peak = np.minimum((first + last) / 2 + acceleration * length, top)  # where speeding up meets slowing down
    highest = np.sqrt(peak)
    ramps = (2 * highest - np.sqrt(first) - np.sqrt(last)) / acceleration
    steady = length - (2 * peak - first - last) / (2 * acceleration)
    with np.errstate(divide="ignore", invalid="ignore"):
        cruise = np.where(highest > 0, np.maximum(steady, 0.0) / highest, 0.0)
    return np.asarray(np.where(length > 0, np.maximum(ramps, 0.0) + cruise, 0.0))


def stroke_seconds(coords: Array, parts: NDArray[np.int64], speed: Array, acceleration: float, corner: float) -> Array:
    """(p,) seconds to draw each part of a ragged array of polylines at its speed, from rest to rest.

    coords: (n, 2) mm. parts: (p + 1,) offsets. speed: (p,) mm/s. A curve that became short chords is taken as the
    curve: nowhere faster than √(a·r), r the circle through a point and its neighbours.
    """
    if len(coords) < 2:
        return np.zeros(len(parts) - 1)
    step = np.diff(coords, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    within = np.ones(len(step), dtype=np.bool_)
    within[parts[1:-1][(parts[1:-1] > 0) & (parts[1:-1] < len(coords))] - 1] = False  # not from one part to the next
    length = np.where(within, length, 0.0)
    part_of_step = np.searchsorted(parts, np.arange(len(step)), side="right") - 1
    keep = length > 0
    step, length, part_of_step, place = step[keep], length[keep], part_of_step[keep], np.flatnonzero(keep)
    heading = step / length[:, None]
    stands = np.ones(len(step), dtype=np.bool_)
    stands[1:] = part_of_step[1:] != part_of_step[:-1]
    top = np.minimum(speed[part_of_step], np.sqrt(acceleration * _radius_beside(heading, length, stands)))
    seconds = move_seconds(length, top, heading, heading, stands, acceleration=acceleration, corner=corner)
    total = np.concatenate([[0.0], np.cumsum(seconds)])
    first = np.searchsorted(place, parts)
    return np.asarray(total[first[1:]] - total[first[:-1]])


def _radius_beside(heading: Array, length: Array, stands: NDArray[np.bool_]) -> Array:
    """(n,) mm: for each chord the larger of the circles through its ends and a neighbour; infinite on a straight.

    The larger, so that one sharp corner beside a chord (which `corner_speed_squared` sees to) does not slow the chord.
    """
    if len(length) < 2:
        return np.full(len(length), np.inf)
    across = np.abs(heading[:-1, 0] * heading[1:, 1] - heading[:-1, 1] * heading[1:, 0])
    reach = np.hypot(*(heading[:-1] * length[:-1, None] + heading[1:] * length[1:, None]).T)
    with np.errstate(divide="ignore"):
        radius = np.where(across > 1e-12, reach / (2 * np.maximum(across, 1e-300)), np.inf)  # law of sines
    radius[stands[1:]] = np.inf
    beside = np.full(len(length), np.inf)
    beside[1:-1] = np.maximum(radius[:-1], radius[1:])
    return beside
