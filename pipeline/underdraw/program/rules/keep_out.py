"""Keep-outs: no move below a box's clear height crosses it, lifted or drawing."""

import numpy as np

from underdraw.machine.keep_outs import KeepOuts
from underdraw.program.arcs import arc_points
from underdraw.program.moves import CLOCKWISE
from underdraw.program.rules.reading import Index, Reading

SAG_MM, STEP_MM = 0.005, 5.0  # of the chords that stand for an arc


def check(reading: Reading) -> None:
    """Every move of the tip of the marker that is in the holder."""
    expected, moves = reading.expected, reading.moves
    sections = expected.machine.keep_out
    if expected.lying is None or not sections or not len(moves):
        return
    keep_outs = KeepOuts.of(sections, expected.lying)
    start, end = moves.start[:, :2].copy(), moves.end[:, :2].copy()
    start = np.where(np.isnan(start), end, start)  # from nobody knows where: at least not into a box
    low = np.fmin(moves.start[:, 2], moves.end[:, 2])
    low = np.where(np.isnan(low), np.inf, low)
    rows = np.arange(len(moves))
    arcs = np.flatnonzero(
        (moves.kind >= CLOCKWISE) & ~np.isnan(moves.centre).any(axis=1) & ~np.isnan(start).any(axis=1)
    )
    if len(arcs):
        points, bounds = arc_points(
            start[arcs], end[arcs], moves.centre[arcs], moves.kind[arcs] == CLOCKWISE, SAG_MM, STEP_MM
        )
        ends = np.setdiff1d(np.arange(1, len(points)), bounds)
        owner = arcs[np.searchsorted(bounds, ends, side="right") - 1]
        others = np.setdiff1d(rows, arcs)
        rows = np.concatenate([others, owner])
        start, end = np.vstack([start[others], points[ends - 1]]), np.vstack([end[others], points[ends]])
    shift = _shifts(reading)
    found = keep_outs.crossed(start + shift[rows], end + shift[rows], low[rows])
    hit = np.flatnonzero(found >= 0)
    _, first = np.unique(rows[hit], return_index=True)
    hit = hit[first]
    faults = reading.faults

    def text(k: int) -> str:
        box, height = int(found[hit[k]]), float(low[rows[hit[k]]])
        what = "draws" if moves.drawing[rows[hit[k]]] else f"goes {faults.length(height)} above the canvas"
        return (
            f"{what} across keep-out {keep_outs.names[box]!r}; {faults.length(keep_outs.heights[box])} is clear of it"
        )

    faults.add_each("keep-out", moves.line[rows[hit]], text)


def _shifts(reading: Reading) -> "np.ndarray[tuple[int, ...], np.dtype[np.float64]]":
    """(m, 2) mm from the first marker's tip to that of the marker in the holder, at each move."""
    expected, moves, drawn = reading.expected, reading.moves, reading.drawn
    if expected.lying is None or not expected.shifts_tips or not drawn.strokes:
        return np.zeros((len(moves), 2))
    # After a pause it is the marker of the next stroke.
    stroke = drawn.stroke
    pauses = np.cumsum(moves.pause)
    lowered: Index = np.searchsorted(stroke, stroke)  # the move that each stroke is begun with
    swapped = (pauses > pauses[lowered]) & (stroke < drawn.strokes)
    shown = np.clip(stroke + swapped, 1, drawn.strokes) - 1
    return expected.lying.tip_shifts(reading.markers[shown].tolist())
