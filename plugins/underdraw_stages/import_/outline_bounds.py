"""The box around outlines, in some user units: what clips, patterns and origins measured by the object refer to."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.import_.flatten import flatten
from underdraw_stages.import_.items import Box, Item
from underdraw_stages.import_.path_data import Outline
from underdraw_stages.import_.placing import Matrix, inverse, times

SHARE = 1e-5  # of the outline's size, how far a box measured on chords may be off


def placed(points: NDArray[np.float64], matrix: Matrix) -> NDArray[np.float64]:
    """Points (…, 2) through a matrix."""
    a, b, c, d, e, f = matrix
    moved: NDArray[np.float64] = points @ np.array([[a, b], [c, d]]) + np.array([e, f])
    return moved


def outline_box(outline: Outline, matrix: Matrix) -> Box | None:
    """The box of one outline through a matrix, None where there is nothing."""
    if not len(outline.starts):
        return None
    curves, starts = placed(outline.curves, matrix), placed(outline.starts, matrix)
    ends = np.concatenate([curves.reshape(-1, 2), starts])
    if not np.isfinite(ends).all():
        return None
    size = float(np.ptp(ends, axis=0).max()) or 1.0
    coords, _ = flatten(curves, outline.parts, starts, size * SHARE)
    (x0, y0), (x1, y1) = coords.min(axis=0), coords.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def bounds_in(items: Iterable[Item], user: Matrix) -> Box | None:
    """The box around items, in the user units of `user` (a matrix to mm); None where there is nothing to measure."""
    back = inverse(user)
    if back is None:
        return None
    boxes = [box for item in items if (box := outline_box(item.outline, times(back, item.matrix))) is not None]
    if not boxes:
        return None
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)
