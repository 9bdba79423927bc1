"""Areas that hide what lies beneath them."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Covers:
    """Opaque areas: (k,) valid Polygons and places in the stack; bands of strokes also have middle lines and widths."""

    area: NDArray[Any]
    order: NDArray[np.int64]
    middle: NDArray[Any]
    width: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.area)

    def select(self, keep: NDArray[np.bool_]) -> "Covers":
        """Only these; of bands of strokes."""
        return Covers(self.area[keep], self.order[keep], self.middle[keep], self.width[keep])

    def together(self, other: "Covers") -> "Covers":
        """These and then the other ones; of bands of strokes."""
        return Covers(
            np.concatenate([self.area, other.area]),
            np.concatenate([self.order, other.order]),
            np.concatenate([self.middle, other.middle]),
            np.concatenate([self.width, other.width]),
        )
