"""The straight edges by which fills are closed where their outlines are open: an edge that is seen and never stroked.

SVG 1.1, section 11.3: open subpaths are filled as if they were closed.
"""

import numpy as np

from underdraw.drawing.ragged import Floats, Ints


def closing_edges(coords: Floats, parts: Ints, width: Floats) -> tuple[Ints, Floats]:
    """(k,) which of the parts have one, and (k, 2, 2) from each one's last point to its first, mm.

    coords (n, 2), parts (p + 1,) offsets, width (p,) mm of the stroke along each: what is shorter lies under its ends.

    >>> part, edge = closing_edges(np.array([[0, 0], [9, 0], [9, 9]]), np.array([0, 3]), np.array([1.0]))
    >>> part.tolist(), edge.tolist()
    ([0], [[[9, 9], [0, 0]]])
    """
    part = np.flatnonzero(np.diff(parts) > 2)
    edges = np.stack([coords[parts[part + 1] - 1], coords[parts[part]]], axis=1)
    wide = np.hypot(*(edges[:, 1] - edges[:, 0]).T) > width[part]
    return part[wide], edges[wide]
