"""Strokes that a program should draw, or does: polylines with their numbers, markers and loads."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import offsets
from underdraw.drawing.trimming import without_beginning
from underdraw.machine.travel import swap_strokes

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True)
class Strokes:
    """Polylines, one a stroke, y away from the operator: (n, 2) mm, (s + 1,) offsets, (s,) numbers for messages.

    markers: (s,) names, where they are known. loads: (s,) which load of the whole drawing each stroke is in, rising
    from 0 in drawing order; a marker is put in before each.
    """

    coords: Array
    parts: Index
    numbers: Index
    markers: NDArray[Any] | None = None
    loads: Index | None = None

    def __len__(self) -> int:
        return len(self.parts) - 1

    def select(self, rows: Index) -> "Strokes":
        """Only these strokes, in this order."""
        counts = np.diff(self.parts)[rows]
        bounds = offsets(counts)
        at = np.arange(bounds[-1]) - np.repeat(bounds[:-1] - self.parts[:-1][rows], counts)
        return Strokes(
            self.coords[at],
            bounds,
            self.numbers[rows],
            None if self.markers is None else self.markers[rows],
            None if self.loads is None else self.loads[rows],
        )

    def reversed(self) -> "Strokes":
        """Each stroke from its other end."""
        counts = np.diff(self.parts)
        at = np.repeat(self.parts[:-1] + self.parts[1:] - 1, counts) - np.arange(len(self.coords))
        return Strokes(self.coords[at], self.parts, self.numbers, self.markers, self.loads)

    def begun_at(self, share: float) -> "Strokes":
        """The same without that share of the first stroke."""
        if not share or not len(self):
            return self
        first = without_beginning(self.coords[: self.parts[1]], share)
        first = np.vstack([first, first]) if len(first) == 1 else first
        coords = np.vstack([first, self.coords[self.parts[1] :]])
        parts = np.concatenate([[0], self.parts[1:] - self.parts[1] + len(first)])
        return replace(self, coords=coords, parts=parts)

    def ends(self) -> tuple[Array, Array]:
        """(s, 2) first and (s, 2) last points."""
        return self.coords[self.parts[:-1]], self.coords[self.parts[1:] - 1]

    def along(self) -> Array:
        """(n,) mm along all strokes one after the other, gaps between them left out."""
        if not len(self.coords):
            return np.empty(0)
        step = np.hypot(*np.diff(self.coords, axis=0, prepend=self.coords[:1]).T)
        step[self.parts[:-1]] = 0.0
        return np.cumsum(step)

    def lengths(self) -> Array:
        """(s,) mm."""
        along = self.along()
        return along[self.parts[1:] - 1] - along[self.parts[:-1]] if len(self) else np.empty(0)


def strokes_of(drawing: Drawing, first: int = 1, last: int | None = None) -> Strokes:
    """A drawing's strokes as a program is held against them, y away from the operator.

    first, last: numbered from 1, both ends included.
    """
    last = len(drawing) if last is None else last
    bounds = drawing.parts[first - 1 : last + 1]
    coords = drawing.coords[bounds[0] : bounds[-1]] if len(bounds) else drawing.coords[:0]
    flipped = np.stack([coords[:, 0], drawing.sheet[1] - coords[:, 1]], axis=1)
    parts = bounds - bounds[0] if len(bounds) else np.zeros(1, dtype=np.int64)
    begins = np.zeros(len(drawing), dtype=np.int64)
    begins[swap_strokes(drawing)[1:]] = 1
    markers, loads = drawing.marker[first - 1 : last], np.cumsum(begins)[first - 1 : last]
    return _with_dots(Strokes(flipped, parts, np.arange(first, last + 1), markers, loads))


def joined(runs: Sequence[Strokes]) -> Strokes:
    """Strokes of several runs, one after the other."""
    if len(runs) == 1:
        return runs[0]
    markers = [run.markers for run in runs if run.markers is not None]
    loads = [run.loads for run in runs if run.loads is not None]
    return Strokes(
        np.vstack([run.coords for run in runs]),
        offsets(np.concatenate([np.diff(run.parts) for run in runs])),
        np.concatenate([run.numbers for run in runs]),
        np.concatenate(markers) if len(markers) == len(runs) else None,
        np.concatenate(loads) if len(loads) == len(runs) else None,
    )


def _with_dots(strokes: Strokes) -> Strokes:
    """A stroke of one point has two equal ones, so that every stroke has a segment."""
    counts = np.diff(strokes.parts)
    if (counts != 1).all():
        return strokes
    repeats = np.repeat(np.where(counts == 1, 2, 1), counts)
    parts = offsets(np.where(counts == 1, 2, counts))
    return Strokes(strokes.coords.repeat(repeats, axis=0), parts, strokes.numbers, strokes.markers, strokes.loads)
