"""Curves to polylines within a tolerance, all at once: steps of equal parameter, as many as each curve needs."""

import numpy as np
from numpy.typing import NDArray

CHUNK = 200_000  # points worked out at a time: bounds the memory of in-between arrays to some 50 MB


def steps(curves: NDArray[np.float64], tolerance: float) -> NDArray[np.int64]:
    """(n,) into how many chords each of (n, 4, 2) cubic curves is cut to stay within `tolerance`.

    The chord of an interval h of the parameter is off by at most h²/8 · max|B''|, and |B''| of a cubic is at most
    6 · max(|P0 − 2P1 + P2|, |P1 − 2P2 + P3|). Source: error of linear interpolation; Wang 1984 for the bound.
    """
    bend = np.zeros(len(curves))
    for at in (0, 1):
        second = curves[:, at] - 2 * curves[:, at + 1] + curves[:, at + 2]
        np.maximum(bend, np.hypot(second[:, 0], second[:, 1]), out=bend)
    return np.maximum(np.ceil(np.sqrt(0.75 * bend / tolerance) - 1e-6), 1).astype(np.int64)


def flatten(
    curves: NDArray[np.float64], parts: NDArray[np.int64], starts: NDArray[np.float64], tolerance: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Points and part offsets of curves (n, 4, 2) in parts (p + 1,) that start at (p, 2), within `tolerance`.

    Each part begins with its start; every curve ends exactly at its end point. A part without curves is one point.
    """
    chords = steps(curves, tolerance)
    ends = np.concatenate([[0], np.cumsum(chords)])
    part_count = len(parts) - 1
    new_parts = ends[parts] + np.arange(part_count + 1)
    coords = np.empty((int(new_parts[-1]), 2))
    coords[new_parts[:-1]] = starts
    part_of_curve = np.repeat(np.arange(part_count), np.diff(parts))
    first = ends[:-1] + part_of_curve + 1  # where each curve's points go
    begin = 0
    while begin < len(curves):
        end = max(int(np.searchsorted(ends, ends[begin] + CHUNK, side="right")) - 1, begin + 1)
        some = slice(begin, end)
        counts = chords[some]
        of = np.repeat(np.arange(end - begin), counts)
        step = np.arange(len(of)) - np.repeat(ends[some] - ends[begin], counts)
        t = ((step + 1) / counts[of])[:, None]
        s = 1 - t
        p0, p1, p2, p3 = (curves[some, at][of] for at in range(4))
        coords[first[some][of] + step] = s * s * s * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t * t * t * p3
        begin = end
    return coords, new_parts
