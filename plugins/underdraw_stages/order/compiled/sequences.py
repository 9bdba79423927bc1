"""Flat sequences that the search's loops index: lists where they run as they stand, arrays where they are compiled."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Reals: TypeAlias = list[float] | NDArray[np.float64]
Wholes: TypeAlias = list[int] | NDArray[np.int64]
