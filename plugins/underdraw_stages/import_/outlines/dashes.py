"""Dashed strokes as the dashes that are visible. Source: SVG 1.1 (2nd ed.), section 11.4."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def count_dashes(length: float, dashes: Sequence[float]) -> float:
    """About how many dashes a line of that length shows."""
    return length / sum(dashes) * len(dashes) / 2 + 1


def lengths_along(part: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) how far along (n, 2) each point lies."""
    steps = np.hypot(*np.diff(part, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def dash(
    part: NDArray[np.float64], along: NDArray[np.float64], dashes: Sequence[float], offset: float, closed: bool
) -> list[NDArray[np.float64]]:
    """The dashes of one polyline; `along` (n,) is how far each point lies from the start, in the units of `dashes`.

    Of a closed line, a dash that runs over the start is one piece.
    """
    total = float(along[-1])
    if total <= 0:
        return [part]
    period = sum(dashes)
    edges = np.concatenate([[0.0], np.cumsum(dashes)])
    first = -(offset % period) if math.isfinite(offset) else 0.0  # where the run of the pattern at the start begins
    runs = np.arange(math.ceil((total - first) / period)) * period + first
    begins = (runs[:, None] + edges[:-1][None, ::2]).ravel()
    ends = (runs[:, None] + edges[1:][None, ::2]).ravel()
    begins, ends = np.maximum(begins, 0.0), np.minimum(ends, total)
    visible = (begins < ends) | ((begins == ends) & (begins > 0) & (ends < total))
    begins, ends = _whole(begins[visible], ends[visible])
    pieces = _cut(part, along, begins, ends)
    if closed and len(pieces) > 1 and begins[0] == 0 and ends[-1] == total:
        pieces = [np.concatenate([pieces[-1], pieces[0][1:]]), *pieces[1:-1]]
    return pieces


def _whole(begins: NDArray[np.float64], ends: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Dashes with a gap of 0 between them are one."""
    if len(begins) < 2:
        return begins, ends
    apart = begins[1:] > ends[:-1]
    return begins[np.concatenate([[True], apart])], ends[np.concatenate([apart, [True]])]


def _cut(
    part: NDArray[np.float64], along: NDArray[np.float64], begins: NDArray[np.float64], ends: NDArray[np.float64]
) -> list[NDArray[np.float64]]:
    first = np.stack([np.interp(begins, along, part[:, axis]) for axis in (0, 1)], axis=1)
    last = np.stack([np.interp(ends, along, part[:, axis]) for axis in (0, 1)], axis=1)
    after, before = np.searchsorted(along, begins, side="right"), np.searchsorted(along, ends, side="left")
    return [
        np.concatenate([first[at : at + 1], part[after[at] : before[at]], last[at : at + 1]])
        for at in range(len(begins))
    ]
