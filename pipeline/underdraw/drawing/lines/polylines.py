"""Polylines as points and the line of each: cut, measured along, and made lines again."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets


def cut_at(
    coords: NDArray[np.float64], line_index: NDArray[np.int64], seam: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Lines cut at some of their points.

    coords: (n, 2) mm. line_index: (n,) the line of each point, not falling. seam: (n,) True where a line is cut; at the
    first and last point of a line it does nothing. Returns coords and line_index of the pieces, and the (m,) line of
    each piece.
    """
    inside = np.zeros(len(coords), dtype=np.bool_)
    inside[1:-1] = (line_index[1:-1] == line_index[:-2]) & (line_index[1:-1] == line_index[2:])
    index = np.repeat(np.arange(len(coords)), 1 + (seam & inside))  # a seam's point ends one piece and begins the next
    begins = np.ones(len(index), dtype=np.bool_)
    begins[1:] = (index[1:] == index[:-1]) | (line_index[index[1:]] != line_index[index[:-1]])
    return coords[index], np.cumsum(begins) - 1, line_index[index[begins]]


def along(coords: NDArray[np.float64], line_index: NDArray[np.int64]) -> NDArray[np.float64]:
    """(n,) mm from the first point of its line to each of (n, 2) points; line_index: (n,), not falling."""
    step = np.zeros(len(coords))
    step[1:] = np.where(line_index[1:] == line_index[:-1], np.hypot(*np.diff(coords, axis=0).T), 0.0)
    total = np.cumsum(step)
    first = np.ones(len(coords), dtype=np.bool_)
    first[1:] = line_index[1:] != line_index[:-1]
    return total - total[first][np.cumsum(first) - 1]  # type: ignore[no-any-return]


def as_lines(coords: NDArray[np.float64], line_index: NDArray[np.int64]) -> NDArray[Any]:
    """(m,) LineStrings of points and the line of each, numbered from 0 without gaps."""
    return shapely.linestrings(coords, indices=line_index) if len(coords) else np.empty(0, dtype=object)


def lines_of_steps(start: NDArray[np.float64], end: NDArray[np.float64], first: NDArray[np.int64]) -> NDArray[Any]:
    """(m,) LineStrings of steps that follow each other: (k, 2) start and end of each, (m + 1,) first step of each line.

    >>> lines_of_steps(np.array([[0, 0], [1, 0]]), np.array([[1, 0], [1, 1]]), np.array([0, 2]))[0].wkt
    'LINESTRING (0 0, 1 0, 1 1)'
    """
    counts = np.diff(first)
    bounds = offsets(counts + 1)
    coords = np.empty((bounds[-1], 2))
    begins = np.zeros(len(coords), dtype=np.bool_)
    begins[bounds[:-1]] = True
    coords[~begins] = end
    coords[bounds[:-1]] = start[first[:-1]]
    return as_lines(coords, np.repeat(np.arange(len(counts)), counts + 1))
