"""What a preview shows, worked out once for every view: the drawing, how it lies, its clock and its loads."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import WrittenProgram
from underdraw.machine.clock import Schedule
from underdraw.machine.loads import TimedLoad, loads_of, named_for_a_page, programs_of_whole, scheduled
from underdraw.panel import Lying, Panel
from underdraw.plugins.parts import Context
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
    section: int = 0  # shown by itself, of a board longer than the bed; 0: everything

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
    def by_section(self) -> "list[Subject]":
        """The same, section by section: the one that was measured, else each; none of a board drawn in one go."""
        if self.lying.sections is None or self.schedule is None:
            return []
        found = [self.lying.section] if self.lying.section else np.unique(self.drawing.section).tolist()
        return [
            replace(self, section=section, loads=[load for load in self.loads if self.section_of(load) == section])
            for section in found
            if section
        ]

    def section_of(self, load: TimedLoad) -> int:
        """The section that a load is drawn in."""
        return int(self.drawing.section[load.first - 1])

    @property
    def shown(self) -> NDArray[np.bool_]:
        """(s,) which strokes are shown in their ink."""
        return np.asarray(self.drawing.section == self.section) if self.section else np.ones(len(self.drawing), bool)

    @property
    def seconds(self) -> float:
        """Machine time of what is shown; 0 where none is known."""
        return sum(load.seconds for load in self.loads)

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

    @property
    def canvas_box(self) -> Box:
        """What a view of the flat canvas shows, in board coordinates: the canvas, and artwork past an unfitted page."""
        box, bounds = self.panel.lying_box, self.drawing.bounds
        if bounds is None or self.drawing.lying is not None:
            return box
        (x0, y0), (x1, y1) = np.minimum(box[:2], bounds[:2]).tolist(), np.maximum(box[2:], bounds[2:]).tolist()
        return x0, y0, x1, y1
