"""New coordinate systems inside the artwork: nested svg, symbol, marker. Sources: SVG 1.1, 5.1, 5.5, 5.6, 11.6."""

import math

from lxml import etree

from underdraw.drawing.affine import IDENTITY, compose, translation
from underdraw_stages.import_.file.transforms import read_view_box, view_box_matrix
from underdraw_stages.import_.file.user_units import View, user_units
from underdraw_stages.import_.shapes.inherited_state import Clip, InheritedState
from underdraw_stages.import_.style.cascade import Style, own


def into_svg(element: etree._Element, declared: Style, state: InheritedState) -> InheritedState | None:
    """The state inside a nested `svg` (or one that a `use` draws, with the size it gives); None without room."""
    given = state.size or (None, None)
    x = user_units(declared.get("x"), "x", state.view) or 0.0
    y = user_units(declared.get("y"), "y", state.view) or 0.0
    return _into(
        element, declared, state, (x, y), (given[0] or declared.get("width"), given[1] or declared.get("height"))
    )


def into_symbol(element: etree._Element, declared: Style, state: InheritedState) -> InheritedState | None:
    """The state inside a symbol that a `use` draws; None without room."""
    given = state.size or (None, None)
    x = user_units(element.get("x"), "x", state.view) or 0.0
    y = user_units(element.get("y"), "y", state.view) or 0.0
    return _into(
        element, declared, state, (x, y), (given[0] or element.get("width"), given[1] or element.get("height"))
    )


def _into(
    element: etree._Element,
    declared: Style,
    state: InheritedState,
    at: tuple[float, float],
    size: tuple[str | None, str | None],
) -> InheritedState | None:
    width, height = (
        state.view.share(axis) if length is None else length
        for axis, length in (("x", user_units(size[0], "x", state.view)), ("y", user_units(size[1], "y", state.view)))
    )
    if width <= 0 or height <= 0:
        return None
    box = read_view_box(element.get("viewBox"))
    clips = state.clips
    if clips_overflow(declared):
        clips = (*clips, Clip(state.matrix, box=(at[0], at[1], at[0] + width, at[1] + height)))
    inner = view_box_matrix(box, width, height, element.get("preserveAspectRatio")) if box else IDENTITY
    view = state.view.within(box[2], box[3]) if box else state.view.within(width, height)
    return state.changed(
        matrix=compose(compose(state.matrix, translation(*at)), inner), view=view, clips=clips, size=None
    )


def clips_overflow(declared: Style) -> bool:
    """Whether what hangs over an inner viewport's edge is cut off there."""
    return own(declared, "overflow") in ("", "hidden", "scroll")


def marker_state(
    marker: etree._Element,
    declared: Style,
    state: InheritedState,
    at: tuple[float, float],
    degrees: float,
    stroke_width: float,
) -> InheritedState | None:
    """The state inside a `marker` that stands at a point of a shape; None without room. `state` is the shape's.

    The tip of the marker, (refX, refY), comes to lie on the point; with `orient="auto"` it turns with the line.
    """
    view = state.view
    width = _length(marker, "markerWidth", "x", 3.0, view)
    height = _length(marker, "markerHeight", "y", 3.0, view)
    if width <= 0 or height <= 0:
        return None
    scale = 1.0 if marker.get("markerUnits") == "userSpaceOnUse" else stroke_width
    turn = math.radians(degrees)
    cos, sin = math.cos(turn) * scale, math.sin(turn) * scale
    matrix = compose(state.matrix, (cos, sin, -sin, cos, at[0], at[1]))
    box = read_view_box(marker.get("viewBox"))
    if box is None:
        inner, inner_view = IDENTITY, view.within(width, height)
    else:
        inner = view_box_matrix(box, width, height, marker.get("preserveAspectRatio"))
        inner_view = view.within(box[2], box[3])
    words = {"left": 0.0, "center": 0.5, "right": 1.0, "top": 0.0, "bottom": 1.0}
    x0, y0 = (box[0], box[1]) if box else (0.0, 0.0)
    ref_x, ref_y = marker.get("refX", ""), marker.get("refY", "")
    x = x0 + words[ref_x] * inner_view.width if ref_x in words else user_units(ref_x, "x", inner_view) or 0.0
    y = y0 + words[ref_y] * inner_view.height if ref_y in words else user_units(ref_y, "y", inner_view) or 0.0
    tip = (inner[0] * x + inner[2] * y + inner[4], inner[1] * x + inner[3] * y + inner[5])
    matrix = compose(matrix, translation(-tip[0], -tip[1]))
    clips = state.clips
    if clips_overflow(declared):
        clips = (*clips, Clip(matrix, box=(0.0, 0.0, width, height)))
    return state.changed(matrix=compose(matrix, inner), view=inner_view, clips=clips, size=None)


def _length(element: etree._Element, name: str, axis: str, default: float, view: View) -> float:
    value = user_units(element.get(name), axis, view)
    return default if value is None else value
