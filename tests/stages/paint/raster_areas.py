"""Areas by colour as an independent renderer (resvg) paints them: pixels counted, edges not softened."""

import re

import numpy as np
import resvg_py
from rendered import pixels

from underdraw import Drawing
from underdraw.drawing.wire import write_drawing


def fills_alone(drawing: Drawing) -> bytes:
    """The drawing on the wire without its strokes, on its ground: what is painted."""
    without = drawing.replace(stroke="", stroke_gradient=None, stroke_width=0.0)
    data = write_drawing(without)
    width, height = drawing.sheet
    page = b""
    if drawing.ground is not None:
        page = f'<rect width="{width}" height="{height}" fill="{drawing.ground.colour}"/>'.encode()
    return re.sub(rb"</metadata>", b"</metadata>" + page, data).replace(
        b"<svg ", b'<svg shape-rendering="crispEdges" ', 1
    )


def pixel_areas(drawing: Drawing, per_mm: float) -> tuple[dict[str, float], dict[str, float]]:
    """mm² of each colour "#rrggbb" ("" is bare), and mm² of its pixels that have another colour beside them."""
    width = round(drawing.sheet[0] * per_mm)
    data = resvg_py.svg_to_bytes(svg_string=fills_alone(drawing).decode(), width=width, dpi=96.0)
    picture = pixels(bytes(data))
    square = drawing.sheet[0] * drawing.sheet[1] / (picture.shape[0] * picture.shape[1])
    code = np.where(picture[..., 3] == 0, -1, over_white(picture))
    edge = np.zeros(code.shape, dtype=bool)
    for axis in (0, 1):
        differs = np.diff(code, axis=axis) != 0
        edge |= np.insert(differs, 0, False, axis=axis) | np.insert(differs, differs.shape[axis], False, axis=axis)
    names, which = np.unique(code, return_inverse=True)
    counted = np.bincount(which.ravel())
    edges = np.bincount(which.ravel(), edge.ravel())
    keys = ["" if name < 0 else f"#{name:06x}" for name in names.tolist()]
    return (
        dict(zip(keys, (counted * square).tolist(), strict=True)),
        dict(zip(keys, (edges * square).tolist(), strict=True)),
    )


def over_white(picture: np.ndarray) -> np.ndarray:
    """(h, w) colours as numbers, laid over a white page."""
    opacity = picture[..., 3:] / 255
    shown = np.round(picture[..., :3] * opacity + 255 * (1 - opacity)).astype(np.int64)
    return shown @ (65536, 256, 1)
