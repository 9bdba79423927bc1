"""What a preview shows, worked out once for every view: the drawing, its panel, its clock and its loads."""

from dataclasses import dataclass

from underdraw import Context, Drawing, Panel
from underdraw.machine.clock import Schedule
from underdraw.machine.loads import Load, loads_of
from underdraw.panel import holder_offset
from underdraw.panel.lying import lies_turned, panel_under
from underdraw.words.quantities import size_in
from underdraw.words.units import unit_of


@dataclass(frozen=True)
class Subject:
    """The drawing under review. `panel` is None before `fit`; `schedule` and `loads` are empty before `tidy`."""

    drawing: Drawing
    panel: Panel | None
    unit: str
    schedule: Schedule | None
    loads: list[Load]
    offset: tuple[float, float]

    @classmethod
    def of(cls, drawing: Drawing, context: Context) -> "Subject":
        """Work it out; inks and holder come from what is installed."""
        schedule = Schedule.of(drawing, context.registry) if drawing.is_strokes else None
        return cls(
            drawing=drawing,
            panel=panel_under(drawing),
            unit=unit_of(drawing.job),
            schedule=schedule,
            loads=loads_of(drawing, context.registry, schedule) if schedule else [],
            offset=holder_offset(drawing.job, context.registry),
        )

    @property
    def name(self) -> str:
        """What the job is called."""
        return self.drawing.job.name

    @property
    def lying(self) -> str:
        """Which way up the picture is, where the panel was turned to go on the bed."""
        return ", its top to the right" if lies_turned(self.drawing) else ""

    @property
    def face_words(self) -> str:
        """The finished panel in a few words."""
        if self.panel is None:
            return f"page {size_in(self.drawing.sheet, self.unit)}, not yet fitted to a panel"
        return f"face {size_in(self.panel.face, self.unit)}"
