"""The blocks of a program, in the order the machine runs them."""

import numpy as np

from underdraw.errors import CannotDo
from underdraw.machine.loads import Load
from underdraw.words.plain_text import plain_name
from underdraw_stages.gcode.crossings import Travel
from underdraw_stages.gcode.files import ProgramFile
from underdraw_stages.gcode.header import swap_message
from underdraw_stages.gcode.rehearsal import Trace
from underdraw_stages.gcode.setup import Setup
from underdraw_stages.gcode.toolpath import CLOCKWISE, LINE, Drawn


class Program:
    """Blocks in the making: what the controller needs to know of the block before is kept here."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.controller = setup.controller
        self.units = setup.units
        self.blocks: list[str] = []
        self.feed: float | None = None
        self.settle = 0.0  # s with the tip down before a stroke, of the marker in the holder
        self.travel = Travel(setup)
        self.marker = ""  # in the holder
        heights = setup.heights
        self.lift_height = setup.length(heights.lift)
        self.swap_height = setup.length(heights.swap_height)
        self.clearance = setup.length(heights.clearance)
        self.height = self.swap_height  # where the marker is now
        self.depth = setup.length(-heights.press) + 0.0
        self.touch_feed = setup.per_minute(
            min(heights.touch_speed, setup.job.machine.rapid, setup.job.machine.up_and_down[0])
        )

    def rapid(self, x: float, y: float) -> None:
        """Travel with the marker lifted, past the keep-outs."""
        rise, points = self.travel.way(x, y, self.height, self.marker)
        if rise is not None:
            self._raise_to(rise)
        for px, py in points:
            self.blocks.append(self.controller.rapid(self.controller.coordinates(self.units, x=px, y=py)))

    def lift(self) -> None:
        """Raise the marker."""
        self._raise_to(self.lift_height)

    def lift_for_swap(self) -> None:
        """Raise the marker to where it is changed."""
        self._raise_to(self.swap_height)

    def lift_to_begin(self) -> None:
        """Raise the marker before anything else: above every keep-out, as nobody knows where it is."""
        self._raise_to(max(self.swap_height, self.setup.length(self.travel.highest)))

    def _raise_to(self, height: float) -> None:
        self.height = height
        self.blocks.append(self.controller.rapid(self.controller.coordinates(self.units, z=height)))

    def touch(self) -> None:
        """Lower the marker: fast to the clearance, slowly from there, then wait for ink that starts slowly."""
        if self.clearance < self.height:
            self.blocks.append(self.controller.rapid(self.controller.coordinates(self.units, z=self.clearance)))
        words = self.controller.coordinates(self.units, z=self.depth)
        self.blocks.append(self.controller.line(f"{words} {self.controller.feed(self.touch_feed)}"))
        if self.settle > 0 and self.controller.dwells:
            self.blocks.append(self.controller.dwell(self.settle))

    def go_to_park(self) -> None:
        """Travel to where markers are swapped."""
        x, y = (self.setup.length(value) for value in self.setup.lying.park_in_program)
        self.rapid(x, y)

    def park(self) -> None:
        """Travel there, and up to the height for a swap where it is another."""
        self.go_to_park()
        if self.swap_height != self.height:
            self.lift_for_swap()

    def restate(self) -> None:
        """State the modes anew after a stop, and raise the marker: a hand at the machine may have changed both."""
        self.blocks += self.controller.modes(self.units) + self.controller.path(self.setup.job.machine.path)
        self.lift_for_swap()

    def draw(self, moves: Drawn, row: int, feed: float, number: int, next_row: int | None = None) -> None:
        """One stroke, from lowering to lifting; `row` counts from 0, `number` is the stroke's own.

        next_row: of the stroke that comes at once, with the same marker; None: another thing does.
        """
        begins = len(self.blocks)
        self.rapid(*moves.start[row].tolist())
        self.blocks[begins] = self.controller.numbered(self.blocks[begins], number)
        self.feed = None  # stated anew by each stroke, whatever was typed or skipped before it
        self.touch()
        controller, units, blocks = self.controller, self.units, self.blocks
        first, last = int(moves.bounds[row]), int(moves.bounds[row + 1])
        kinds, ends, centres = (
            moves.kind[first:last].tolist(),
            moves.end[first:last].tolist(),
            moves.centre[first:last].tolist(),
        )
        for kind, (x, y), (i, j) in zip(kinds, ends, centres, strict=True):
            if kind == LINE:
                words = controller.coordinates(units, x=x, y=y)
                blocks.append(controller.line(words + self._feed_word(feed)))
            else:
                words = controller.coordinates(units, x=x, y=y, i=i, j=j)
                blocks.append(controller.arc(kind == CLOCKWISE, words + self._feed_word(feed)))
            self.travel.at = (x, y)
        there = None if next_row is None else moves.start[next_row].tolist()
        self._raise_to(self.lift_height if there is None else self._height_to(*there))

    def _height_to(self, x: float, y: float) -> float:
        """The lift on the way to the next stroke: lower where that is near and nothing is in between."""
        heights, setup, at = self.setup.heights, self.setup, self.travel.at
        if heights.hop is None or setup.own_heights or at is None:
            return self.lift_height
        near = heights.hops(np.hypot(x - at[0], y - at[1]) * setup.unit_mm)
        hop = setup.length(heights.hop)
        return hop if near and self.travel.is_free(x, y, hop, self.marker) else self.lift_height

    def _feed_word(self, feed: float) -> str:
        """The feed where it changes."""
        if feed == self.feed:
            return ""
        self.feed = feed
        return f" {self.controller.feed(feed)}"


def program_bytes(setup: Setup, header: list[str], blocks: list[str]) -> bytes:
    """A program of these blocks, with notes before them.

    Raises CannotDo, naming the controller, for a block longer than it declares, or is no plain text.
    """
    controller = setup.controller
    notes = [block for note in header for block in controller.note(note)]
    return _as_bytes(setup, controller.finish(notes + blocks))


def program_blocks(
    setup: Setup, program_file: ProgramFile, moves: Drawn, trace: Trace | None, optional_stops: bool = False
) -> list[str]:
    """The blocks of one program, of moves for all the strokes that were chosen.

    optional_stops: whether the machine may be made to wait after each stroke.
    """
    program = Program(setup)
    controller = setup.controller
    by_marker = {name: _of_marker(setup, name) for name in setup.speeds}
    program.blocks += controller.begin(setup.units) + controller.path(setup.job.machine.path)
    program.marker = program_file.loads[0].marker.name
    program.lift_to_begin()
    program.go_to_park()
    if program.height != program.swap_height:
        program.lift_for_swap()
    if program_file.announces and controller.pauses:
        program.blocks += controller.pause(swap_message(setup, program_file.loads[0]))
        program.restate()
    if trace is not None:
        _rehearse(program, trace, program_file.loads[0])
    for index, load in enumerate(program_file.loads):
        if index:
            program.blocks += controller.pause(swap_message(setup, load))
            program.restate()
        begin_runs = dict(program_file.runs_of(load))
        for stroke in range(load.first, load.last + 1):
            number = int(program_file.chosen.numbers[stroke - 1])
            if number in begin_runs:
                strokes = f"strokes {number} to {begin_runs[number]}"
                program.blocks += controller.note(f"{plain_name(load.marker.name)}, load {load.number}: {strokes}")
            name = str(program_file.chosen.drawing.marker[stroke - 1])
            program.settle, program.depth, feed = by_marker[name]
            program.marker = name
            follows = stroke if stroke < load.last and not optional_stops else None
            program.draw(moves, stroke - 1, feed, number, follows)
            if optional_stops and stroke < load.last:
                program.blocks += controller.optional_stop()
                program.restate()
        program.park()
    program.blocks += controller.end()
    return program.blocks


def _of_marker(setup: Setup, name: str) -> tuple[float, float, float]:
    """How a marker draws: its wait with the tip down (s), its height and its feed in the program's units."""
    heights = setup.heights.for_marker(setup.job.marker(name))
    return heights.settle, setup.length(-heights.press) + 0.0, setup.per_minute(setup.speeds[name])


