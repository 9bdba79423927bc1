"""Strokes as the program's moves: arcs and lines with their ends rounded as they will be written."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw_stages.gcode.arcs.arc_fit import fit
from underdraw_stages.gcode.setup import Setup

Array = NDArray[np.float64]
LINE, CLOCKWISE, COUNTER = 0, 1, 2
ROUNDING_SHARE = 3  # of a program's smallest step: what rounding of ends and centre adds to the deviation at worst
RADII_SHARE = 0.75  # of what NISTIR 6556, section 3.5.3.2, lets an arc's two radii differ
RADII_INCH, RADII_MM = 0.0002, 0.002
SMALLEST_ARC_STEPS = 30  # arcs of fewer smallest steps would be bent by rounding: drawn as lines


@dataclass(frozen=True)
class Drawn:
    """(m,) moves of all strokes in order, in the program's units.

    start: (s, 2) where each stroke begins. end: (m, 2). kind: LINE, CLOCKWISE, COUNTER. centre: (m, 2) from the
    move's start, of arcs. bounds: (s + 1,) offsets: which moves each stroke has; a dot has none.
    """

    start: Array
    end: Array
    kind: NDArray[np.int8]
    centre: Array
    bounds: NDArray[np.int64]


def moves_of(drawing: Drawing, setup: Setup, tolerance: float) -> Drawn:
    """Fit moves to every stroke, within `tolerance` mm after rounding."""
    points = drawing.coords * (1, -1)  # y away from the operator, so that left and right are the machine's
    room = max(tolerance - ROUNDING_SHARE * setup.coarsest_mm, tolerance / 2)
    fitted = fit(points, drawing.parts, room, setup.controller.arcs)
    shifts = setup.lying.tip_shifts(drawing.marker.tolist())
    written = setup.in_program(fitted.places * (1, -1), shifts.repeat(np.diff(drawing.parts), axis=0))
    first, last, bend, bounds = fitted.first, fitted.last, fitted.bend * setup.unit_mm, fitted.bounds
    centre, sound = _centres(written[first], written[last], bend, setup)
    unsound = (bend != 0) & ~sound
    if unsound.any():
        first, last, bend, centre, bounds = _as_lines(first, last, bend, centre, bounds, unsound)
    kind = np.where(bend == 0, LINE, np.where(bend > 0, CLOCKWISE, COUNTER)).astype(np.int8)
    start, end = written[first], written[last]
    moves = (start != end).any(axis=1)
    kept = np.concatenate([[0], np.cumsum(moves)])
    return Drawn(
        start=written[drawing.parts[:-1]],
        end=end[moves],
        kind=kind[moves],
        centre=centre[moves],
        bounds=kept[bounds].astype(np.int64),
    )


def _centres(start: Array, end: Array, bend: Array, setup: Setup) -> tuple[Array, NDArray[np.bool_]]:
    """(m, 2) centres from each start, rounded, and (m,) whether the arc still is one after rounding."""
    chord = end - start
    length = np.hypot(*chord.T)
    with np.errstate(divide="ignore", invalid="ignore"):
        left = np.stack([-chord[:, 1], chord[:, 0]], axis=1) / length[:, None]
        exact = chord / 2 - left / (2 * bend)[:, None]
        centre = np.round(exact, setup.decimals) + 0.0
        before, after = np.hypot(*centre.T), np.hypot(*(chord - centre).T)
    limit = RADII_SHARE * (RADII_INCH if setup.units == "in" else RADII_MM)
    smallest = SMALLEST_ARC_STEPS * setup.coarsest_mm / setup.unit_mm
    with np.errstate(invalid="ignore"):
        sound = (np.abs(before - after) <= limit) & (length >= smallest) & (before >= smallest)
    return np.where(sound[:, None], centre, 0.0), sound


def _as_lines(
    first: NDArray[np.int64],
    last: NDArray[np.int64],
    bend: Array,
    centre: Array,
    bounds: NDArray[np.int64],
    unsound: NDArray[np.bool_],
) -> tuple[NDArray[np.int64], NDArray[np.int64], Array, Array, NDArray[np.int64]]:
    """Put the polyline's own edges in the place of arcs that rounding has spoilt."""
    counts = np.where(unsound, last - first, 1)
    row = np.repeat(np.arange(len(first)), counts)
    step = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
    apart = unsound[row]
    begin = np.where(apart, first[row] + step, first[row])
    end = np.where(apart, begin + 1, last[row])
    shifted = np.concatenate([[0], np.cumsum(counts)])[bounds]
    return begin, end, np.where(apart, 0.0, bend[row]), centre[row], shifted
