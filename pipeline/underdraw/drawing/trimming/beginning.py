"""A stroke without its beginning: what is left to draw of one that was broken off."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def without_beginning(points: Array, share: float) -> Array:
    """(n, 2) a polyline from that share (0 to 1) of its length on; at 1 its last point alone.

    >>> without_beginning(np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0)]), 0.25).tolist()
    [[2.0, 0.0], [4.0, 0.0], [4.0, 4.0]]
    """
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    start = min(max(share, 0.0), 1.0) * along[-1]
    if start <= 0.0:
        return points
    at = np.array([np.interp(start, along, points[:, axis]) for axis in (0, 1)])
    return np.vstack([at, points[int(np.searchsorted(along, start, side="right")) :]])
