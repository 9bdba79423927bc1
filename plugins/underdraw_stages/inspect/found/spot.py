"""One spot where the drawn line will not read."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Kind = Literal["merge", "close", "fine"]


@dataclass(frozen=True, eq=False)
class Spot:
    """A spot in board coordinates, mm.

    at: where it is worst. strokes: (n,) numbers from 1. length: of line in it. size: across, for a ring round it.
    pieces: (k, 2) length of each piece of its line, and the widest line that would still read there.
    outline: shapely geometry to mark.
    """

    kind: Kind
    at: tuple[float, float]
    strokes: NDArray[np.int64]
    length: float
    size: float
    pieces: NDArray[np.float64]
    outline: Any

    def left(self, width: float) -> float:
        """mm of its line that would still not read at a line of that width."""
        return float(self.pieces[self.pieces[:, 1] < width, 0].sum())
