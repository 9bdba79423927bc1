"""Arcs found again in polylines, within a tolerance: the longest from each point, then joined smoothly."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.gcode.arcs.longest_arcs import longest
from underdraw_stages.gcode.arcs.smooth_joins import corners, smooth_joins

Array = NDArray[np.float64]
Index = NDArray[np.int64]

CORNER_TURN = np.radians(30)  # a sharper turn is a corner: chords of curves from half a millimetre up turn by less
LONGEST_RUN = 400  # edges tried as one piece, so that long strokes are worked on in parallel; about 1 % more moves


@dataclass(frozen=True)
class Fitted:
    """(m,) moves in order: which point of the polyline each starts and ends at, and its bend.

    bend: 1/mm, k above: 0 of a line; above 0 the arc lies to the left of its chord and turns clockwise.
    bounds: (p + 1,) offsets: which moves each polyline has. places: (n, 2) mm the polyline's points, those where moves
    join put aside by a part of the tolerance where that lets them join smoothly.
    """

    first: Index
    last: Index
    bend: Array
    bounds: Index
    places: Array


def fit(coords: Array, parts: Index, tolerance: float, arcs: bool = True, smooth: bool = True) -> Fitted:
    """Fit moves to a ragged array of polylines, (n, 2) mm and (p + 1,) offsets, within `tolerance` mm.

    Never across a corner; arcs join without a turn where the polyline has none (`smooth`). Equal points that follow
    each other count as one; a polyline of one place has no moves.
    With `arcs` False only lines are used.
    """
    kept = _distinct(coords, parts)
    points = coords[kept]
    owner = np.searchsorted(parts, kept, side="right") - 1
    breaks = _breaks(points, owner)
    inside = owner[breaks[:-1]] == owner[breaks[1:]]
    start = breaks[:-1][inside]
    first, last, bend, _ = longest(points, start, breaks[1:][inside], np.full(len(start), tolerance), arcs)
    places = coords
    if arcs and smooth:
        corner = corners(points, CORNER_TURN)
        first, last, bend, moved = smooth_joins(points, corner, first, last, bend, tolerance)
        places = coords.copy()
        places[kept] = moved
    bounds = (
        np.searchsorted(owner[first], np.arange(len(parts))) if len(first) else np.zeros(len(parts), dtype=np.int64)
    )
    return Fitted(kept[first], kept[last], bend, bounds.astype(np.int64), places)


def _distinct(coords: Array, parts: Index) -> Index:
    """Points that differ from the one before, and the first of every polyline."""
    keep = np.ones(len(coords), dtype=np.bool_)
    keep[1:] = (coords[1:] != coords[:-1]).any(axis=1)
    keep[parts[:-1][parts[:-1] < len(coords)]] = True
    return np.flatnonzero(keep)


def _breaks(points: Array, owner: Index) -> Index:
    """Where pieces begin and end: ends of polylines, corners, and every so often on a long way without any."""
    count = len(points)
    if count < 2:
        return np.arange(count)
    step = np.diff(points, axis=0)
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((np.diff(heading) + np.pi) % (2 * np.pi) - np.pi)
    forced = np.zeros(count, dtype=np.bool_)
    forced[[0, -1]] = True
    forced[1:-1] = turn > CORNER_TURN
    changes = owner[1:] != owner[:-1]
    forced[1:] |= changes
    forced[:-1] |= changes
    start = np.maximum.accumulate(np.where(forced, np.arange(count), 0))
    forced |= (np.arange(count) - start) % LONGEST_RUN == 0
    return np.flatnonzero(forced)
