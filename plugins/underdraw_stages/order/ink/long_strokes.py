"""A stroke longer than one load is split at its sharpest corner, where the eye expects an end anyway."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import offsets

CORNER_DEGREES = 5.0  # a curve turns less than that from point to point; such strokes are split in the middle
NEAR_AN_END = 0.05  # of the length: nearer to an end than that a split would leave a scrap


@dataclass(frozen=True)
class Split:
    """The drawing with its long strokes in pieces, and how many strokes were too long."""

    drawing: Drawing
    strokes: int


def split_long(drawing: Drawing, most: NDArray[np.float64]) -> Split:
    """Split every stroke that is longer than its load holds: most (s,) in mm, infinite where nothing is known."""
    long = np.flatnonzero(drawing.shape_lengths() > most)
    if not len(long):
        return Split(drawing, 0)
    pieces: list[NDArray[np.float64]] = []
    rows: list[int] = []
    is_long = np.zeros(len(drawing), dtype=np.bool_)
    is_long[long] = True
    for row in range(len(drawing)):
        line = drawing.part_coords(row)
        parts = split_line(line, float(most[row])) if is_long[row] else [line]
        pieces += parts
        rows += [row] * len(parts)
    columns = drawing.select(np.array(rows))
    counts = [len(piece) for piece in pieces]
    whole = columns.replace(coords=np.concatenate(pieces), parts=offsets(counts), shapes=np.arange(len(pieces) + 1))
    return Split(whole, len(long))


def split_line(line: NDArray[np.float64], most: float) -> list[NDArray[np.float64]]:
    """(n, 2) points in pieces of at most `most` mm; a closed line begins at its sharpest corner first."""
    if len(line) > 2 and (line[0] == line[-1]).all() and _length(line) > most:
        turns = _turns(np.vstack([line[-2], line]))
        begin = int(np.argmax(turns))
        line = np.concatenate([line[begin:], line[1 : begin + 1]])
    todo, done = [line], []
    while todo:
        piece = todo.pop()
        if _length(piece) <= most:
            done.append(piece)
            continue
        first, second = _split_once(piece)
        todo += [second, first]
    return done


def _split_once(line: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Two pieces that meet at the sharpest corner; of a curve without one, or a straight line, at the middle."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    total = along[-1]
    inner = (along > NEAR_AN_END * total) & (along < (1 - NEAR_AN_END) * total)
    turns = np.where(inner, np.pad(_turns(line), 1), 0.0)
    if turns.max() >= CORNER_DEGREES:
        sharpest = np.flatnonzero(turns >= turns.max() - 1.0)
        at = int(sharpest[np.argmin(np.abs(along[sharpest] - total / 2))])
    else:
        at = int(np.argmin(np.abs(along - total / 2)))
        if not inner[at]:
            at = int(np.searchsorted(along, total / 2))
            share = (total / 2 - along[at - 1]) / (along[at] - along[at - 1])
            line = np.insert(line, at, line[at - 1] + share * (line[at] - line[at - 1]), axis=0)
    return line[: at + 1], line[at:]


def _length(line: NDArray[np.float64]) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _turns(line: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n - 2,) degrees by which a line turns at each inner point; 0 straight on, 180 back."""
    step = np.diff(line, axis=0)
    cross = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    return np.asarray(np.degrees(np.abs(np.arctan2(cross, (step[:-1] * step[1:]).sum(axis=1)))))
