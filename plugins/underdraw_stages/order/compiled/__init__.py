"""Loops that run as they stand for small jobs and compiled for large ones, and the sequences that they index.

A sequence is a list where the loops run as they stand, an array where they are compiled.
"""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Reals: TypeAlias = list[float] | NDArray[np.float64]
Wholes: TypeAlias = list[int] | NDArray[np.int64]
