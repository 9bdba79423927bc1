"""A small program driven straight through a controller's methods, and what an independent reading finds in it.

It asks for blocks in the order that a writer of programs does: notes, the beginning, lift, travel, lower, draw,
lift, a pause, a wait, the end, the last pass over all. So a controller is tried without any stage installed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw.errors import UnderdrawError
from underdraw.job.sections import MachineSection
from underdraw.machine.heights import Heights
from underdraw.plugins.controller import Controller
from underdraw.program import Report, check_program
from underdraw.program.dialect import Dialect
from underdraw.program.expected import Expected
from underdraw.program.expected.strokes import Strokes
from underdraw.testing.trial import fault
from underdraw.words.lengths import MM_PER_INCH

LIFT_MM, CLEARANCE_MM, PRESS_MM = 5.0, 1.0, 1.5
FEED_MM_MINUTE = 762.0
WAIT_S = 0.3
FIRST, SECOND = "outline", "gold"  # the markers before and after the pause
SWAP = f"put in marker {SECOND} (tip 0.7 mm) for 2 strokes; then go on"
READ_BACK_MM = 0.004  # beside the rounding of the program's own numbers: chords of arcs, and sums of doubles


@dataclass(frozen=True)
class Written:
    """A program, and what it should draw: mm from program zero, y away from the operator."""

    blocks: list[str]
    asked: Strokes

    @property
    def data(self) -> bytes:
        return ("\n".join(self.blocks) + "\n").encode("utf-8", "replace")


class TrialWriter:
    """Blocks in the making, in one unit."""

    def __init__(self, controller: Controller, units: str, park: tuple[float, float] = (0.0, 0.0)) -> None:
        self.controller = controller
        self.park = park
        self.units = units
        self.unit_mm = MM_PER_INCH if units == "in" else 1.0
        self.blocks: list[str] = [
            *controller.note("a night garden"),
            *controller.begin(units),
            *controller.path("exact"),
        ]
        self.polylines: list[NDArray[np.float64]] = []
        self.loads: list[int] = []
        self.pauses = 0
        self.feed = ""
        self._lift()
        self._travel(*self.park)

    def stroke(self, points: NDArray[np.float64]) -> None:
        """Straight moves through (n, 2) mm; one point is a dot."""
        self._start(points[0])
        for x, y in points[1:].tolist():
            self._line(self._words(x=x, y=y), FEED_MM_MINUTE)
        self._lift()
        self._keep(points if len(points) > 1 else np.vstack([points, points]))

    def arc(self, start: tuple[float, float], centre: tuple[float, float], end_angle: float, clockwise: bool) -> None:
        """An arc about `centre` (mm) from `start` to `end_angle` (radians)."""
        from_centre = np.subtract(start, centre)
        radius, begin = float(np.hypot(*from_centre)), float(np.arctan2(from_centre[1], from_centre[0]))
        turn = (end_angle - begin) % (2 * np.pi) - (2 * np.pi if clockwise else 0.0)
        angles = begin + turn * np.linspace(0.0, 1.0, 200)
        points = np.asarray(centre) + radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        self._start(points[0])
        i, j = centre[0] - start[0], centre[1] - start[1]
        words = self._words(x=points[-1, 0], y=points[-1, 1], i=i, j=j)
        self.blocks.append(self.controller.arc(clockwise, f"{words} {self._feed_word(FEED_MM_MINUTE)}".strip()))
        self._lift()
        self._keep(points)

    def pause(self, text: str) -> None:
        """Wait for the operator, who puts in the second marker."""
        self.blocks += self.controller.pause(text)
        self._restate()
        self.pauses += 1

    def optional_stop(self) -> None:
        """Wait for the operator where the machine's switch for it is set."""
        self.blocks += self.controller.optional_stop()
        self._restate()

    def end(self) -> Written:
        """Finish the program."""
        self._travel(*self.park)
        self.blocks += self.controller.end()
        coords = np.vstack(self.polylines) if self.polylines else np.empty((0, 2))
        counts = [len(line) for line in self.polylines]
        parts = offsets(counts)
        numbers = np.arange(1, len(counts) + 1)
        loads = np.array(self.loads, dtype=np.int64)
        markers = np.where(loads > 0, SECOND, FIRST).astype(object)
        return Written(list(self.controller.finish(self.blocks)), Strokes(coords, parts, numbers, markers, loads))

    def _keep(self, points: NDArray[np.float64]) -> None:
        """What the last stroke should draw, and in which load."""
        self.polylines.append(points)
        self.loads.append(self.pauses)

    def _restate(self) -> None:
        self.blocks += [*self.controller.modes(self.units), *self.controller.path("exact")]
        self._lift()

    def _start(self, point: NDArray[np.float64]) -> None:
        self._travel(*point.tolist())
        self.blocks[-1] = self.controller.numbered(self.blocks[-1], len(self.polylines) + 1)
        self.feed = ""  # each stroke states its feeds
        self.blocks.append(self.controller.rapid(self._words(z=CLEARANCE_MM)))
        self._line(self._words(z=-PRESS_MM), FEED_MM_MINUTE / 2)
        if self.controller.dwells:
            self.blocks.append(self.controller.dwell(WAIT_S))

    def _travel(self, x: float, y: float) -> None:
        self.blocks.append(self.controller.rapid(self._words(x=x, y=y)))

    def _lift(self) -> None:
        self.blocks.append(self.controller.rapid(self._words(z=LIFT_MM)))

    def _line(self, words: str, feed: float) -> None:
        self.blocks.append(self.controller.line(f"{words} {self._feed_word(feed)}".strip()))

    def _feed_word(self, feed: float) -> str:
        word = self.controller.feed(round(feed / self.unit_mm, self.controller.feed_decimals))
        word, self.feed = ("" if word == self.feed else word), word
        return word

    def _words(self, **millimetres: float) -> str:
        decimals = self.controller.decimals[self.units]
        rounded = {axis: round(value / self.unit_mm, decimals) for axis, value in millimetres.items()}
        return self.controller.coordinates(self.units, **rounded)


