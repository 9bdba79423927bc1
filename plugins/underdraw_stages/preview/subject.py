"""What a preview shows, worked out once for every view: the drawing, how it lies, its clock and its loads."""

from dataclasses import dataclass

from underdraw import Context, Drawing, Panel
from underdraw.drawing.facts import WrittenProgram
from underdraw.machine.clock import Schedule
from underdraw.machine.loads import TimedLoad, loads_of, named_for_a_page, programs_of_whole, scheduled
from underdraw.panel import Lying
from underdraw.words.plain_text import isolated
from underdraw.words.quantities import size_in
from underdraw.words.units import unit_of


@dataclass(frozen=True)
class Subject:
    """The drawing under review. `schedule` and `loads` are empty before `tidy`; `programs` before one is written."""

    drawing: Drawing
    lying: Lying
    unit: str
    schedule: Schedule | None
    loads: list[TimedLoad]
    programs: tuple[WrittenProgram, ...]

    @classmethod
    def of(cls, drawing: Drawing, context: Context) -> "Subject":
        """Work it out; inks and holder come from what is installed. Raises what `Lying.of` raises."""
        schedule = scheduled(drawing, context.registry) if drawing.is_strokes else None
        return cls(
            drawing=drawing,
            lying=Lying.of(drawing, context.registry),
            unit=unit_of(drawing.job),
            schedule=schedule,
            loads=named_for_a_page(loads_of(drawing, context.registry, schedule)) if schedule else [],
            programs=programs_of_whole(drawing),
        )

    @property
    def panel(self) -> Panel:
        """The panel as it lies."""
        return self.lying.panel

    @property
    def name(self) -> str:
        """What the job is called."""
        return isolated(self.drawing.job.name)

    @property
    def which_way(self) -> str:
        """Which way up the picture is, where the panel was turned to go on the bed."""
        return ", its top to the right" if self.lying.turned else ""

    @property
    def face_words(self) -> str:
        """The finished panel in a few words."""
        return f"face {size_in(self.lying.hung.face, self.unit)}"
