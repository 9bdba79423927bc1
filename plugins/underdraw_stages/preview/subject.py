"""What a preview shows, worked out once for every view: the drawing, its panel, its clock and its loads."""

from dataclasses import dataclass, replace

from underdraw import Context, Drawing, InputError, Panel
from underdraw.in_words import size_in, unit_of
from underdraw.loads import Load, loads_of
from underdraw.panel import holder_offset
from underdraw.timing import Schedule

SAME_MM = 1e-3


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
    def face_words(self) -> str:
        """The finished panel in a few words."""
        if self.panel is None:
            return f"page {size_in(self.drawing.sheet, self.unit)}, not yet fitted to a panel"
        return f"face {size_in(self.panel.face, self.unit)}"


def panel_under(drawing: Drawing) -> Panel | None:
    """The panel that the drawing lies on, turned as `fit` turned it; None where its sheet is no board of the job's."""
    job = drawing.job
    if job.canvas.face is None:
        job = replace(job, canvas=replace(job.canvas, face=drawing.sheet, mount="stretched"))
    try:
        panel = Panel.of(job)
    except InputError:
        return None
    for laid in (panel, panel.turned()):
        if all(abs(a - b) <= SAME_MM for a, b in zip(laid.board, drawing.sheet, strict=True)):
            return laid
    return None
