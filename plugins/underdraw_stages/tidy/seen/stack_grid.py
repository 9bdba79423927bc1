"""What lies deep in a stack is found on a coarse grid, so that nobody has to cut it away piece by piece.

A cell that one opaque area covers wholly shows nothing of what lies beneath that area. A line or an area all of whose
cells are covered higher up is never seen, and hides nothing that is not hidden already.
"""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets, row_positions

DEEP = 4.0  # areas on top of one another on average; in a shallower stack the grid costs more than it saves
CELLS_PER_AREA = 16  # cells that the box of an average area takes
MOST_CELLS_ACROSS = 2000


class StackGrid:
    """Square cells, and for each the highest level in the stack of an area that covers it wholly (-1: none)."""

    def __init__(self, area: NDArray[Any], order: NDArray[np.int64]) -> None:
        bounds = shapely.bounds(area)
        size = (bounds[:, 2:] - bounds[:, :2]).prod(axis=1).sum()
        low, high = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
        self.cell = max(
            float(np.sqrt(size / (CELLS_PER_AREA * len(area)))), float((high - low).max()) / MOST_CELLS_ACROSS
        )
        self.low = low
        self.count = np.maximum(np.ceil((high - low) / self.cell).astype(np.int64), 1)
        columns, rows = np.meshgrid(np.arange(self.count[0]), np.arange(self.count[1]), indexing="ij")
        x, y = low[0] + columns.ravel() * self.cell, low[1] + rows.ravel() * self.cell
        boxes = shapely.box(x, y, x + self.cell, y + self.cell)
        covering, cell = shapely.STRtree(boxes).query(area, predicate="contains")
        self.top = np.full(len(boxes), -1, dtype=np.int64)
        np.maximum.at(self.top, cell, order[covering])

    def buried(self, geometry: NDArray[Any], order: NDArray[np.int64]) -> NDArray[np.bool_]:
        """(n,) whether each geometry lies in cells alone that something higher in the stack covers wholly."""
        bounds = shapely.bounds(geometry)
        first = np.floor((bounds[:, :2] - self.low) / self.cell).astype(np.int64)
        last = np.floor((bounds[:, 2:] - self.low) / self.cell).astype(np.int64)
        outside = (first < 0).any(axis=1) | (last >= self.count).any(axis=1)
        first, last = np.clip(first, 0, self.count - 1), np.clip(last, 0, self.count - 1)
        wide, tall = (last - first + 1).T
        counts = wide * tall
        start, step = offsets(counts)[:-1], row_positions(counts)
        column = np.repeat(first[:, 0], counts) + step // np.repeat(tall, counts)
        row = np.repeat(first[:, 1], counts) + step % np.repeat(tall, counts)
        lowest = np.minimum.reduceat(self.top[column * self.count[1] + row], start)
        return (lowest > order) & ~outside  # type: ignore[no-any-return]


def is_deep(area: NDArray[Any]) -> bool:
    """Whether so many areas lie on one another that the grid pays."""
    bounds = shapely.bounds(area)
    sizes = (bounds[:, 2:] - bounds[:, :2]).prod(axis=1)
    whole = (bounds[:, 2:].max(axis=0) - bounds[:, :2].min(axis=0)).prod()
    return bool(len(area) > 100 and sizes.sum() > DEEP * whole > 0)
