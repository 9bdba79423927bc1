"""What a drawing on the wire may not hold: all that would move, hide or add a line behind the back of its reader.

A drawing is read by its paths' own numbers. A file that was opened in a drawing program and saved again may show the
same lines elsewhere, larger or not at all, by a transform, a style or a group; or hold shapes that are no paths.
"""

import re
from typing import Any

from underdraw.errors import InputError

SVG = "{http://www.w3.org/2000/svg}"
DRAWN = {f"{SVG}{name}" for name in ("svg", "g", "path", "metadata", "title", "desc", "defs")}
IN_DEFS = {f"{SVG}{name}" for name in ("linearGradient", "radialGradient", "stop")}
CHANGING = ("transform", "style", "display", "visibility", "opacity", "clip-path", "mask", "filter")
SIZE = re.compile(r"(?P<number>[\d.]+(?:e[+-]?\d+)?)mm")
SIZE_MM = 0.01  # by which a page may differ from its viewBox: a program's rounding


def require_as_it_stands(root: Any, where: str) -> None:
    """Raise InputError for a drawing, with a viewBox, whose lines are not just where its paths' numbers have them."""
    _require_millimetres(root, where)
    for element in root.iter():
        tag = element.tag
        if not isinstance(tag, str) or not tag.startswith(SVG):
            continue
        if tag not in DRAWN and tag not in IN_DEFS:
            raise _refusal(element, where, f"holds a <{tag.removeprefix(SVG)}>, and a drawing is of paths alone")
        if tag in IN_DEFS:
            continue
        found = next((name for name in CHANGING if element.get(name)), None)
        if found is not None:
            raise _refusal(element, where, f"has the attribute {found!r}, and a drawing's paths count as they stand")
        parent = element.getparent()
        if tag == f"{SVG}path" and parent is not None and parent.tag == f"{SVG}defs":
            raise _refusal(element, where, "has a path among its definitions, which is not drawn there")


def _require_millimetres(root: Any, where: str) -> None:
    """That a unit of the drawing is a millimetre, and that it begins at 0, 0."""
    box = root.get("viewBox", "").split()
    if any(float(value) != 0.0 for value in box[:2]):
        raise _refusal(root, where, "begins at another place than 0 0 (viewBox)")
    for name, side in (("width", box[2]), ("height", box[3])):
        match = SIZE.fullmatch(root.get(name, f"{side}mm").strip())
        if match is None or abs(float(match["number"]) - float(side)) > SIZE_MM:
            raise _refusal(root, where, f"its {name} is {root.get(name)!r}, and {side} mm in its viewBox")


def _refusal(element: Any, where: str, what: str) -> InputError:
    line = f":{element.sourceline}" if element.sourceline else ""
    return InputError(f"{where}{line}: {what}; take the drawing that the stage wrote, or import this file as artwork")
