"""Curves to polylines within a tolerance, many at once, with points where the curve bends and few where it does not."""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

CHUNK = 5_000  # curves worked out at a time: bounds the memory of in-between arrays
AT_ONCE = 1_000_000  # points worked out at a time, for the same reason
NODES = np.linspace(0.0, 1.0, 17)  # where a curve's bend is measured
SPARE = (1.06, 1.2, 1.5)  # points more than the sum asks for: at first, and where that shows to be too few


class Curves(Protocol):
    """(n, 4, 2) control points of cubics in mm: an array, or what works them out a slice at a time."""

    def __len__(self) -> int: ...

    def __getitem__(self, which: slice, /) -> NDArray[np.float64]: ...


class TooManyPoints(Exception):
    """Flattening would take more points than are of use; the argument is how many at least."""


def make_room(coords: NDArray[np.float64], count: int) -> None:
    """Let (n, 2) points that have no other owner grow where they lie: pieces put together would be twice as large."""
    if count > len(coords):
        coords.resize((count * 17 // 16, 2), refcheck=False)


def flatten(
    curves: "Curves",
    parts: NDArray[np.int64],
    starts: NDArray[np.float64],
    tolerance: float,
    most: int = 1 << 40,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Points and part offsets of curves (n, 4, 2) in parts (p + 1,) that start at (p, 2), within `tolerance`.

    Each part begins with its start; every curve ends exactly at its end point. A part without curves is one point.
    Raises TooManyPoints before more than `most` are worked out.
    """
    counts = np.zeros(len(curves), dtype=np.int64)
    starts_before = np.repeat(np.arange(1, len(parts)), np.diff(parts))  # of each curve
    coords = np.empty((0, 2))
    made = 0
    begin, size = 0, CHUNK
    while begin < len(curves):
        some = curves[begin : begin + size]
        room = most - made - len(starts)
        try:
            t, chords = _parameters(some, tolerance, SPARE[0], room if len(some) == 1 else min(room, AT_ONCE))
        except TooManyPoints as asked:
            if len(some) == 1 or asked.args[0] > room:
                raise
            size = len(some) // 2  # fewer curves of so many points at a time
            continue
        points = _points(some, t, chords)
        wrong = _off(some, t, chords, points) > tolerance
        if wrong.any():
            t, chords = _mend(some, t, chords, wrong, tolerance, room)
            points = _points(some, t, chords)
        counts[begin : begin + len(some)] = chords
        at = made + np.arange(len(points)) + np.repeat(starts_before[begin : begin + len(some)], chords)
        made += len(points)
        begin, size = begin + len(some), min(2 * size, CHUNK)
        make_room(coords, int(at[-1]) + 1)
        coords[at] = points
    new_parts = np.concatenate([[0], np.cumsum(counts)])[parts] + np.arange(len(parts))
    coords.resize((int(new_parts[-1]), 2), refcheck=False)
    coords[new_parts[:-1]] = starts
    return coords, new_parts


def _parameters(
    curves: NDArray[np.float64], tolerance: float, spare: float, most: int
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Parameters (m,) of the points after each curve's start, and how many each curve has (n,).

    A chord over an interval h of the parameter is off by about h²/8 · |B'×B''|/|B'|, so points lie as densely as the
    root of that asks. Source: error of linear interpolation, its part across the chord.
    """
    s, t = 1 - NODES[:, None], NODES[:, None]
    legs = np.diff(curves, axis=1)
    turns = np.diff(legs, axis=1)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        along = 3 * (s * s * legs[:, None, 0] + 2 * s * t * legs[:, None, 1] + t * t * legs[:, None, 2])
        bend = 6 * (s * turns[:, None, 0] + t * turns[:, None, 1])
        speed = np.hypot(along[..., 0], along[..., 1])
        across = np.abs(along[..., 0] * bend[..., 1] - along[..., 1] * bend[..., 0]) / np.maximum(speed, 1e-12)
    dense = np.sqrt(across / (8 * tolerance))
    # a node may fall on an inflection, where the bend is 0 for a moment only
    dense = np.maximum(dense, 0.25 * np.maximum(np.roll(dense, 1, axis=1), np.roll(dense, -1, axis=1)))
    dense = np.maximum(dense, 1e-3 * dense.max(axis=1, keepdims=True) + 1e-9)
    risen = np.zeros_like(dense)
    np.cumsum((dense[:, 1:] + dense[:, :-1]) / (2 * (len(NODES) - 1)), axis=1, out=risen[:, 1:])
    full = risen[:, -1]
    asked = np.ceil(full * spare - 1e-6)
    if not asked.sum() <= most:
        raise TooManyPoints(float(asked.sum()))
    chords = np.maximum(asked, 1).astype(np.int64)
    of = np.repeat(np.arange(len(curves)), chords)
    ends = np.cumsum(chords)
    step = np.arange(len(of)) - np.repeat(ends - chords, chords) + 1
    # row i of `risen` is spread over i … i + 1, so that one search serves every curve
    places = (risen / full[:, None] + np.arange(len(curves))[:, None]).ravel()
    spread = np.interp(step / chords[of] + of, places, (NODES + np.arange(len(curves))[:, None]).ravel())
    t_found = spread - of
    t_found[ends - 1] = 1.0
    return t_found, chords


def _points(curves: NDArray[np.float64], t: NDArray[np.float64], chords: NDArray[np.int64]) -> NDArray[np.float64]:
    """(m, 2) the points of curves at parameters `t`, `chords` of them a curve."""
    s = 1 - t
    return _weighted(curves, (s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t), chords)


def _weighted(
    controls: NDArray[np.float64], weights: tuple[NDArray[np.float64], ...], chords: NDArray[np.int64]
) -> NDArray[np.float64]:
    """(m, 2) sums of each curve's control points (n, k, 2), by k weights (m,) at its parameters."""
    values = np.empty((len(weights[0]), 2))
    for axis in (0, 1):
        total = np.zeros(len(values))
        for at, weight in enumerate(weights):
            total += weight * np.repeat(controls[:, at, axis], chords)
        values[:, axis] = total
    return values


def _off(
    curves: NDArray[np.float64], t: NDArray[np.float64], chords: NDArray[np.int64], points: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(n,) how far each curve lies from its chords at most.

    The piece of a curve over one chord is a Bézier curve too, with control points a third of the derivative away from
    the chord's ends. If these lie d1 and d2 from the chord, no point of the piece lies farther than
    3s²t·d1 + 3st²·d2 ≤ ¾ · max(d1, d2): the weights are the Bernstein polynomials.
    """
    firsts = np.cumsum(chords) - chords
    pull = _derivatives(curves, t, chords) / 3
    before, pull_before, t_before = np.empty_like(points), np.empty_like(points), np.empty_like(t)
    before[1:], pull_before[1:], t_before[1:] = points[:-1], pull[:-1], t[:-1]
    before[firsts], pull_before[firsts], t_before[firsts] = curves[:, 0], curves[:, 1] - curves[:, 0], 0.0
    h = (t - t_before)[:, None]
    chord = points - before
    square = np.maximum((chord * chord).sum(axis=1), 1e-30)
    worst = np.zeros(len(t))
    for control in (pull_before * h, chord - pull * h):
        share = np.clip((control * chord).sum(axis=1) / square, 0.0, 1.0)
        away = control - share[:, None] * chord
        np.maximum(worst, np.hypot(away[:, 0], away[:, 1]), out=worst)
    off: NDArray[np.float64] = 0.75 * np.maximum.reduceat(worst, firsts)
    return off


def _derivatives(curves: NDArray[np.float64], t: NDArray[np.float64], chords: NDArray[np.int64]) -> NDArray[np.float64]:
    """(m, 2) the derivatives of curves at parameters `t`, `chords` of them a curve."""
    s = 1 - t
    return _weighted(np.diff(curves, axis=1), (3 * s * s, 6 * s * t, 3 * t * t), chords)


def _mend(
    curves: NDArray[np.float64],
    t: NDArray[np.float64],
    chords: NDArray[np.int64],
    wrong: NDArray[np.bool_],
    tolerance: float,
    most: int,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Parameters again for the curves that are `wrong`: closer, and where that fails (cusps) in even steps."""
    for spare in SPARE[1:]:
        rows = np.flatnonzero(wrong)
        if not len(rows):
            return t, chords
        t_rows, chords_rows = _parameters(curves[rows], tolerance, spare, most)
        still = _off(curves[rows], t_rows, chords_rows, _points(curves[rows], t_rows, chords_rows)) > tolerance
        t, chords = _swapped(t, chords, rows, t_rows, chords_rows)
        wrong = np.zeros(len(curves), dtype=np.bool_)
        wrong[rows[still]] = True
    rows = np.flatnonzero(wrong)
    even = even_steps(curves[rows], tolerance)
    if not even.sum() <= most:
        raise TooManyPoints(float(even.sum()))
    counts = even.astype(np.int64)
    of = np.repeat(np.arange(len(rows)), counts)
    t_rows = (np.arange(len(of)) - (np.cumsum(counts) - counts)[of] + 1) / counts[of]
    return _swapped(t, chords, rows, t_rows, counts)


def _swapped(
    t: NDArray[np.float64],
    chords: NDArray[np.int64],
    rows: NDArray[np.int64],
    t_rows: NDArray[np.float64],
    chords_rows: NDArray[np.int64],
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Parameters with those of some curves exchanged."""
    new = chords.copy()
    new[rows] = chords_rows
    chosen = np.zeros(len(chords), dtype=np.bool_)
    chosen[rows] = True
    values = np.empty(int(new.sum()))
    values[np.repeat(chosen, new)] = t_rows
    values[~np.repeat(chosen, new)] = t[~np.repeat(chosen, chords)]
    return values, new


def even_steps(curves: NDArray[np.float64], tolerance: float) -> NDArray[np.float64]:
    """(n,) into how many even steps each of (n, 4, 2) curves is cut to stay within `tolerance` for sure.

    The chord of an interval h of the parameter is off by at most h²/8 · max|B''|, and |B''| of a cubic is at most
    6 · max(|P0 − 2P1 + P2|, |P1 − 2P2 + P3|). Source: error of linear interpolation; Wang 1984 for the bound.
    """
    turns = np.diff(curves, n=2, axis=1)
    bend = np.hypot(turns[..., 0], turns[..., 1]).max(axis=1)
    steps: NDArray[np.float64] = np.maximum(np.ceil(np.sqrt(0.75 * bend / tolerance) - 1e-6), 1)
    return steps