def _rehearse(program: Program, trace: Trace, load: Load) -> None:
    """Trace where the drawing will lie with the marker lifted, then wait at park."""
    if program.swap_height != program.lift_height:
        program.lift()
    for leg in trace:
        program.blocks += program.controller.note(f"rehearsal, marker lifted: {leg.name}")
        for x, y in leg.points:
            program.rapid(x, y)
        if leg.asks:
            program.blocks += program.controller.pause(leg.asks)
            program.restate()
            if program.swap_height != program.lift_height:
                program.lift()
    program.park()
    program.blocks += program.controller.pause(
        f"rehearsed; go on to draw with {plain_name(load.marker.name)}, or stop here"
    )
    program.restate()


def _as_bytes(setup: Setup, blocks: object) -> bytes:
    lines = list(blocks)  # type: ignore[call-overload]
    name, most = setup.controller.name, setup.controller.longest_line
    for block in lines:
        if len(block) > most:
            raise CannotDo(
                f"controller {name!r} reads lines of at most {most} characters, and wrote {len(block)}: {block[:60]!r}…"
            )
    try:
        return ("\n".join(lines) + "\n").encode("ascii")
    except UnicodeEncodeError:
        raise CannotDo(f"controller {name!r} wrote a block that is not plain ASCII") from None
