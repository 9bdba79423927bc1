"""A small plan of the bed: travel, what the marker's tip reaches, and the canvas laid in its near left corner."""

from dataclasses import dataclass

from underdraw.page.callouts import Callout, column_height, put_column
from underdraw.page.canvas_page import LETTERS, QUIET, REACH, SMALL, TEXT, VISIBLE, Page, n
from underdraw.page.ink import PRIMED
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.page.surfaces import RAW, outline
from underdraw.page.text_width import broken
from underdraw.panel import Box, Lying, bed_fit, reach
from underdraw.words.quantities import size_in
from underdraw.words.units import unit_at
from underdraw_stages.preview.figure.keep_outs import put_keep_outs

REACHED = "#f4f1ea"
ROOM = (38.0, 40.0)
NAMES = 36.0


@dataclass(frozen=True)
class OnBed:
    """Where things lie on the bed, in mm from its far left corner, y towards the operator: as a plan is drawn."""

    bed: tuple[float, float]
    reached: Box
    canvas: Box
    face: Box
    corner: tuple[float, float]  # the board's lower left corner
    fits: bool

    @classmethod
    def of(cls, lying: Lying, bed: tuple[float, float], section: int) -> "OnBed":
        """The canvas as near to the bed's near left corner as it may lie, or where a section has it."""
        panel, offset = lying.panel, lying.offset
        x, y = lying.corner_on_bed(section)
        left, top = x, bed[1] - y - panel.image[1]  # where the board's coordinates begin
        x0, y0, x1, y1 = reach(bed, offset)

        def on_bed(box: Box) -> Box:
            return box[0] + left, box[1] + top, box[2] + left, box[3] + top

        reached = x0, bed[1] - y1, x1, bed[1] - y0
        return cls(
            bed,
            reached,
            on_bed(panel.lying_box),
            on_bed(panel.face_box),
            (x, bed[1] - y),
            bed_fit(panel, bed, offset).fits or lying.sections is not None,
        )

    @property
    def box(self) -> Box:
        """All of it."""
        (w, h), (x0, y0, x1, y1) = self.bed, self.canvas
        return min(0.0, x0), min(0.0, y0), max(w, x1), max(h, y1)


def put_bed_plan(page: Page, subject: Subject, x: float, y: float) -> float:
    """Draw it with its top left corner at (x, y); the new y."""
    panel = subject.panel
    if panel.bed is None:
        for line in broken("The job sets no bed, so nothing here is checked against one.", SMALL, 80.0, most=3):
            y += SMALL * 1.28
            page.text(x, y, line, size=SMALL, colour=QUIET)
        return y
    plan = OnBed.of(subject.lying, panel.bed, subject.section)
    placing = OnPage.largest(plan.box, ROOM, y + 1.0)
    placing = OnPage(placing.box, placing.reduction, x + 0.5, placing.top)
    put_plan(page, plan, placing)
    put_keep_outs(page, placing, plan.corner, plan.box, subject.drawing.job.machine.keep_out, named=False)
    names = plan_names(plan, placing, unit_at(subject.drawing.job, "machine.bed"))
    tall = column_height(names, NAMES)
    top = placing.top - 1.0
    put_column(page, names, placing.right + 8.0, NAMES, (top, max(placing.bottom, top + tall)))
    return max(placing.bottom, placing.top + tall) + TEXT * 0.2


def put_plan(page: Page, plan: OnBed, placing: OnPage) -> None:
    """Reach, canvas, face and the board's corner, with the bed's edges and those of the reach that differ."""
    for box, tone in ((plan.reached, REACHED), (plan.canvas, RAW), (plan.face, PRIMED)):
        page.box(*placing.corners(box), f'fill="{tone}"')
    page.line(VISIBLE, outline(placing.corners(plan.canvas)), close=True)
    (wide, tall), (x0, y0, x1, y1) = plan.bed, plan.reached
    page.line(REACH, outline(placing.corners((0.0, 0.0, wide, tall))), close=True)
    for edge, bed_edge, along in (
        (x0, 0.0, [(x0, 0.0), (x0, tall)]),
        (x1, wide, [(x1, 0.0), (x1, tall)]),
        (y0, 0.0, [(0.0, y0), (wide, y0)]),
        (y1, tall, [(0.0, y1), (wide, y1)]),
    ):
        if edge != bed_edge:
            page.line(REACH, [placing.at(*point) for point in along])
    x, y = placing.at(*plan.corner)
    page.add(f'<circle cx="{n(x)}" cy="{n(y)}" r=".9" fill="{LETTERS}"/>')


def plan_names(plan: OnBed, placing: OnPage, unit: str) -> list[Callout]:
    """Bed, reach and canvas; bed and reach in one where the holder has no offset."""
    slides = placing.top + 1.0, placing.bottom - 1.0
    x0, y0, x1, y1 = plan.reached
    whole = (x1 - x0, y1 - y0) == plan.bed
    name = ("bed = reach" if whole else "bed") + ("" if plan.fits else ": too small")
    names = [Callout(name, size_in(plan.bed, unit), placing.at(plan.bed[0], 0)[0], 0.0, slides)]
    if not whole:
        size = size_in((x1 - x0, y1 - y0), unit)
        names.append(Callout("reach of the tip", size, placing.at(x1, 0)[0] - 0.6, 0.0, slides))
    (_, top), (right, bottom) = placing.at(*plan.canvas[:2]), placing.at(*plan.canvas[2:])
    scale = f"plan {placing.words.removeprefix('scale ')}"
    names.append(Callout("canvas", scale, right - 0.8, 0.0, (top + 0.8, bottom - 0.8)))
    return names
