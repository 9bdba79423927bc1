"""Which panel a drawing lies on: for stages that come after it was placed."""

from dataclasses import replace

from underdraw.drawing import Drawing
from underdraw.errors import InputError
from underdraw.panel.geometry import Panel

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
