"""Which stroke is where and when: for whoever stands at the machine with a dry marker."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.boxes import Point
from underdraw.drawing.drawing import Drawing
from underdraw.machine.clock import Schedule
from underdraw.machine.loads import scheduled

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed

NEAR_MM = 5.0  # a stroke that passes a place no nearer than this is another one: about what a finger points at


@dataclass(frozen=True)
class StrokeRow:
    """One stroke, for people: its number from 1, marker, load, when it is drawn (s) and how long it is (mm).

    at_mm: a point of it in board coordinates, y down: where it starts, or where it is nearest to the place asked for.
    """

    stroke: int
    marker: str
    load: int
    at_mm: Point
    seconds: float
    length_mm: float
    away_mm: float = 0.0  # from the place that was asked for


@dataclass(frozen=True, eq=False)
class StrokeTable:
    """The strokes of a drawing with their clock: that of its programs, where they draw it whole."""

    drawing: Drawing
    schedule: Schedule

    @classmethod
    def of(cls, drawing: Drawing, registry: "Installed") -> "StrokeTable":
        """Of a drawing of strokes."""
        return cls(drawing, scheduled(drawing, registry))

    def __len__(self) -> int:
        return len(self.drawing)

    def rows(self) -> Iterator[StrokeRow]:
        """Every stroke, in drawing order, each at its start."""
        starts = self.drawing.coords[self.drawing.parts[:-1]].tolist()
        yield from (self._row(index, (x, y)) for index, (x, y) in enumerate(starts))

    def near(self, place: Point, within: float = NEAR_MM) -> list[StrokeRow]:
        """The strokes that pass within so many mm of a place (board coordinates, y down), nearest first."""
        point = shapely.Point(place)
        lines: NDArray[Any] = self.drawing.part_lines()
        away = shapely.distance(lines, point)
        close = np.flatnonzero(away <= within)
        found = []
        for index in close[np.argsort(away[close], kind="stable")].tolist():
            line = lines[index]
            at = line.interpolate(line.project(point)) if line.length else shapely.Point(line.coords[0])
            found.append(self._row(index, (float(at.x), float(at.y)), float(away[index])))
        return found

    def at_time(self, seconds: float, wait: float = 0.0) -> StrokeRow | None:
        """The stroke being drawn at a time from the start, or the next to be; None after the last.

        wait: s that the clock ran on in each pause so far.
        """
        for swap in self.schedule.swap_times[self.schedule.swap_strokes > 0].tolist():
            if seconds <= swap:
                break
            seconds = max(swap, seconds - wait)
        number = self.schedule.stroke_at(seconds)
        if number is None:
            return None
        x, y = self.drawing.coords[self.drawing.parts[number - 1]].tolist()
        return self._row(number - 1, (x, y))

    def row(self, number: int, share: float = 0.0) -> StrokeRow:
        """One stroke by its number from 1, at a share of its length."""
        line = self.drawing.part_lines()[number - 1]
        at = line.interpolate(share, normalized=True)
        row = self._row(number - 1, (float(at.x), float(at.y)))
        begun, over = float(self.schedule.touch[number - 1]), float(self.schedule.lift[number - 1])
        return StrokeRow(row.stroke, row.marker, row.load, row.at_mm, begun + share * (over - begun), row.length_mm)

    def _row(self, index: int, at: Point, away: float = 0.0) -> StrokeRow:
        drawing = self.drawing
        first, last = drawing.parts[index], drawing.parts[index + 1]
        length = float(np.hypot(*np.diff(drawing.coords[first:last], axis=0).T).sum())
        return StrokeRow(
            stroke=index + 1,
            marker=str(drawing.marker[index]),
            load=max(1, int(drawing.load[index])),
            at_mm=at,
            seconds=float(self.schedule.touch[index]),
            length_mm=length,
            away_mm=away,
        )
