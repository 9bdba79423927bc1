"""Unknowns from more readings than there are of them, how sure they are, and which readings do not agree.

Gauss and Newton's method on a model that is all but linear. A reading is left out when it is farther from what the
others say than readings of their scatter are once in a thousand (the externally studentised residual against Student's
t; Cook and Weisberg 1982, section 2.2).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Model = Callable[[Array], tuple[Array, Array]]  # unknowns -> (n,) readings, (n, unknowns) their derivatives

STEPS = 20
SMALLEST_SCATTER_MM = 0.01  # readings that agree to the last digit are no surer than that
# Student's t, two-sided 0.1 %, by degrees of freedom (handbook table, from memory).
STUDENT = ((1, 636.6), (2, 31.60), (3, 12.92), (4, 8.610), (5, 6.869), (6, 5.959), (7, 5.408), (8, 5.041), (9, 4.781),
           (10, 4.587), (12, 4.318), (15, 4.073), (20, 3.850), (30, 3.646), (60, 3.460), (120, 3.373))  # fmt: skip


@dataclass(frozen=True)
class Estimate:
    """values, errors: (u,) the unknowns and the standard error of each (nan: nothing checks it). scatter: mm, of one
    reading (nan: nothing shows it). left_out: readings that do not agree, and by how much each is off, mm.
    """

    values: Array
    errors: Array
    scatter: float
    left_out: dict[int, float]


def estimate(model: Model, readings: Array, unknowns: int) -> Estimate:
    """The unknowns that explain (n,) readings best, disagreeing ones left out one by one."""
    used = np.ones(len(readings), dtype=np.bool_)
    while True:
        values, slopes = _solve(model, readings, used, unknowns)
        rest = readings - model(values)[0]
        worst = _disagreeing(rest, slopes, used, unknowns)
        if worst is None:
            break
        used[worst] = False
    free = int(used.sum()) - unknowns
    scatter = float(np.sqrt((rest[used] ** 2).sum() / free)) if free > 0 else np.nan
    inverse = np.linalg.pinv(slopes[used].T @ slopes[used])
    errors = np.sqrt(np.diag(inverse)) * max(scatter, SMALLEST_SCATTER_MM) if free > 0 else np.full(unknowns, np.nan)
    return Estimate(values, errors, scatter, {int(row): float(rest[row]) for row in np.flatnonzero(~used)})


def mean(readings: Array) -> Estimate:
    """The mean of (n,) readings of one thing."""
    return estimate(lambda values: (np.repeat(values, len(readings)), np.ones((len(readings), 1))), readings, 1)


def _solve(model: Model, readings: Array, used: NDArray[np.bool_], unknowns: int) -> tuple[Array, Array]:
    values = np.zeros(unknowns)
    for _ in range(STEPS):
        expected, slopes = model(values)
        step = np.linalg.lstsq(slopes[used], (readings - expected)[used], rcond=None)[0]
        values = values + step
        if np.abs(step).max(initial=0.0) < 1e-12:
            break
    return values, model(values)[1]


def _disagreeing(rest: Array, slopes: Array, used: NDArray[np.bool_], unknowns: int) -> int | None:
    """The reading that agrees least with the others, if it does not agree."""
    rows = np.flatnonzero(used)
    free = len(rows) - unknowns - 1  # without the one in question
    if free < 1:
        return None
    inverse = np.linalg.pinv(slopes[rows].T @ slopes[rows])
    leverage = np.einsum("ij,jk,ik->i", slopes[rows], inverse, slopes[rows])
    checked = np.flatnonzero(leverage < 1.0 - 1e-9)  # others say something of it
    if not len(checked):
        return None
    share = 1.0 - leverage[checked]
    left = rest[rows][checked]
    without = np.maximum((rest[rows] ** 2).sum() - left**2 / share, 0.0) / free
    size = np.abs(left) / np.sqrt(np.maximum(without, SMALLEST_SCATTER_MM**2) * share)
    at = int(size.argmax())
    return int(rows[checked[at]]) if size[at] > student(free) else None


def student(free: int) -> float:
    """Student's t that is passed once in a thousand, either side, with so many degrees of freedom."""
    degrees, values = zip(*STUDENT, strict=True)
    return float(np.interp(1.0 / free, [1.0 / each for each in degrees[::-1]], values[::-1]))
