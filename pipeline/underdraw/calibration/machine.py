"""What the machine's card shows: scale and squareness of the axes, backlash, the tip's runout."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.calibration.least_squares import Estimate, estimate, mean
from underdraw.calibration.readings import SIDE_MM, SQUARE, MachineReadings

Array = NDArray[np.float64]

SHOWING = (("bottom", "top"), ("left", "right"), ("rising", "falling"))  # what shows x's scale, y's, and the lean


@dataclass(frozen=True)
class Square:
    """scale: (2,) what x and y draw beside what they should, less 1. lean: radians that y leans towards x.
    scale_errors, lean_error: their standard errors; nan for what no reading shows. scatter: mm, of one reading.
    left_out: keys and numbers (from 1) of readings that do not agree, and by how much each is off, mm.
    """

    scale: Array
    scale_errors: Array
    lean: float
    lean_error: float
    scatter: float
    left_out: dict[tuple[str, int], float]


def shows_lean(readings: MachineReadings) -> bool:
    """Whether diagonals show how the axes lean: each axis has a side."""
    return all(any(getattr(readings, key) for key in keys) for keys in SHOWING[:2])


def square_of(readings: MachineReadings) -> Square | None:
    """Scale and squareness by least squares over all readings of the square; None without any.

    A diagonal alone shows neither axis, so it counts once both have a side.
    """
    lean = shows_lean(readings)
    named = [
        (key, number, value)
        for key in SQUARE
        for number, value in enumerate(getattr(readings, key), 1)
        if lean or key not in SHOWING[2]
    ]
    if not named:
        return None
    keys = [key for key, _, _ in named]
    shown = np.flatnonzero([any(key in held for key in keys) for held in SHOWING])

    def sides(values: Array) -> tuple[Array, Array]:
        whole = np.zeros(len(SHOWING))
        whole[shown] = values
        lengths, slopes = _sides(keys, whole)
        return lengths, slopes[:, shown]

    found = estimate(sides, np.array([value for _, _, value in named]), len(shown))
    values, errors = np.full((2, len(SHOWING)), np.nan)
    values[shown], errors[shown] = found.values, found.errors
    left_out = {(keys[row], named[row][1]): off for row, off in found.left_out.items()}
    return Square(values[:2], errors[:2], float(values[2]), float(errors[2]), found.scatter, left_out)


def _sides(keys: list[str], values: Array) -> tuple[Array, Array]:
    """What the square's sides and diagonals measure for scales and lean (n,), and how they change with each (n, 3)."""
    x, y, lean = SIDE_MM * (1 + values[0]), SIDE_MM * (1 + values[1]), values[2]
    lengths, slopes = np.empty(len(keys)), np.zeros((len(keys), 3))
    for row, key in enumerate(keys):
        if key in ("bottom", "top"):
            lengths[row], slopes[row, 0] = x, SIDE_MM
        elif key in ("left", "right"):
            lengths[row], slopes[row, 1] = y, SIDE_MM
        else:
            way = 1.0 if key == "rising" else -1.0
            across, up = way * x + y * np.sin(lean), y * np.cos(lean)
            lengths[row] = np.hypot(across, up)
            slopes[row, 0] = across * way * SIDE_MM / lengths[row]
            slopes[row, 1] = (across * np.sin(lean) + up * np.cos(lean)) * SIDE_MM / lengths[row]
            slopes[row, 2] = (across * y * np.cos(lean) - up * y * np.sin(lean)) / lengths[row]
    return lengths, slopes


def backlash_of(readings: MachineReadings) -> dict[str, Estimate]:
    """The backlash of x and y, mm, by reversal, where it was read; `left_out` counts readings from 0."""
    steps: dict[str, Any] = {"x": readings.step_x, "y": readings.step_y}
    return {axis: mean(np.array(values)) for axis, values in steps.items() if values}


def runout_of(readings: MachineReadings) -> tuple[Array, Array] | None:
    """(2,) mm from the holder's middle to the tip, right and away, and the error of each; None where it was not read.

    Turned half round, the tip draws as far on the other side: half of the way from cross to cross, and back.
    """
    if not readings.turned:
        return None
    ways = np.array(readings.turned)
    either = [mean(ways[:, axis]) for axis in (0, 1)]
    return np.array([-each.values[0] / 2 for each in either]), np.array([each.errors[0] / 2 for each in either])
