"""How large the artwork's page is, and how user units become millimetres on it."""

import math
from dataclasses import dataclass

from lxml import etree

from underdraw.drawing.affine import Matrix
from underdraw.errors import InputError
from underdraw.words.lengths import format_length
from underdraw_stages.import_.file.transforms import read_view_box, view_box_matrix
from underdraw_stages.import_.file.user_units import (
    ABSOLUTE,
    MM_PER_INCH,
    PHYSICAL_MM,
    View,
    numbers,
    split_length,
    user_units,
)
from underdraw_stages.import_.style.style_sheets import read_style

LARGEST_PAGE = 1e6  # mm; a kilometre, as everywhere


@dataclass(frozen=True)
class ArtworkPage:
    """size: (width, height) mm, or None where the file states none (then the drawing's own extent is the page).

    matrix: user units to mm. view: what percentages of the outermost viewport refer to. px_mm: mm of a CSS px.
    note: what the user should know of the scale, or "".
    """

    size: tuple[float, float] | None
    matrix: Matrix
    view: View
    px_mm: float
    note: str


def read_page(root: etree._Element, dpi: float, name: str, unit: str = "mm") -> ArtworkPage:
    """The page of an outermost `svg`. Physical sizes hold as written; px are `dpi` to the inch.

    unit: `in` or `mm`, for messages.

    A missing side follows the viewBox's proportions; without any size, a viewBox is taken as px.
    Raises InputError for a page without room or longer than a kilometre.
    """
    px_mm = MM_PER_INCH / dpi
    box = read_view_box(root.get("viewBox"))
    if box is None and len(numbers(root.get("viewBox", ""))) == 4:
        raise InputError(f"the viewBox has no room ({root.get('viewBox')}); give the page a size", file=name)
    styled = {key: value for key, value, _ in read_style(root.get("style", ""))}  # goes before the attributes
    width, width_physical = _side(styled.get("width") or root.get("width"), px_mm, name, "width")
    height, height_physical = _side(styled.get("height") or root.get("height"), px_mm, name, "height")
    physical = width_physical or height_physical
    if box is not None:
        share = box[3] / box[2]
        if width is None and height is None:
            width, height = box[2] * px_mm, box[3] * px_mm
        elif height is None and width is not None:
            height = width * share
        elif width is None and height is not None:
            width = height / share if share else math.inf
    for side in (width, height):
        if side is not None and not 0 < side <= LARGEST_PAGE:
            raise InputError(f"the viewBox has no room ({root.get('viewBox')}); give the page a size", file=name)
    if width is None or height is None:
        note = f"the file states no size: the drawing's own extent is the page, at {dpi:g} px an inch (--dpi)"
        return ArtworkPage(None, (px_mm, 0.0, 0.0, px_mm, 0.0, 0.0), View(100, 100), px_mm, note)
    note = ""
    if not physical:
        in_px = any(_side(root.get(side), px_mm, name, side)[0] for side in ("width", "height"))
        stated = "states its size in px alone" if in_px else "states no size"
        size = f"{format_length(width, unit)} x {format_length(height, unit)}"
        note = f"the file {stated}: taken at {dpi:g} px an inch, {size} (--dpi for another scale)"
    view = View(box[2], box[3]) if box else View(width / px_mm, height / px_mm)
    if box is None:
        matrix: Matrix = (px_mm, 0.0, 0.0, px_mm, 0.0, 0.0)
    else:
        matrix = view_box_matrix(box, width, height, root.get("preserveAspectRatio"))
    return ArtworkPage((width, height), matrix, view, px_mm, note)


def _side(text: str | None, px_mm: float, name: str, which: str) -> tuple[float | None, bool]:
    """(mm, whether it is in a physical unit); None for a side that is not set, a share of a window, or no length."""
    parts = split_length(text)
    if parts is None or parts[1] == "%":
        return None, False
    number, unit = parts
    if unit in PHYSICAL_MM:
        mm, physical = number * PHYSICAL_MM[unit], True
    elif unit in ABSOLUTE:
        mm, physical = number * px_mm, False
    else:
        px = user_units(text, "x", View(0, 0))
        if px is None:
            return None, False  # a unit that is none
        mm, physical = px * px_mm, False
    if mm <= 0:
        raise InputError(f"the page has no room ({which}={text!r}); give it a size and export again", file=name)
    if mm > LARGEST_PAGE:
        raise InputError(f"the page is longer than a kilometre ({which}={text!r}); export at its real size", file=name)
    return mm, physical
