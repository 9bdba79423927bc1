"""The sheet's pictures: the canvas with folds and every stroke in its ink and true width, and the bed with it."""

from itertools import pairwise

import numpy as np

from underdraw.drawing.ink_paths import PER_MM, ink_path
from underdraw_stages.sheet.contents import Facts
from underdraw_stages.sheet.fading import Share

RAW, SIDE, FACE, LINE = "#e6dcc8", "#f7f1e5", "#fffdf8", "#26221c"
ZERO = "#b3261e"


def picture(facts: Facts) -> str:
    """An SVG element in board coordinates, to stand in a page."""
    panel, drawing = facts.lying.panel, facts.drawing
    x0, y0, x1, y1 = panel.lying_box
    hair = max(x1 - x0, y1 - y0) / 600  # a line that prints, at whatever size the page gives the picture
    edges = "".join(_rect(box, tone) for box, tone in ((panel.image_box, SIDE), (panel.face_box, FACE)))
    folds = "".join(f"M{a:g} {b:g}L{c:g} {d:g}" for (a, b), (c, d) in panel.folds.values())
    ink = f'fill="none" stroke-linecap="round" stroke-linejoin="round" transform="scale({1 / PER_MM:g})"'
    return (
        f'<svg class="picture" xmlns="http://www.w3.org/2000/svg" viewBox="{_view(panel.lying_box, hair)}" role="img">'
        f"<title>The canvas as it lies, with every stroke</title>{_rect(panel.lying_box, RAW)}{edges}"
        f'<path d="{folds}" fill="none" stroke="{LINE}" stroke-width="{hair:.2f}"/>'
        f'<g id="ink" {ink}>{_ink(facts)}</g>'
        f'<rect x="{x0:g}" y="{y0:g}" width="{x1 - x0:g}" height="{y1 - y0:g}" fill="none" stroke="{LINE}" '
        f'stroke-width="{2 * hair:.2f}"/>'
        f'<rect x="0" y="0" width="{drawing.sheet[0]:g}" height="{drawing.sheet[1]:g}" fill="none" stroke="{LINE}" '
        f'stroke-width="{hair:.2f}" stroke-dasharray="{8 * hair:.2f} {3 * hair:.2f}"/>{_zero_mark(facts, hair)}</svg>'
    )


def _zero_mark(facts: Facts, hair: float) -> str:
    """A ring and a cross where program zero is."""
    x, y = facts.lying.zero_on_board
    arm, ring = 14 * hair, 8 * hair
    return (
        f'<g fill="none" stroke="{ZERO}" stroke-width="{2 * hair:.2f}"><title>Zero</title>'
        f'<circle cx="{x:g}" cy="{y:g}" r="{ring:.2f}"/>'
        f'<path d="M{x - arm:g} {y:g}h{2 * arm:.2f}M{x:g} {y - arm:g}v{2 * arm:.2f}"/></g>'
    )


def bed_plan(facts: Facts) -> str:
    """An SVG element of the bed from above, the canvas as near to its near left corner as it may be; "" without a bed.

    The bed is the travel of the spindle's axis. A canvas that does not fit it is shown at that corner.
    """
    panel, bed = facts.lying.panel, facts.drawing.job.machine.bed
    if bed is None:
        return ""
    x, y = facts.lying.corner_on_bed(1)
    left, top = x, bed[1] - y - panel.board[1]  # of board coordinates, in those of the plan
    hair = max(bed) / 300
    x0, y0, x1, y1 = panel.lying_box
    box = min(0.0, left + x0), min(0.0, top + y0), max(bed[0], left + x1), max(bed[1], top + y1)
    boxes = "".join(_rect(at, tone) for at, tone in ((panel.lying_box, RAW), (panel.face_box, FACE)))
    zero = _zero_mark(facts, hair / 2)
    edge = f'fill="none" stroke="{LINE}" stroke-width="{hair:.2f}"'
    return (
        f'<svg class="plan" xmlns="http://www.w3.org/2000/svg" viewBox="{_view(box, hair)}" role="img">'
        f'<title>The bed from above, with the canvas on it</title><g transform="translate({left:g} {top:g})">{boxes}'
        f'<rect x="{x0:g}" y="{y0:g}" width="{x1 - x0:g}" height="{y1 - y0:g}" {edge}/>{zero}</g>'
        f'<rect x="0" y="0" width="{bed[0]:g}" height="{bed[1]:g}" {edge}/></svg>'
    )


def small_pictures(facts: Facts, parts: list[Share]) -> list[str]:
    """An SVG element a share, its strokes dark over the whole, which is shown faint; after `picture` in the page."""
    panel = facts.lying.panel
    width = max(panel.image) / 200
    pen = f'fill="none" stroke="{LINE}" stroke-width="{width * PER_MM:.0f}" stroke-linecap="round"'
    view = _view(panel.image_box, width)
    return [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" aria-hidden="true">'
        f'{_rect(panel.image_box, SIDE)}{_rect(panel.face_box, FACE)}<use href="#ink" opacity="0.25"/>'
        f'<path d="{ink_path(facts.drawing, part.first - 1, part.last)}" {pen} transform="scale({1 / PER_MM:g})"/>'
        "</svg>"
        for part in parts
    ]


def _view(box: tuple[float, float, float, float], margin: float) -> str:
    x0, y0, x1, y1 = box
    return f"{x0 - margin:g} {y0 - margin:g} {x1 - x0 + 2 * margin:g} {y1 - y0 + 2 * margin:g}"


def _rect(box: tuple[float, float, float, float], tone: str) -> str:
    x0, y0, x1, y1 = box
    return f'<rect x="{x0:g}" y="{y0:g}" width="{x1 - x0:g}" height="{y1 - y0:g}" fill="{tone}"/>'


def _ink(facts: Facts) -> str:
    drawing, paths = facts.drawing, []
    starts = [load.first - 1 for load in facts.loads]
    for load, (first, last) in zip(facts.loads, pairwise([*starts, len(drawing)]), strict=True):
        width = float(np.median(drawing.stroke_width[first:last])) or load.marker.line_width
        data = ink_path(drawing, first, last)
        paths.append(f'<path d="{data}" stroke="{load.marker.looks}" stroke-width="{width * PER_MM:g}"/>')
    return "".join(paths)
