"""A small plan of the bed: travel, what the marker's tip reaches, and the canvas laid in its near left corner."""

from underdraw.in_words import size_in
from underdraw.panel import bed_fit, reach
from underdraw_stages.preview.callouts import Callout, column_height, put_column
from underdraw_stages.preview.ink import PRIMED
from underdraw_stages.preview.page import LETTERS, QUIET, REACH, SMALL, TEXT, VISIBLE, Page, n
from underdraw_stages.preview.placing import Placing
from underdraw_stages.preview.subject import Subject
from underdraw_stages.preview.surfaces import RAW, outline
from underdraw_stages.preview.text_width import broken

REACHED = "#f4f1ea"
ROOM = (38.0, 40.0)
NAMES = 36.0


def put_bed_plan(page: Page, subject: Subject, x: float, y: float) -> float:
    """Draw it with its top left corner at (x, y); the new y."""
    panel = subject.panel
    if panel is None or panel.bed is None:
        told = "The job says no bed, so nothing here is checked against one."
        for line in broken(told, SMALL, 80.0, most=3):
            y += SMALL * 1.28
            page.text(x, y, line, size=SMALL, colour=QUIET)
        return y
    wide, tall = panel.bed
    lying = bed_fit(panel, panel.bed, subject.offset)
    corner = lying.corner[:2] if lying.corner else (panel.staple, panel.staple)
    left, low, right, high = _canvas_on_bed(panel.canvas_box, panel.image[1], corner)
    box = (min(0.0, left), min(0.0, tall - high), max(wide, right), max(tall, tall - low))
    placing = Placing.largest(box, ROOM, y + 1.0)
    placing = Placing(placing.box, placing.reduction, x + 0.5, placing.top)
    reached = reach(panel.bed, subject.offset)
    x0, y0, x1, y1 = reached[0], tall - reached[3], reached[2], tall - reached[1]
    page.box(*placing.corners((x0, y0, x1, y1)), f'fill="{REACHED}"')
    page.box(*placing.corners((left, tall - high, right, tall - low)), f'fill="{RAW}"')
    face = panel.face_box
    at = (corner[0], tall - corner[1] - panel.image[1])
    page.box(*placing.corners((face[0] + at[0], face[1] + at[1], face[2] + at[0], face[3] + at[1])), f'fill="{PRIMED}"')
    page.line(VISIBLE, outline(placing.corners((left, tall - high, right, tall - low))), close=True)
    page.line(REACH, outline(placing.corners((0.0, 0.0, wide, tall))), close=True)
    for edge, bed_edge, along in (  # the reach's own edges, where the holder's offset moves them off the bed's
        (x0, 0.0, [(x0, 0.0), (x0, tall)]),
        (x1, wide, [(x1, 0.0), (x1, tall)]),
        (y0, 0.0, [(0.0, y0), (wide, y0)]),
        (y1, tall, [(0.0, y1), (wide, y1)]),
    ):
        if edge != bed_edge:
            page.line(REACH, [placing.at(*point) for point in along])
    x, y = placing.at(corner[0], tall - corner[1])
    page.add(f'<circle cx="{n(x)}" cy="{n(y)}" r=".9" fill="{LETTERS}"/>')
    slides = placing.top + 1.0, placing.bottom - 1.0
    inner = placing.at(right, 0)[0] - 0.8
    reach_size = (reached[2] - reached[0], reached[3] - reached[1])
    names = [
        Callout(
            "bed" if lying.fits else "bed: too small",
            size_in(panel.bed, subject.unit),
            placing.at(wide, 0)[0],
            0,
            slides,
        )
    ]
    if subject.offset != (0.0, 0.0):
        names.append(
            Callout(
                "reach of the tip", size_in(reach_size, subject.unit), placing.at(reached[2], 0)[0] - 0.6, 0, slides
            )
        )
    else:
        names[0] = Callout(f"{names[0].name} = reach", names[0].size, names[0].x, 0, slides)
    names.append(
        Callout(
            "canvas",
            f"plan {placing.words.removeprefix('scale ')}",
            inner,
            0,
            (placing.at(0, tall - high)[1] + 0.8, placing.bottom - 0.8),
        )
    )
    tall_names = column_height(names, NAMES)
    put_column(
        page,
        names,
        placing.right + 8.0,
        NAMES,
        (placing.top - 1.0, max(placing.bottom, placing.top - 1.0 + tall_names)),
    )
    return max(placing.bottom, placing.top + tall_names) + TEXT * 0.2


def _canvas_on_bed(
    canvas: tuple[float, float, float, float], image_height: float, corner: tuple[float, ...]
) -> tuple[float, ...]:
    """The canvas in bed coordinates, y away from the operator: left, near, right, far."""
    x0, y0, x1, y1 = canvas
    return corner[0] + x0, corner[1] + image_height - y1, corner[0] + x1, corner[1] + image_height - y0
