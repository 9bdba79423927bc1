"""The seven shapes of SVG as outlines. Source: SVG 1.1 (2nd ed.), chapter 9; missing ellipse radii: SVG 2, 10.4."""

from collections.abc import Callable, Mapping

from underdraw_stages.import_.file.user_units import View, numbers, user_units
from underdraw_stages.import_.outlines.path_data import Outline, Pen, read_path_data

Written = Mapping[str, str]  # attributes, and properties that stand for them


def _length(written: Written, name: str, axis: str, view: View) -> float:
    return user_units(written.get(name), axis, view) or 0.0


def _radius(written: Written, name: str, axis: str, view: View) -> float | None:
    """A radius, or None where it is left to the other one; a negative one is an error and counts as not set."""
    value = user_units(written.get(name), axis, view)
    return None if value is None or value < 0 else value


def rect(written: Written, view: View) -> Outline | None:
    """A rectangle; a missing radius takes the other's value, each is capped at half its side (SVG 1.1, 9.2)."""
    x, y = _length(written, "x", "x", view), _length(written, "y", "y", view)
    width, height = _length(written, "width", "x", view), _length(written, "height", "y", view)
    if width <= 0 or height <= 0:
        return None
    rx, ry = _radius(written, "rx", "x", view), _radius(written, "ry", "y", view)
    rx, ry = (rx if rx is not None else ry or 0.0), (ry if ry is not None else rx or 0.0)
    rx, ry = min(rx, width / 2), min(ry, height / 2)
    pen = Pen()
    if rx == 0 or ry == 0:
        pen.move(x, y)
        for corner in ((x + width, y), (x + width, y + height), (x, y + height)):
            pen.line(*corner)
        pen.close()
        return pen.outline()
    pen.move(x + rx, y)
    right, bottom = x + width, y + height
    for straight, corner in (
        ((right - rx, y), (right, y + ry)),
        ((right, bottom - ry), (right - rx, bottom)),
        ((x + rx, bottom), (x, bottom - ry)),
        ((x, y + ry), (x + rx, y)),
    ):
        if (pen.x, pen.y) != straight:
            pen.line(*straight)
        pen.arc(rx, ry, 0, False, True, *corner)
    pen.close()
    return pen.outline()


def _round(cx: float, cy: float, rx: float, ry: float) -> Outline | None:
    if rx <= 0 or ry <= 0:
        return None
    pen = Pen()
    pen.move(cx + rx, cy)
    for corner in ((cx, cy + ry), (cx - rx, cy), (cx, cy - ry), (cx + rx, cy)):
        pen.arc(rx, ry, 0, False, True, *corner)
    pen.close()
    return pen.outline()


def circle(written: Written, view: View) -> Outline | None:
    """A circle; no radius draws nothing."""
    r = _length(written, "r", "d", view)
    return _round(_length(written, "cx", "x", view), _length(written, "cy", "y", view), r, r)


def ellipse(written: Written, view: View) -> Outline | None:
    """An ellipse; a missing radius takes the other's value."""
    rx, ry = _radius(written, "rx", "x", view), _radius(written, "ry", "y", view)
    rx, ry = (rx if rx is not None else ry or 0.0), (ry if ry is not None else rx or 0.0)
    return _round(_length(written, "cx", "x", view), _length(written, "cy", "y", view), rx, ry)


def line(written: Written, view: View) -> Outline | None:
    """A straight line."""
    pen = Pen()
    pen.move(_length(written, "x1", "x", view), _length(written, "y1", "y", view))
    pen.line(_length(written, "x2", "x", view), _length(written, "y2", "y", view))
    return pen.outline()


def polyline(written: Written, view: View, closed: bool = False) -> Outline | None:
    """Straight lines through points; an odd last number is dropped (SVG 1.1, 9.6)."""
    values = numbers(written.get("points", ""))
    if len(values) < 4:
        return None
    pen = Pen()
    pen.move(values[0], values[1])
    for at in range(2, len(values) - 1, 2):
        pen.line(values[at], values[at + 1])
    if closed:
        pen.close()
    return pen.outline()


def polygon(written: Written, view: View) -> Outline | None:
    """A closed polyline."""
    return polyline(written, view, closed=True)


def path(written: Written, view: View) -> Outline | None:
    """A path; None where it has no data."""
    data = written.get("d")
    return read_path_data(data) if data else None


SHAPES: dict[str, Callable[[Written, View], Outline | None]] = {
    "path": path,
    "rect": rect,
    "circle": circle,
    "ellipse": ellipse,
    "line": line,
    "polyline": polyline,
    "polygon": polygon,
}
