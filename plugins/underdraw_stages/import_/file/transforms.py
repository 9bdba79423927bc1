"""Transforms and view boxes as artwork writes them, into matrices."""

import math
import re
from functools import lru_cache

from svgelements import Matrix as ParsedMatrix

from underdraw.drawing.affine import IDENTITY, Matrix, compose, translation
from underdraw_stages.import_.file.user_units import NUMBER, View, user_units

_ITEM = rf"{NUMBER}[A-Za-z%]*"
_FUNCTION = (
    rf"(?:matrix|translate[xy]?|scale[xy]?|rotate|skew[xy]?)\s*\(\s*(?>{_ITEM})(?>(?:\s*+,?+\s*+(?>{_ITEM}))*)\s*+\)"
)
_TRANSFORM = re.compile(rf"\s*+(?>(?:{_FUNCTION}\s*+,?+\s*+)*)", re.IGNORECASE)
_COUNTS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewx": (1,), "skewy": (1,)}
_COUNTED = re.compile(r"([A-Za-z]+)\s*\(([^)]*)\)")
ORIGIN_WORDS = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
ALIGN = {"min": 0.0, "mid": 0.5, "max": 1.0}  # SVG 1.1, 7.8: share of the room left over that goes before the picture


@lru_cache(maxsize=4096)
def read_transform(text: str) -> Matrix | None:
    """The matrix of a `transform`; None where it is in error (then it is not applied, as browsers do)."""
    if not text.strip() or text.strip() == "none":
        return IDENTITY
    if not _TRANSFORM.fullmatch(text):
        return None
    for name, inside in _COUNTED.findall(text):
        counts = _COUNTS.get(name.lower())
        if counts is not None and len(re.findall(NUMBER, inside)) not in counts:
            return None
    try:
        parsed = ParsedMatrix(text)
        parsed.render(ppi=96)
        found = tuple(float(getattr(parsed, name)) for name in "abcdef")
    except (TypeError, ValueError, AttributeError, IndexError):
        return None
    return found if all(map(math.isfinite, found)) else None  # type: ignore[return-value]


def about(matrix: Matrix, origin: str, view: View, box: tuple[float, float, float, float] | None = None) -> Matrix:
    """A transform about its `transform-origin`; percentages are of the view, or of `box` (x0, y0, x1, y1)."""
    words = origin.split()[:2]
    if len(words) == 2 and (words[0] in ("top", "bottom") or words[1] in ("left", "right")):
        words.reverse()
    words += ["center"] * (2 - len(words))
    x0, y0, x1, y1 = box or (0.0, 0.0, view.width, view.height)
    origin_xy: list[float] = []
    for word, axis, low, size in ((words[0], "x", x0, x1 - x0), (words[1], "y", y0, y1 - y0)):
        if word in ORIGIN_WORDS:
            origin_xy.append(low + ORIGIN_WORDS[word] * size)
        else:
            room = view.within(size, size)
            origin_xy.append(low + (user_units(word, axis, room) or 0.0))
    return compose(compose(translation(*origin_xy), matrix), translation(-origin_xy[0], -origin_xy[1]))


def read_view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """(x, y, width, height), or None where none is stated or it is in error."""
    items = [item for item in re.split(r"[\s,]+", (text or "").strip()) if item]
    if len(items) != 4 or not all(re.fullmatch(NUMBER, item) for item in items):
        return None
    x, y, width, height = map(float, items)
    if not all(map(math.isfinite, (x, y, width, height))) or width <= 0 or height <= 0:
        return None
    return x, y, width, height


def view_box_matrix(box: tuple[float, float, float, float], width: float, height: float, aspect: str | None) -> Matrix:
    """How a viewBox lies in a viewport of (width, height). Source: SVG 1.1, section 7.8.

    >>> view_box_matrix((0, 0, 10, 10), 40, 20, "xMaxYMin meet")
    (2.0, 0.0, 0.0, 2.0, 20.0, 0.0)
    """
    words = [word for word in (aspect or "").split() if word != "defer"] or ["xMidYMid"]
    x, y, box_width, box_height = box
    scale_x, scale_y = width / box_width, height / box_height
    align = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", words[0])
    if words[0] == "none":
        return (scale_x, 0.0, 0.0, scale_y, -x * scale_x, -y * scale_y)
    share_x, share_y = (ALIGN[word.lower()] for word in align.groups()) if align else (0.5, 0.5)
    scale = max(scale_x, scale_y) if "slice" in words[1:] else min(scale_x, scale_y)
    left = share_x * (width - box_width * scale) - x * scale
    top = share_y * (height - box_height * scale) - y * scale
    return (scale, 0.0, 0.0, scale, left, top)
