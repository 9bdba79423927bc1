"""Lengths as artwork writes them, into user units (CSS px).

Source: CSS Values and Units Level 3, 'Absolute lengths'; percentages: SVG 1.1 (2nd ed.), section 7.10.
"""

import math
import re
from dataclasses import dataclass, replace

# Possessive throughout, so that a long run of digits in damaged data is looked at once, not in every split of it.
# `(?>(?:…)?)` and not `(?:…)?+`: up to Python 3.11.4 that keeps half of what did not match.
NUMBER = r"[+-]?+(?:\d++(?>(?:\.\d*+)?)|\.\d++)(?>(?:[eE][+-]?+\d++)?)"
PX_PER_INCH = 96.0
MM_PER_INCH = 25.4
ABSOLUTE = {  # user units each
    "": 1.0,
    "px": 1.0,
    "in": PX_PER_INCH,
    "cm": PX_PER_INCH / 2.54,
    "mm": PX_PER_INCH / MM_PER_INCH,
    "q": PX_PER_INCH / MM_PER_INCH / 4,
    "pt": PX_PER_INCH / 72,
    "pc": PX_PER_INCH / 6,
}
OF_FONT = {"em": 1.0, "ex": 0.5, "ch": 0.5}  # share of the font size; ex and ch where no font is at hand
OF_VIEW = {"vw": ("width", 0.01), "vh": ("height", 0.01)}
PHYSICAL_MM = {"in": 25.4, "cm": 10.0, "mm": 1.0, "q": 0.25, "pt": 25.4 / 72, "pc": 25.4 / 6}
FONT_SIZES = {  # CSS Fonts 3, 3.5, about medium = 16 px
    "xx-small": 9.6, "x-small": 12.0, "small": 14.22, "medium": 16.0, "large": 19.2, "x-large": 24.0, "xx-large": 32.0,
}  # fmt: skip
ONE_NUMBER = rf"(?>{NUMBER})"  # atomic, so that damaged data cannot make the search backtrack
GAP = r"(?>\s*+,?+\s*+)"
NUMBERS = re.compile(rf"\s*+(?>(?:{ONE_NUMBER}(?:{GAP}{ONE_NUMBER})*)?)")  # a list, up to the first thing that is none
_LENGTH = re.compile(rf"\s*+({NUMBER})\s*+([A-Za-z]++|%|)\s*+")


@dataclass(frozen=True, slots=True)
class View:
    """The viewport that percentages refer to, in user units, and the font size that em refers to."""

    width: float
    height: float
    font_size: float = 16.0
    root_font_size: float = 16.0  # what rem refers to

    def within(self, width: float, height: float) -> "View":
        """A viewport inside this one."""
        return replace(self, width=width, height=height)

    def with_font(self, size: float, *, root: bool = False) -> "View":
        """The same where letters have another size; root: of the outermost element."""
        return replace(self, font_size=size, root_font_size=size if root else self.root_font_size)

    def share(self, axis: str) -> float:
        """What 100 % is along `x`, `y` or neither (``d``: the diagonal over √2, SVG 1.1, 7.10)."""
        if axis == "x":
            return self.width
        if axis == "y":
            return self.height
        return math.sqrt((self.width**2 + self.height**2) / 2)


def split_length(text: str | None) -> tuple[float, str] | None:
    """`"12.5mm"` to (12.5, "mm"); None where it is no length."""
    match = _LENGTH.fullmatch(text) if text else None
    if match is None:
        return None
    return float(match[1]), match[2].lower()


def user_units(text: str | None, axis: str, view: View) -> float | None:
    """A length in user units; None where nothing, or no length, is written."""
    parts = split_length(text)
    if parts is None:
        return None
    number, unit = parts
    if unit in ABSOLUTE:
        return number * ABSOLUTE[unit]
    if unit == "%":
        return number / 100 * view.share(axis)
    if unit in OF_FONT:
        return number * OF_FONT[unit] * view.font_size
    if unit == "rem":
        return number * view.root_font_size
    if unit in OF_VIEW:
        side, share = OF_VIEW[unit]
        return number * share * float(getattr(view, side))
    return None


def font_size(text: str, view: View) -> float:
    """A `font-size` in user units; `view` has the parent's."""
    if text in ("smaller", "larger"):
        return view.font_size * (1.2 if text == "larger" else 1 / 1.2)
    if text in FONT_SIZES:
        return FONT_SIZES[text]
    share = text.rstrip().endswith("%")
    size = user_units(text.rstrip().removesuffix("%") + "em" if share else text, "d", view)
    if size is not None and share:
        size /= 100
    return view.font_size if size is None or not math.isfinite(size) else size


def numbers(text: str) -> list[float]:
    """Every number of a list, separated by blanks, a comma or nothing, up to the first thing that is none."""
    readable = NUMBERS.match(text)
    return list(map(float, re.findall(NUMBER, text[: readable.end()]))) if readable else []
