"""How a job's panel is laid on its bed: as it stands, or a quarter round where only that fits."""

from dataclasses import replace
from typing import TYPE_CHECKING

from underdraw.drawing.boxes import Point
from underdraw.drawing.drawing import Drawing
from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import Job
from underdraw.panel.bed import bed_fit, fits
from underdraw.panel.geometry import Panel

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed


def holder_offset(job: Job, registry: "Installed") -> Point:
    """The marker tip's place beside the spindle axis, in machine axes: the job's own, else its holder's."""
    if job.holder.offset is not None:
        return job.holder.offset
    return registry.holder(job.holder.use).offset


def laid_panel(job: Job, offset: Point = (0.0, 0.0)) -> Panel:
    """The job's panel as it is laid: turned a quarter where the bed takes it in no other way.

    Raises InputError as `Panel.of` does. A panel that fits neither way is handed back as it stands.
    """
    panel = Panel.of(job)
    if panel.bed is None or fits(panel, panel.bed, offset):
        return panel
    turned = panel.turned()
    return turned if fits(turned, panel.bed, offset) else panel


def require_on_bed(panel: Panel, offset: Point = (0.0, 0.0), may_turn: bool = False) -> None:
    """Raise CannotDo, with each reason and what would do, for a panel that misses its bed; may_turn: see `bed_fit`."""
    if panel.bed is None:
        return
    lying = bed_fit(panel, panel.bed, offset, may_turn)
    if lying.fits:
        return
    would = "; or ".join(remedy.text for remedy in lying.remedies) or "only a larger bed"
    raise CannotDo(
        f"the panel misses the bed: {'; '.join(lying.reasons)}. What would do: {would}", keys=("machine", "bed")
    )


SAME_MM = 1e-3  # board sizes are kept to 1e-4


def panel_under(drawing: Drawing) -> Panel | None:
    """The panel of the drawing's job, turned a quarter if that is how its board lies; None for another sheet's size.

    A drawing whose job says no face is on a stretched canvas of its own sheet's size.
    """
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


def lies_turned(drawing: Drawing) -> bool:
    """Whether the drawing was turned a quarter clockwise to lie on the bed: the picture's top is to the right.

    Whichever stage lays the panel says so in its figures: `laid_turned`.
    """
    return any(record.figures.get("laid_turned") is True for record in drawing.history)
