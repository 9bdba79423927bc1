"""Many polylines in one array, and what is asked of all of them at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from underdraw.drawing.boxes import Box

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Ragged:
    """Polylines in one array: coords (n, 2), offsets (p + 1,), and (p,) which polyline of the input each came from."""

    coords: Floats
    offsets: Ints
    source: Ints

    def __len__(self) -> int:
        return len(self.source)


def offsets(counts: ArrayLike) -> NDArray[np.int64]:
    """(n,) counts to (n + 1,) offsets, from 0."""
    return np.concatenate([[0], np.cumsum(np.asarray(counts, dtype=np.int64))]).astype(np.int64)


def row_positions(counts: ArrayLike) -> NDArray[np.int64]:
    """(n,) the position of each item in its own row, from 0, of rows that hold (r,) counts of items.

    >>> row_positions([2, 0, 3]).tolist()
    [0, 1, 0, 1, 2]
    """
    counts = np.asarray(counts, dtype=np.int64)
    return np.asarray(np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts))


def gather(bounds: NDArray[np.int64], rows: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Which items the chosen rows of a ragged array hold, in order, and their new offsets.

    >>> gather(np.array([0, 2, 5, 6]), np.array([2, 0]))
    (array([5, 0, 1]), array([0, 1, 3]))
    """
    counts = bounds[rows + 1] - bounds[rows]
    new = offsets(counts)
    items = np.arange(new[-1]) + np.repeat(bounds[rows] - new[:-1], counts)
    return items, new


def part_bounds(coords: Floats, parts: Ints) -> Floats:
    """(p, 4) x0, y0, x1, y1 of each part; nan for one without points."""
    counts = np.diff(parts)
    bounds = np.full((len(counts), 4), np.nan)
    not_empty = counts > 0
    if not_empty.any():
        starts = parts[:-1][not_empty]
        bounds[not_empty, :2] = np.minimum.reduceat(coords, starts)
        bounds[not_empty, 2:] = np.maximum.reduceat(coords, starts)
    return bounds


def strictly_within(bounds: Floats, box: Box) -> Mask:
    """(n,) which of the bounds lie in the box without touching its edge."""
    x0, y0, x1, y1 = box
    return (bounds[:, 0] > x0) & (bounds[:, 1] > y0) & (bounds[:, 2] < x1) & (bounds[:, 3] < y1)


def all_of(flags: Mask, shapes: Ints) -> Mask:
    """(s,) whether all of a shape's parts are flagged; true for a shape without parts."""
    total = offsets(flags)
    return np.asarray(total[shapes[1:]] - total[shapes[:-1]] == np.diff(shapes))


def lengths_by(lines: Ragged, count: int) -> Floats:
    """(count,) length of the polylines of each source."""
    steps = np.hypot(*np.diff(lines.coords, axis=0, prepend=lines.coords[:1]).T) if len(lines.coords) else np.empty(0)
    steps[lines.offsets[:-1][np.diff(lines.offsets) > 0]] = 0.0
    line_of_point = np.repeat(lines.source, np.diff(lines.offsets))
    return np.bincount(line_of_point, weights=steps, minlength=count).astype(np.float64)