def trial(controller: Controller, units: str, text: str = SWAP) -> Written:
    """A program with all that a controller declares: lines, many small steps, a dot, a pause, waits, arcs."""
    writer = TrialWriter(controller, units)
    writer.stroke(np.array([(10.0, 20.0), (96.5, 20.0), (53.25, 101.0625), (10.0, 20.0)]))
    meander = np.arange(241.0)
    writer.stroke(np.stack([120.0 + meander / 3, 60.0 + 7.0 * np.sin(meander / 7)], axis=1))
    if controller.pauses:
        writer.pause(text)
    writer.stroke(np.array([(33.0, 44.0)]))
    if controller.optional_stops:
        writer.optional_stop()
    writer.stroke(np.array([(1234.5, -321.25), (-0.375, 1100.125)]))
    if controller.arcs:
        writer.arc((60.0, 150.0), (40.0, 150.0), np.pi / 2, clockwise=False)
        writer.arc((60.0, 190.0), (40.0, 190.0), np.pi / 2, clockwise=True)
    return writer.end()


def read_back(controller: Controller, units: str, written: Written) -> Report:
    """What an independent reading of a program finds, held against all that it should be: heights and speeds too."""
    quantum = 10.0 ** -controller.decimals[units] * (MM_PER_INCH if units == "in" else 1.0)
    heights = Heights(LIFT_MM, PRESS_MM, CLEARANCE_MM, touch_speed=FEED_MM_MINUTE / 2 / 60, settle=WAIT_S)
    try:
        expected = Expected(
            MachineSection(),
            speeds=dict.fromkeys((FIRST, SECOND), FEED_MM_MINUTE / 60),
            heights=dict.fromkeys((FIRST, SECOND), heights),
            dialect=Dialect.of(controller),
            strokes=written.asked,
        )
        return check_program(written.data, expected, READ_BACK_MM + 2 * quantum)
    except UnderdrawError as error:
        fault(controller, f"in {units}: {error.text}")
