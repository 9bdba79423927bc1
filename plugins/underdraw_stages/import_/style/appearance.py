"""The appearance of a shape: what fills it, what strokes it, how wide and with which ends."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from underdraw.drawing.affine import Matrix, scale_of
from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import COLUMNS, LARGEST_MM
from underdraw_stages.import_.file.user_units import View, user_units
from underdraw_stages.import_.style.cascade import Style, own
from underdraw_stages.import_.style.svg_paint import NO_PAINT, Paint, Paints, read_share

CAPS = {"butt": "butt", "round": "round", "square": "square"}
JOINS = {"miter": "miter", "round": "round", "bevel": "bevel", "miter-clip": "miter", "arcs": "miter"}


@dataclass(frozen=True)
class PaintFrame:
    """What places a gradient on a shape: user units to mm, the viewport, and what finds the box around the shape.

    opacity: of all that the shape stands in, and its own.
    """

    matrix: Matrix
    view: View
    box: Callable[[], Box | None]
    opacity: float


def fill_of(paints: Paints, style: Style, context: tuple[Paint, Paint], frame: PaintFrame) -> Paint:
    """What fills a shape; nothing where it is not visible."""
    paint = paints.resolve(style["fill"], style["color"], context)
    return _visible(paint, frame, read_share(style["fill-opacity"]))


def stroke_of(paints: Paints, style: Style, context: tuple[Paint, Paint], frame: PaintFrame, width: float) -> Paint:
    """What strokes a shape; nothing where it is not visible, or has no width."""
    if style["stroke"] == "none" or width <= 0:
        return NO_PAINT
    paint = paints.resolve(style["stroke"], style["color"], context)
    return _visible(paint, frame, read_share(style["stroke-opacity"]))


def _visible(paint: Paint, frame: PaintFrame, opacity: float) -> Paint:
    paint = paint.on_shape(frame.matrix, frame.view, frame.box)
    opacity *= frame.opacity * paint.opacity
    return replace(paint, opacity=round(opacity, 6)) if paint.colour and opacity > 0 else NO_PAINT


def stroke_width_of(style: Style, declared: Style, view: View, matrix: Matrix, px_mm: float) -> float:
    """mm; the mean of both directions where a transform stretches one."""
    width = user_units(style["stroke-width"], "d", view)
    if width is None:
        width = 1.0
    scale = px_mm if own(declared, "vector-effect") == "non-scaling-stroke" else scale_of(matrix)
    mm = width * scale
    return min(mm, LARGEST_MM) if not math.isnan(mm) else 0.0


def miter_limit_of(style: Style, view: View) -> float:
    """In stroke widths; the initial value where what is written is none. Source: SVG 1.1, section 11.4."""
    limit = user_units(style["stroke-miterlimit"], "d", view)
    return min(limit, LARGEST_MM) if limit is not None and limit >= 1 else float(COLUMNS["miter_limit"].default)


def dashes_of(
    style: Style, declared: Style, view: View, matrix: Matrix, px_mm: float
) -> tuple[tuple[float, ...], float]:
    """(dashes and gaps in user units, offset); none where the line is whole. Source: SVG 1.1, section 11.4.

    Those of a stroke that is not scaled are not either (SVG 2, 8.13); where a transform stretches one way, by its mean.
    """
    written = style["stroke-dasharray"].strip()
    if written in ("none", ""):
        return (), 0.0
    lengths = [user_units(item, "d", view) for item in written.replace(",", " ").split()]
    dashes = [length for length in lengths if length is not None]
    if len(dashes) != len(lengths) or min(dashes) < 0 or not 0 < sum(dashes) < math.inf:
        return (), 0.0  # a negative value is an error; a sum of 0 is a whole line
    if len(dashes) % 2:
        dashes *= 2
    offset = user_units(style["stroke-dashoffset"], "d", view) or 0.0
    if own(declared, "vector-effect") == "non-scaling-stroke" and (scale := scale_of(matrix)) > 0:
        dashes, offset = [dash * px_mm / scale for dash in dashes], offset * px_mm / scale
    return tuple(dashes), offset
