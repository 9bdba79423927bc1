"""Which boxes on a page lines run through, asked of very many at once: most have a point of a line well within."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import Floats, Ints, Mask
from underdraw.page.on_page import Box

CELL = 0.4  # mm on the page: a number's box is a few cells wide


@dataclass(frozen=True, eq=False)
class CrossedCells:
    """Square cells from `low` on. before: (w + 1, h + 1) how many points of lines are in the cells left of and above.

    So what is in a block of cells is a sum of four (F. C. Crow, 'Summed-area tables for texture mapping', SIGGRAPH
    1984, from memory).
    """

    low: Floats
    before: Ints

    @classmethod
    def of(cls, lines: NDArray[Any], page: Box) -> "CrossedCells":
        """The cells of a box of the page; lines: (m,) of any geometry, in mm on it."""
        low, high = np.array(page[:2]), np.array(page[2:])
        counts = np.maximum(np.ceil((high - low) / CELL).astype(np.int64), 1)
        cell = np.floor((shapely.get_coordinates(shapely.segmentize(lines, CELL)) - low) / CELL)
        cell = cell[((cell >= 0) & (cell < counts)).all(axis=1)].astype(np.int64)
        before = np.zeros(counts + 1, dtype=np.int64)
        points = np.bincount(cell @ (counts[1], 1), minlength=int(counts.prod())).reshape(counts)
        before[1:, 1:] = points.cumsum(axis=0).cumsum(axis=1)
        return cls(low, before)

    def crossed(self, boxes: Floats) -> Mask:
        """(n,) which of (n, 4) boxes hold a cell with a line in it; of the others a line may still cross the edge."""
        most = np.array(self.before.shape) - 1
        x0, y0 = np.clip(np.ceil((boxes[:, :2] - self.low) / CELL), 0, most).astype(np.int64).T
        x1, y1 = np.clip(np.floor((boxes[:, 2:] - self.low) / CELL), 0, most).astype(np.int64).T
        x1, y1 = np.maximum(x1, x0), np.maximum(y1, y0)
        before = self.before
        return np.asarray(before[x1, y1] - before[x0, y1] - before[x1, y0] + before[x0, y0] > 0)
