"""What is drawn between two marker swaps: strokes, length and time of each load."""

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import WrittenProgram
from underdraw.job.sections import MarkerSection
from underdraw.machine.clock import Schedule
from underdraw.machine.travel import swap_strokes
from underdraw.plugins.parts import Ink
from underdraw.words.plain_text import isolated

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed

FULL_SHARE = 0.9  # of its ink_length: a marker fades towards its end, and no two hold quite the same


@dataclass(frozen=True)
class Load:
    """Strokes of one marker (a body) without a swap between. Strokes are numbered from 1, both ends included."""

    marker: MarkerSection
    number: int  # from 1 within its marker
    first: int
    last: int
    drawn_mm: float

    @property
    def strokes(self) -> int:
        """How many."""
        return self.last - self.first + 1


@dataclass(frozen=True)
class TimedLoad(Load):
    """A load with its ink, and when it is drawn: `seconds` runs from swap to swap, waits left out."""

    ink: Ink
    start: float  # s on the clock of the whole drawing
    seconds: float


def loads_between(drawing: Drawing, first: int = 1, last: int | None = None) -> list[Load]:
    """The loads of strokes `first` to `last` in drawing order: a new one wherever marker or load changes."""
    last = len(drawing) if last is None else last
    if last < first:
        return []
    swaps = swap_strokes(drawing)
    within = swaps[(swaps >= first) & (swaps < last)].tolist()
    lengths = drawing.part_lengths()
    counted: dict[str, int] = {}
    loads = []
    for start, end in itertools.pairwise([first - 1, *within, last]):
        name = drawing.job.body(str(drawing.marker[start]))
        counted[name] = counted.get(name, 0) + 1
        number = int(drawing.load[start]) or counted[name]
        loads.append(Load(drawing.job.marker(name), number, start + 1, end, float(lengths[start:end].sum())))
    return loads


def programs_of_whole(drawing: Drawing) -> tuple[WrittenProgram, ...]:
    """The programs written last of these very strokes that draw each of them once, in order; none if there are not."""
    digest = drawing.digest
    programs: list[WrittenProgram] = []
    for program in drawing.programs:
        if program.digest == digest and not program.begins:
            if program.first == 1 and any(load.first == 1 for earlier in programs for load in earlier.loads):
                programs = []  # a later run of the writer goes before an earlier one
            programs.append(program)
    runs = sorted((load.first, load.last) for program in programs for load in program.loads)
    whole = bool(runs) and runs[0][0] == 1 and runs[-1][1] == len(drawing)
    whole &= all(after[0] == before[1] + 1 for before, after in itertools.pairwise(runs))
    return tuple(programs) if whole else ()


def scheduled(drawing: Drawing, registry: "Installed") -> Schedule:
    """The clock of a drawing of strokes: that of the programs written of it, where they draw it whole.

    Within each load the strokes keep their shares of its time.
    """
    schedule = Schedule.of(drawing, registry)
    loads = sorted((load for program in programs_of_whole(drawing) for load in program.loads), key=lambda x: x.first)
    starts = [load.first - 1 for load in loads]
    if not loads or starts != schedule.swap_strokes.tolist():
        return schedule
    return schedule.on_clock([load.seconds for load in loads])


def named_for_a_page(loads: list[TimedLoad]) -> list[TimedLoad]:
    """The same loads, with names of markers that turn nothing beside them on a page of SVG or HTML."""
    return [replace(load, marker=replace(load.marker, name=isolated(load.marker.name))) for load in loads]


def loads_of(drawing: Drawing, registry: "Installed", schedule: Schedule) -> list[TimedLoad]:
    """Every load of a drawing of strokes, in drawing order; their times add up to the schedule's total."""
    times = [*schedule.swap_times.tolist(), schedule.total]
    return [
        TimedLoad(
            load.marker, load.number, load.first, load.last, load.drawn_mm, registry.ink(load.marker.ink), start,
            end - start,
        )
        for load, (start, end) in zip(loads_between(drawing), itertools.pairwise(times), strict=True)
    ]  # fmt: skip
