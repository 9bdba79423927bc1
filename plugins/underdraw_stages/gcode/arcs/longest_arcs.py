"""The longest arc or line from each point of a polyline that stays within a tolerance, and the next from its end.

Every arc through two points of the polyline is one of a family with one parameter. In the chord's own frame, with the
ends at (-h, 0) and (h, 0), the circle through them and (u, v) obeys v = k·(h² - u² - v²) for one k, so the best k for
all points between is a quotient of two sums. All pieces are worked on at once, one trial of each in every round.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

LARGEST_RADIUS_MM = 10_000.0  # flatter arcs are drawn as lines: controllers lose digits in larger centres
BACKWARD_SHARE = 0.1  # of the tolerance: how far a point may step back along the chord


def longest(points: Array, start: Index, end: Index, tolerance: Array, arcs: bool) -> tuple[Index, Index, Array, Index]:
    """First and last points and bends of moves that cover every piece from its start to its end, piece by piece.

    points: (n, 2) mm, no two the same one after the other. start, end: (p,) points. tolerance: (p,) mm, of each piece.
    Last come (p + 1,) offsets: which moves each piece has. Each move gallops to an end that fails, then halves the
    interval.
    """
    piece = np.arange(len(start))
    done = [(piece[:0], start[:0], start[:0], np.empty(0))]
    here, stop = start.copy(), end.copy()
    good, bad = here + 1, stop + 1  # the farthest end known to fit, the nearest known not to
    bend = np.zeros(len(here))
    stride = np.full(len(here), 4)
    while len(here):
        finished = (good == stop) | (bad - good == 1)
        if finished.any():
            done.append((piece[finished], here[finished], good[finished], bend[finished]))
            stride[finished] = np.maximum(good[finished] - here[finished] - 1, 1)
            here[finished] = good[finished]
            good[finished] += 1
            bad[finished] = stop[finished] + 1
            bend[finished] = 0.0
            going = here < stop
            here, stop, good, bad, stride = (array[going] for array in (here, stop, good, bad, stride))
            piece, bend, tolerance = piece[going], bend[going], tolerance[going]
            continue
        halved = np.where(bad > stop, np.minimum(good + stride, stop), (good + bad) // 2)
        fits, bent = _trial(points, here, halved, tolerance, arcs)
        good, bad = np.where(fits, halved, good), np.where(fits, bad, halved)
        bend = np.where(fits, bent, bend)
        stride = np.where(fits, 2 * stride, stride)
    piece, first, last, bend = (np.concatenate(columns) for columns in zip(*done, strict=True))
    order = np.lexsort((first, piece))
    bounds = np.searchsorted(piece[order], np.arange(len(start) + 1)).astype(np.int64)
    return first[order], last[order], bend[order], bounds


def _trial(points: Array, first: Index, last: Index, tolerance: Array, arcs: bool) -> tuple[NDArray[np.bool_], Array]:
    """(k,) whether one move from point `first` to point `last` stays within the tolerance, and its bend."""
    chord = points[last] - points[first]
    length = np.hypot(*chord.T)
    half = length / 2
    along = chord / np.maximum(length, 1e-12)[:, None]
    counts = last - first + 1
    ends = np.cumsum(counts)
    starts = ends - counts
    owner = np.repeat(np.arange(len(first)), counts)
    spot = points[np.arange(ends[-1]) - starts[owner] + first[owner]] - points[first][owner]
    u = spot[:, 0] * along[owner, 0] + spot[:, 1] * along[owner, 1] - half[owner]
    v = spot[:, 1] * along[owner, 0] - spot[:, 0] * along[owner, 1]
    step = np.diff(u, prepend=0.0)
    step[starts] = 0.0
    forward = np.minimum.reduceat(step, starts) >= -BACKWARD_SHARE * tolerance
    straight = forward & (length > 1e-9) & (np.maximum.reduceat(np.abs(v), starts) <= tolerance)
    bend = np.zeros(len(first))
    if not arcs:
        return straight, bend
    room = half[owner] ** 2 - u**2 - v**2
    square = np.add.reduceat(room**2, starts)
    bend = np.add.reduceat(v * room, starts) / np.maximum(square, 1e-30)
    bent = np.where(np.abs(bend) > 1 / (2 * LARGEST_RADIUS_MM), bend, np.inf)
    centre = -1 / (2 * bent)
    radius = np.hypot(half, centre)
    apart = np.abs(np.hypot(u, v - centre[owner]) - radius[owner])
    # An edge comes nearest to the centre at its ends or at the foot of the perpendicular, if that lies between them.
    height = v - centre[owner]
    leg_u, leg_v = np.diff(u, prepend=0.0), np.diff(height, prepend=0.0)
    before_u, before_v = u - leg_u, height - leg_v
    square = np.maximum(leg_u**2 + leg_v**2, 1e-30)
    foot = -(before_u * leg_u + before_v * leg_v) / square
    dip = np.abs(before_u * height - before_v * u) / np.sqrt(square) - radius[owner]
    between = (foot > 0) & (foot < 1)
    between[starts] = False
    apart = np.where(between, np.maximum(apart, np.abs(dip)), apart)
    curved = forward & (length > 1e-9) & np.isfinite(bent) & (radius <= LARGEST_RADIUS_MM)
    curved &= np.maximum.reduceat(apart, starts) <= tolerance
    # Near half a circle rounding can turn the bend's sign: the points must lie on the side that the arc bends to.
    curved &= np.minimum.reduceat(v * np.sign(bend)[owner], starts) >= -tolerance
    return straight | curved, np.where(straight, 0.0, np.where(curved, bend, 0.0))
