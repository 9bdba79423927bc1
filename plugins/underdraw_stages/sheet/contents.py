"""Everything the sheet prints, worked out of the drawing and its job: nothing is typed in twice."""

import shlex
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from underdraw import Context, Drawing, Holder, InputError, Panel
from underdraw.drawing.facts import WrittenProgram
from underdraw.machine.clock import Schedule
from underdraw.machine.heights import Heights
from underdraw.machine.loads import TimedLoad, loads_of, named_for_a_page, programs_of_whole, scheduled
from underdraw.panel import Lying
from underdraw.words.lengths import Rounding
from underdraw.words.plain_text import isolated
from underdraw.words.quantities import counted, distance, duration, length_in, size_in
from underdraw.words.units import other_unit, unit_at, unit_of

UNITS = {"in": "inches", "mm": "millimetres"}


def as_typed(name: str) -> str:
    """A file's name as it is typed in a POSIX shell."""
    return shlex.quote(name)


@dataclass(frozen=True)
class Facts:
    """What every part of the sheet draws on."""

    drawing: Drawing
    lying: Lying
    unit: str
    loads: list[TimedLoad]
    programs: tuple[WrittenProgram, ...]
    schedule: Schedule
    holder: Holder
    heights: Heights
    saved_by_hops: float  # s, of the lower lift between near strokes
    drawing_file: str  # what the drawing is called where `run` writes it

    @classmethod
    def of(cls, drawing: Drawing, context: Context) -> "Facts":
        """Raises InputError for a drawing that is not of strokes, and what `Lying.of` raises."""
        if not drawing.is_strokes:
            raise InputError("the sheet is for strokes of a marker; put `tidy` and `order` before it")
        job, registry = drawing.job, context.registry
        holder = registry.holder(job.holder.use)
        schedule = scheduled(drawing, registry)
        return cls(
            drawing=drawing,
            lying=Lying.of(drawing, registry),
            unit=unit_of(job),
            loads=named_for_a_page(loads_of(drawing, registry, schedule)),
            programs=programs_of_whole(drawing),
            schedule=schedule,
            holder=holder,
            heights=Heights.of(job, holder, registry),
            saved_by_hops=Schedule.saved_by_hops(drawing, registry),
            drawing_file=f"{Path(context.file_name('.html', 'sheet')).stem.removesuffix('-sheet')}-drawing.svg",
        )

    @property
    def is_split(self) -> bool:
        """Whether a section, or a board that is drawn in one go, has several programs: a marker or a load each."""
        sections = [self.section_of(program) for program in self.programs]
        return len(sections) > len(set(sections))

    @property
    def name(self) -> str:
        """What the job is called."""
        return isolated(self.drawing.job.name)

    @property
    def panel(self) -> Panel:
        """The panel as it hangs: what is cut, stretched and painted."""
        return self.lying.hung

    def size(self, size: tuple[float, float], to: Rounding = "nearest") -> str:
        """A size in the job's unit and the other one; "up" for what is cut to it."""
        return f"{size_in(size, self.unit, to)} ({size_in(size, other_unit(self.unit), to)})"

    def length(self, mm: float, to: Rounding = "nearest") -> str:
        """A length in the job's unit and the other one; "up" for what is cut to it."""
        return f"{length_in(mm, self.unit, to)} ({length_in(mm, other_unit(self.unit), to)})"

    @property
    def marks_in_program(self) -> list[str]:
        """Where the tip is over each registration mark, as the machine shows it in the program's units."""
        unit = self.drawing.job.machine.units
        points = self.lying.to_program(np.array(self.lying.marks, dtype=np.float64).reshape(-1, 2))
        return [size_in((x, y), unit) for x, y in points.tolist()]

    def section_of(self, drawn: TimedLoad | WrittenProgram) -> int:
        """The section of a long board that a load or program is drawn in; 0 where it is drawn in one go."""
        return int(self.drawing.section[drawn.first - 1])

    def marks_due(self, section: int) -> list[tuple[str, str]]:
        """The marks that a section is found by: number, and where the tip is over it if the board is moved just so."""
        lying = self.lying.for_section(section)
        marks = lying.marks_before(section)
        points = lying.to_program(np.array(marks, dtype=np.float64).reshape(-1, 2))
        spots = [size_in((x, y), self.drawing.job.machine.units) for x, y in points.tolist()]
        return [(str(lying.marks.index(mark) + 1), spot) for mark, spot in zip(marks, spots, strict=True)]

    @property
    def markers_used(self) -> int:
        """A fresh marker for each load; one may go on in the next section of a long board."""
        return len({(load.marker.name, load.number) for load in self.loads})

    @property
    def summary(self) -> list[tuple[str, str]]:
        """The job in a few figures, for the sheet's head."""
        return [
            ("Face", size_in(self.panel.face, self.unit)),
            ("Strokes", f"{len(self.drawing):,}"),
            ("Drawn", distance(self.drawing.drawn_mm, self.unit)),
            ("Travel, lifted", distance(self.schedule.travel_mm, self.unit)),
            ("Machine time", duration(self.schedule.total)),
            ("Markers", str(self.markers_used)),
        ]

    @property
    def setup(self) -> list[str]:
        """Artwork, machine and holder, as the job names them."""
        job = self.drawing.job
        parts = [f"artwork {isolated(str(job.at('artwork.file')))}"] if job.at("artwork.file") else []
        parts += [f"controller {job.machine.controller}"] if job.machine.controller else []
        parts.append(f"program in {UNITS[job.machine.units]}")
        parts += [f"bed {size_in(job.machine.bed, unit_at(job, 'machine.bed'))}"] if job.machine.bed else []
        parts.append(f"holder {self.holder.name}")
        if self.programs:
            parts.append(f"drawing {self.drawing.digest}, in the head of {named_files(self.programs)}")
        return parts

    @property
    def reading(self) -> str:
        """How the lines will read, where somebody looked at just these strokes; else nothing."""
        found = self.drawing.reading
        if found is None or found.digest != self.drawing.digest:
            return ""
        if not found.spots:
            return "Every line reads with these markers: none merge, no region fills with ink."
        kinds = (
            (found.merges, f"lines merge ({distance(found.merge_mm, self.unit)})"),
            (found.closed, "a region fills with ink"),
            (found.fine, "a detail is smaller than the tip"),
        )
        listed = "; ".join(f"{what}: {counted(count, 'spot')}" for count, what in kinds if count)
        return f"What will not read: {listed}. See “{found.file}” before you draw."


def named_files(programs: tuple[WrittenProgram, ...]) -> str:
    """`“moth-1.ngc”` or `“moth-1.ngc” and 2 more`."""
    more = f" and {len(programs) - 1} more" if len(programs) > 1 else ""
    return f"“{programs[0].file}”{more}"
