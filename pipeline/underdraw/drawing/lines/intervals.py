"""Intervals of lines on one axis, in mm, on which the lines lie one after the other with room between."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.polylines import along, as_lines, cut_at


def on_axis(coords: NDArray[np.float64], line_index: NDArray[np.int64]) -> NDArray[np.float64]:
    """(n,) each point's position on the one axis, in mm: along its line, the lines a metre apart."""
    local = along(coords, line_index)
    last = np.concatenate([line_index[1:] != line_index[:-1], [True]])
    length = local[last] + 1000.0
    return local + np.concatenate([[0.0], np.cumsum(length)[:-1]])[line_index]  # type: ignore[no-any-return]


def union(intervals: NDArray[np.float64], gap: float) -> NDArray[np.float64]:
    """(r, 2) sorted intervals that do not come within `gap` of each other, covering (k, 2) intervals."""
    if not len(intervals):
        return intervals
    intervals = intervals[np.argsort(intervals[:, 0], kind="stable")]
    reach = np.maximum.accumulate(intervals[:, 1])
    fresh = np.concatenate([[True], intervals[1:, 0] > reach[:-1] + gap])
    last = np.concatenate([fresh[1:], [True]])
    return np.stack([intervals[fresh, 0], reach[last]], axis=1)


def shared(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """(r, 2) what two sets of sorted intervals, (k, 2) and (l, 2), each without overlaps, have in common."""
    at = np.concatenate([one.ravel(), other.ravel()])
    step = np.tile([1, -1], len(at) // 2)
    sequence = np.lexsort((step, at))  # what ends here ends before the next begins: a touch is no overlap
    inside = np.cumsum(step[sequence]) == 2
    begins = np.flatnonzero(inside[:-1]) if len(at) else np.empty(0, dtype=np.int64)
    return np.stack([at[sequence[begins]], at[sequence[begins + 1]]], axis=1)


def overlap(start: NDArray[np.float64], stop: NDArray[np.float64], intervals: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(k,) whether each of (k,) stretches shares more than a point with one of the sorted (r, 2) intervals."""
    if not len(intervals):
        return np.zeros(len(start), dtype=np.bool_)
    following = np.searchsorted(intervals[:, 1], start, side="right")
    within = following < len(intervals)
    return within & (intervals[np.minimum(following, len(intervals) - 1), 0] < stop)  # type: ignore[no-any-return]


def cut_out(
    coords: NDArray[np.float64], line_index: NDArray[np.int64], position: NDArray[np.float64], runs: NDArray[np.float64]
) -> tuple[NDArray[Any], NDArray[np.int64], NDArray[np.bool_]]:
    """Lines cut at these runs of theirs: (m,) pieces, the line of each, and which pieces are the runs."""
    if not len(runs):
        lines = as_lines(coords, line_index)
        return lines, np.arange(len(lines)), np.zeros(len(lines), dtype=np.bool_)
    cuts = runs.ravel()
    segment = np.searchsorted(position, cuts, side="right") - 1
    segment = np.minimum(segment, len(position) - 2)
    step = position[segment + 1] - position[segment]  # 0 from the end of one line to the start of the next
    share = np.divide(cuts - position[segment], step, out=np.zeros(len(cuts)), where=step > 0)
    share = np.where(line_index[segment] == line_index[segment + 1], np.clip(share, 0.0, 1.0), 0.0)
    fresh = coords[segment] + share[:, None] * (coords[segment + 1] - coords[segment])
    where = segment + 1
    coords = np.insert(coords, where, fresh, axis=0)
    new_line_index = np.insert(line_index, where, line_index[segment])
    new_position = np.insert(position, where, cuts)
    seam = np.insert(np.zeros(len(line_index), dtype=np.bool_), where, True)
    piece_coords, piece_index, line = cut_at(coords, new_line_index, seam)
    pieces = as_lines(piece_coords, piece_index)
    piece_position = cut_at(new_position[:, None], new_line_index, seam)[0][:, 0]
    start = np.searchsorted(piece_index, np.arange(len(pieces) + 1))
    middle = (piece_position[start[:-1]] + piece_position[start[1:] - 1]) / 2
    real = shapely.length(pieces) > 0
    gone = overlap(middle - 1e-9, middle + 1e-9, runs)
    return pieces[real], line[real], gone[real]
