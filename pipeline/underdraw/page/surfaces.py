"""What the ink lies on: canvas, image, bleed, sides, face, corner squares, with their edges and folds."""

from underdraw.page.canvas_page import BEND, HIDDEN, VISIBLE, Page, n
from underdraw.page.ink import PRIMED
from underdraw.page.on_page import Box, OnPage
from underdraw.panel import Panel

RAW = "#e6dcc8"  # staple strip: canvas that stays bare
BLEED = "#efe7d8"
SIDE = "#f7f1e5"
HATCH = 'fill="none" stroke="#9b8e76" stroke-width=".18"'
HATCH_STEP = 2.6


def put_surfaces(page: Page, placing: OnPage, panel: Panel) -> None:
    """Tones from the outside in; each is a step lighter, in grey too."""
    tones: list[tuple[Box, str]] = [(panel.lying_box, RAW)] if panel.wraps else []
    tones += [(panel.image_box, BLEED), (panel.frame_box, SIDE)] if panel.wraps else []
    for box, tone in (*tones, (panel.face_box, PRIMED)):
        page.box(*placing.corners(box), f'fill="{tone}"')
    if panel.corner_squares:
        lines = "".join(hatching(placing.corners(box)) for box in panel.corner_squares)
        page.add(f'<path {HATCH} d="{lines}"/>')


def put_edges(page: Page, placing: OnPage, panel: Panel) -> None:
    """Edges and folds, each in its kind of line."""
    for folds in (panel.back_folds, panel.folds):
        for start, end in folds.values():
            page.line(BEND, [placing.at(*start), placing.at(*end)])
    if panel.wraps:
        page.line(HIDDEN, outline(placing.corners(panel.image_box)), close=True)
    page.line(VISIBLE, outline(placing.corners(panel.lying_box)), close=True)


def outline(box: Box) -> list[tuple[float, float]]:
    """The four corners of a box."""
    x0, y0, x1, y1 = box
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def hatching(box: Box) -> str:
    """Slanting lines across a box, as path data."""
    x0, y0, x1, y1 = box
    wide, tall = x1 - x0, y1 - y0
    lines = []
    step = max(HATCH_STEP, (wide + tall) / 60)
    reach = step / 2
    while reach < wide + tall:
        start = (x0 + min(reach, wide), y0 + max(0.0, reach - wide))
        end = (x0 + max(0.0, reach - tall), y0 + min(reach, tall))
        lines.append(f"M{n(start[0])} {n(start[1])}l{n(end[0] - start[0])} {n(end[1] - start[1])}".replace(" -", "-"))
        reach += step
    return "".join(lines)
