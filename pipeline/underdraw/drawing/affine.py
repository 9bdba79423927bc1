"""Affine maps of the plane: put together, turned back, applied to points.

A matrix is (a, b, c, d, e, f) as SVG 1.1 (2nd ed.), section 7.4, writes it: x' = a·x + c·y + e, y' = b·x + d·y + f.
"""

import math

import numpy as np
from numpy.typing import NDArray

Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def compose(outer: Matrix, inner: Matrix) -> Matrix:
    """The map that does `inner` first, then `outer`.

    >>> compose((2.0, 0.0, 0.0, 2.0, 0.0, 0.0), (1.0, 0.0, 0.0, 1.0, 3.0, 4.0))
    (2.0, 0.0, 0.0, 2.0, 6.0, 8.0)
    """
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def translation(x: float, y: float) -> Matrix:
    """A move by (x, y)."""
    return (1.0, 0.0, 0.0, 1.0, x, y)


def scale_of(matrix: Matrix) -> float:
    """How much a matrix enlarges lengths, as the square root of how it enlarges areas."""
    return math.sqrt(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]))


def inverse(matrix: Matrix) -> Matrix | None:
    """The matrix that undoes one; None where it flattens everything to a line."""
    a, b, c, d, e, f = matrix
    det = a * d - b * c
    if det == 0 or not math.isfinite(det) or not math.isfinite(1 / det):
        return None
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def transformed(points: NDArray[np.float64], matrix: Matrix) -> NDArray[np.float64]:
    """(…, 2) points through a matrix."""
    a, b, c, d, e, f = matrix
    moved: NDArray[np.float64] = points @ np.array([[a, b], [c, d]]) + np.array([e, f])
    return moved
