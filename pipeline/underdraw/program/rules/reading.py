"""A program as read, and what is expected of it: what every rule is given."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.program.blocks import Blocks
from underdraw.program.comparison import Comparison, marker_of_strokes
from underdraw.program.drawn import Drawn
from underdraw.program.expected import Expected
from underdraw.program.moves import Moves
from underdraw.program.problems import Faults
from underdraw.program.rules.asked import AnnouncedLoad, announced_loads

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]
HEIGHT_SLACK_MM = 0.01  # beside a program's own rounding: less than any canvas is flat


@dataclass
class Reading:
    """comments: (line, text) in order. faults: where each rule puts what it finds."""

    blocks: Blocks
    comments: list[tuple[int, str]]
    drawn: Drawn
    comparison: Comparison | None
    faults: Faults

    @property
    def moves(self) -> Moves:
        """The program's moves."""
        return self.drawn.moves

    @property
    def expected(self) -> Expected:
        """What a job and a drawing make of the program."""
        return self.drawn.expected

    @property
    def height_slack(self) -> float:
        """mm that a height may be off: half a step of the program's numbers, and what nobody could see."""
        return HEIGHT_SLACK_MM + self.expected.coordinate_step(self.faults.unit) / 2

    @property
    def own_heights(self) -> bool:
        """Whether the controller lifts the marker by words of its own: heights are then what those say."""
        return self.expected.dialect is not None and bool(self.expected.dialect.own_heights)

    @cached_property
    def block_of_move(self) -> Index:
        """(m,) the row of each move's block."""
        return np.searchsorted(self.blocks.line, self.moves.line)

    @cached_property
    def has_drawn(self) -> Flags:
        """(m,) whether its stroke has drawn something before this move."""
        drawing, stroke = self.moves.drawing, self.drawn.stroke
        before = np.concatenate([[0], np.cumsum(drawing)[:-1]]) if len(drawing) else np.empty(0, dtype=np.int64)
        first = np.searchsorted(stroke, stroke)
        return np.asarray(before > before[first]) if len(drawing) else np.empty(0, dtype=np.bool_)

    @cached_property
    def first_moves(self) -> Index:
        """(k,) the move with which each stroke of the program is begun."""
        return np.searchsorted(self.drawn.stroke, np.arange(1, self.drawn.strokes + 1))

    @cached_property
    def announced(self) -> list[AnnouncedLoad]:
        """The loads that the header announces, before anything moves."""
        first = int(self.moves.line[0]) if len(self.moves) else 0
        texts = [text for line, text in self.comments if line <= first]
        return announced_loads(texts, self.expected.heights)

    @cached_property
    def _announced_load(self) -> Index:
        """(k,) the load of each stroke as the header announces them; -1 where it does not, or not so many strokes."""
        counts = [load.strokes for load in self.announced]
        if sum(counts) != self.drawn.strokes:
            return np.full(self.drawn.strokes, -1, dtype=np.int64)
        return np.repeat(np.arange(len(counts)), counts)

    @cached_property
    def _drawn_markers(self) -> NDArray[Any] | None:
        """(k,) the marker of each stroke of the program by the drawing; None where that does not make them known."""
        return marker_of_strokes(self.comparison, self.expected.strokes)

    @cached_property
    def markers(self) -> NDArray[Any]:
        """(k,) the marker that each stroke of the program wants, "" where neither drawing nor header makes it known."""
        if self._drawn_markers is not None:
            return self._drawn_markers
        names = np.array([*(load.marker for load in self.announced), ""], dtype=object)
        return np.asarray(names[self._announced_load])

    @cached_property
    def loads(self) -> Index:
        """(k,) the load that each stroke of the program is in, -1 where neither drawing nor header makes it known."""
        strokes = self.expected.strokes
        if self.comparison is None or strokes is None or strokes.loads is None:
            return self._announced_load
        by_number = np.full(int(strokes.numbers.max(initial=0)) + 1, -1, dtype=np.int64)
        by_number[strokes.numbers] = strokes.loads
        return np.asarray(by_number[self.comparison.of])

    def height_bounds(self, what: str) -> tuple[Array, Array]:
        """(k,) least and greatest of a height by program stroke: its marker's own; every marker's where not known."""
        values = {name: float(getattr(held, what)) for name, held in self.expected.heights.items()}
        return self._bounds(values, self.expected.range_of(what))

    def speed_bounds(self) -> tuple[Array, Array]:
        """(k,) least and greatest drawing speed by program stroke, mm/s: its ink's, else what the header announces."""
        speeds = self.expected.speeds
        if not speeds:
            announced = np.array([*((load.slowest, load.fastest) for load in self.announced), (0.0, np.inf)])
            low, high = announced[self._announced_load].T
            return low, high
        return self._bounds(speeds, (min(speeds.values()), max(speeds.values())))

    def _bounds(self, values: Mapping[str, float], every: tuple[float, float]) -> tuple[Array, Array]:
        by_name = {name: self._of_marker(values, name, every) for name in set(self.markers.tolist())}
        both = np.array([by_name[name] for name in self.markers.tolist()], dtype=np.float64).reshape(-1, 2)
        return both[:, 0], both[:, 1]

    def _of_marker(self, values: Mapping[str, float], name: str, every: tuple[float, float]) -> tuple[float, float]:
        """Least and greatest for one marker: all that share its body where only the header makes it known."""
        if name not in values:
            return every
        if self._drawn_markers is not None:
            return values[name], values[name]
        same = [value for other, value in values.items() if self.body_of(other) == self.body_of(name)]
        return min(same), max(same)

    def body_of(self, marker: str) -> str:
        """The marker that is put in for this one."""
        return self.expected.bodies.get(marker, marker)

    def of_moves(self, values: Array, rows: Index) -> Array:
        """(r,) a value by program stroke, (k,), at these moves, each of which is in a stroke."""
        return values[self.drawn.stroke[rows] - 1]
