"""Lines taken apart for tests that look for what is nearest: shapely finds short ones sooner than long ones."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray


def segments(lines: list[Any]) -> NDArray[Any]:
    """(m,) LineStrings from each point of a line to the next."""
    coords, line = shapely.get_coordinates(np.array(lines, dtype=object), return_index=True)
    first = np.flatnonzero(line[1:] == line[:-1])
    return np.asarray(shapely.linestrings(np.stack([coords[first], coords[first + 1]], axis=1)))
