"""What a job and a drawing make of a program: how the board lies, heights, speeds, loads, and the controller's limits.

One object holds it all, so that `check`, whoever writes a program and the contracts for plugins ask the same.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.boxes import Box, Point, Size
from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import Job, MachineSection
from underdraw.machine.clock import drawing_speed
from underdraw.machine.heights import Heights
from underdraw.machine.keep_outs import ROUND_MM, KeepOuts
from underdraw.panel.lying import Lying
from underdraw.program.dialect import Dialect
from underdraw.program.expected.strokes import Strokes, joined, strokes_of
from underdraw.words.lengths import LENGTH_UNITS

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Expected:
    """A job as a program's reader needs it: mm, mm/s, s. What is not known is not held against a program.

    lying: how the board lies. speeds, heights: by marker. bodies: by marker, the one that is put in
    for it. dialect: of the controller that is to run the program.
    strokes: what it should draw, with markers and loads.
    """

    machine: MachineSection
    lying: Lying | None = None
    speeds: Mapping[str, float] = field(default_factory=dict)
    heights: Mapping[str, Heights] = field(default_factory=dict)
    bodies: Mapping[str, str] = field(default_factory=dict)
    dialect: Dialect | None = None
    strokes: Strokes | None = None

    @classmethod
    def unknown(cls) -> "Expected":
        """Of a program alone: times are those of an ordinary machine, and nothing is out of place."""
        return cls(MachineSection())

    @classmethod
    def of(cls, job: Job, lying: Lying | None, registry: "Installed", controller: str | None = None) -> "Expected":
        """What a job asks, and how its panel or a drawing of it lies; controller: another than the job's.

        Raises InputError for a holder, an ink or a controller that is not installed; CannotDo for a controller whose
        own words cannot be read.
        """
        heights = Heights.of(job, registry.holder(job.holder.use), registry)
        return cls(
            machine=job.machine,
            lying=lying,
            speeds={marker.name: drawing_speed(job, marker.name, registry) for marker in job.markers},
            heights={marker.name: heights.for_marker(marker) for marker in job.markers},
            bodies={marker.name: job.body(marker.name) for marker in job.markers},
            dialect=Dialect.of(registry.controller(controller or job.machine.controller), job.machine.path),
        )

    def drawing(
        self, drawing: Drawing, runs: Sequence[tuple[int, int]] | None = None, begins: float = 0.0
    ) -> "Expected":
        """The same of a program that draws these runs of strokes, first and last from 1; None: all of them.

        begins: the share of the first of them that it leaves out.
        """
        every = [(1, len(drawing))] if runs is None else runs
        if self.lying is not None and self.lying.sections is not None and every and len(drawing):
            section = int(drawing.section[every[0][0] - 1])  # a program is of one section
            return replace(self, lying=self.lying.for_section(section))._drawing(drawing, every, begins)
        return self._drawing(drawing, every, begins)

    def _drawing(self, drawing: Drawing, every: Sequence[tuple[int, int]], begins: float) -> "Expected":
        strokes = joined([strokes_of(drawing, first, last) for first, last in every])
        strokes = strokes.begun_at(begins)
        if self.lying is not None and self.shifts_tips and strokes.markers is not None:
            shifts = self.lying.tip_shifts_on_board(strokes.markers.tolist())
            strokes = replace(strokes, coords=strokes.coords - shifts.repeat(np.diff(strokes.parts), axis=0))
        return replace(self, strokes=strokes)

    @property
    def shifts_tips(self) -> bool:
        """Whether a marker's tip is not where the first one's is: `on_board` is where that one would be."""
        return self.lying is not None and any(marker.offset != (0.0, 0.0) for marker in self.lying.job.markers)

    @property
    def board(self) -> Size | None:
        """The board's size as it lies."""
        return None if self.lying is None else self.lying.board

    @property
    def zero(self) -> Point:
        """Program zero, from the board's lower left corner; (0, 0) where that is not known."""
        return (0.0, 0.0) if self.lying is None else self.lying.zero

    @property
    def reach(self) -> Box | None:
        """The box that the controlled point can go to, from the board's lower left corner; None: not known."""
        return None if self.lying is None else self.lying.reach

    @property
    def room(self) -> Box | None:
        """The box in program coordinates that holds the board, park, program zero and keep-outs; None: not known."""
        if self.lying is None:
            return None
        w, h = self.lying.board
        edges = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]
        if self.lying.prime_box is not None:
            x0, y0, x1, y1 = self.lying.prime_box
            edges += [(x0, h - y0), (x1, h - y1)]
        corners = self.lying.to_program(np.array(edges, dtype=np.float64))
        points = np.vstack([corners, self.lying.park_in_program, (0.0, 0.0)])
        shifts = self.lying.tip_shifts([marker.name for marker in self.lying.job.markers])
        boxes = KeepOuts.of(self.machine.keep_out, self.lying).boxes  # travel may go round them, off the board
        points = np.vstack([points, boxes[:, :2] - ROUND_MM, boxes[:, 2:] + ROUND_MM])
        low, high = points.min(axis=0) - shifts.max(axis=0), points.max(axis=0) - shifts.min(axis=0)
        return (*map(float, low), *map(float, high))  # type: ignore[return-value]

    def coordinate_step(self, unit: str) -> float:
        """mm: the smallest step of the controller's coordinates in that unit; 0 where it is not known."""
        decimals = None if self.dialect is None else self.dialect.decimals.get(unit)
        return 0.0 if decimals is None else 10.0**-decimals * LENGTH_UNITS[unit]

    def feed_step(self, unit: str) -> float:
        """mm/s: the smallest step of the controller's feeds in that unit; 0 where it is not known."""
        return 0.0 if self.dialect is None else 10.0**-self.dialect.feed_decimals * LENGTH_UNITS[unit] / 60

    def range_of(self, what: str) -> tuple[float, float]:
        """The least and the greatest of one of the heights (`press`, `settle`, `touch_speed` …) of all markers."""
        values = [float(getattr(heights, what)) for heights in self.heights.values()]
        return (min(values), max(values)) if values else (-math.inf, math.inf)

    def on_board(self, points: Array) -> Array:
        """(n, 2) program coordinates as where the tip draws them, from the board's lower left corner."""
        return points if self.lying is None else self.lying.from_program(points)
