"""Lengths, speeds and accelerations as people write them, read into millimetres and seconds.

Units: CSS Values and Units Level 3, 'Absolute lengths' (1 in = 25.4 mm = 96 px = 72 pt = 6 pc, 1 q = 0.25 mm);
a foot is 12 in and a yard 3 ft by the international yard of 1959.
"""

import functools
import math
import re
from typing import Literal

from underdraw.errors import InputError

MM_PER_INCH = 25.4
LENGTH_UNITS = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    '"': MM_PER_INCH,
    "″": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    "ft": 12 * MM_PER_INCH,
    "yd": 36 * MM_PER_INCH,
    "pt": MM_PER_INCH / 72,
    "pc": MM_PER_INCH / 6,
    "px": MM_PER_INCH / 96,
    "q": 0.25,
}
TIME_UNITS = {"s": 1.0, "sec": 1.0, "min": 60.0}
LONGEST_MM = 1e6  # one kilometre: no canvas and no marker's line in one piece is longer; catches slips like `1e9 mm`
Rounding = Literal["nearest", "down", "up"]  # a limit is written rounded down or up to its safe side, a size to cut up
FLOAT_STEPS = 1e-6  # of a written step: what sums of floats are off by, and no reason to round a whole step away
EXAMPLES = "such as 300 mm, 40 cm, 2.5 in or 2 1/4 in"

# Possessive or atomic throughout: a long run of digits or blanks is looked at once, not in every split of it.
_POWER = r"(?>(?:[eE][+-]?+\d++)?)"  # no `(?:…)?+`: up to Python 3.11.4 that keeps half of what did not match
_NUMBER = rf"[+-]?+(?:\d++[ -]++\d++/\d++|\d++/\d++|\d++(?>(?:\.\d*+)?){_POWER}|\.\d++{_POWER})"
_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}


@functools.cache  # compiled when a length is first read: the command line starts without one
def _pattern() -> re.Pattern[str]:
    return re.compile(rf"\s*+(?P<number>{_NUMBER})\s*+(?>(?P<unit>[^\d\s][^\s]*+)?)\s*+")


def parse_number(text: str) -> float:
    """Read `2`, `2.25`, `9/4`, `2 1/4` or `2-1/4` (mixed numbers as carpenters write them)."""
    from fractions import Fraction

    sign = -1.0 if text.lstrip().startswith("-") else 1.0
    parts = re.split(r"[ -]+", text.strip().lstrip("+-").strip())
    if re.search(r"[eE]-", text):
        parts = [text.strip().lstrip("+-")]
    return sign * sum(float(Fraction(part)) if "/" in part else float(part) for part in parts)


def _quantity(text: str) -> tuple[float, str] | None:
    """Split one number from its unit; None where the text is no quantity at all."""
    for vulgar, plain in _VULGAR.items():
        text = text.replace(vulgar, f" {plain}")
    match = _pattern().fullmatch(text)
    if match is None:
        return None
    try:
        return parse_number(match["number"]), (match["unit"] or "").lower()
    except (ValueError, ZeroDivisionError):
        return None


def _units(names: dict[str, float]) -> str:
    return ", ".join(name for name in names if name.isascii() and name not in ("inch", "inches", '"'))


def parse_length(text: object, *, unit: str | None = None) -> float:
    """Read one length into mm.

    `unit` is taken where the text has none (a caller that knows it from the other half of a size).

    Raises ValueError with one line for a bare number, an unknown unit, nan, or more than a kilometre.

    >>> parse_length("2 1/4 in"), parse_length("40 cm"), parse_length('16"')
    (57.15, 400.0, 406.4)
    """
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise ValueError(f"expected a length, {EXAMPLES}, got {text!r}")
    read = _quantity(str(text))
    if read is None:
        raise ValueError(f"expected a length, {EXAMPLES}, got {str(text)!r}")
    number, written = read
    written = written or unit or ""
    if not written:
        raise ValueError(f"expected a length with its unit, {EXAMPLES}, got {str(text).strip()}")
    if written not in LENGTH_UNITS:
        raise ValueError(f"unknown unit {written!r} in {str(text)!r}; known: {_units(LENGTH_UNITS)}")
    value = number * LENGTH_UNITS[written]
    if not math.isfinite(value) or abs(value) > LONGEST_MM:
        raise ValueError(f"{str(text)!r} is longer than a kilometre; use {EXAMPLES.removeprefix('such as ')}")
    return round(value, 9)


def parse_size(text: object) -> tuple[float, float]:
    """Read `12 x 16 in`, `300 mm x 40 cm` or `12" x 16"` (also `×`, `by`) into (width, height) in mm.

    One unit at the end serves both; one length alone is refused. Raises ValueError with one line.

    >>> parse_size("12 x 16 in")
    (304.8, 406.4)
    """
    if not isinstance(text, str):
        raise ValueError(f"expected a size, such as 12 x 16 in or 300 x 400 mm, got {text!r}")
    halves = re.split(
        r" ?[x×X*] ?| by ", " ".join(text.split())
    )  # of single blanks: many would be tried in every split
    if len(halves) != 2 or not all(halves):
        raise ValueError(f"expected a size, width x height, such as 12 x 16 in or 300 x 400 mm, got {text!r}")
    last = _quantity(halves[1])
    height = parse_length(halves[1])
    width = parse_length(halves[0], unit=last[1] if last else None)
    return width, height


def _rate(text: object, per: str, example: str) -> tuple[float, str, str]:
    if not isinstance(text, str) or "/" not in text:
        raise ValueError(f"expected {per}, such as {example}, got {text!r}")
    amount, _, time = text.rpartition("/")
    return parse_length(amount), time.strip().lower(), text


def parse_speed(text: object) -> float:
    """Read `60 in/min`, `25 mm/s` … into mm/s. Raises ValueError with one line."""
    length, time, read = _rate(text, "a speed", "60 in/min or 25 mm/s")
    if time not in TIME_UNITS:
        raise ValueError(f"unknown unit of time {time!r} in {read!r}; known: s, min")
    return length / TIME_UNITS[time]


def parse_acceleration(text: object) -> float:
    """Read `300 mm/s2` (also `mm/s²`, `mm/s^2`) into mm/s². Raises ValueError with one line."""
    length, time, read = _rate(text, "an acceleration", "300 mm/s2")
    if time.replace("²", "2").replace("^", "") not in ("s2", "s/s"):
        raise ValueError(f"expected an acceleration, such as 300 mm/s2, got {read!r}")
    return length


def parse_time(text: object) -> float:
    """Read `0.3 s` or `2 min` into s. Raises ValueError with one line for anything else, and for less than 0.

    >>> parse_time("0.3 s"), parse_time("2 min")
    (0.3, 120.0)
    """
    read = _quantity(text) if isinstance(text, str) else None
    if read is None or not read[1] or not 0 <= read[0] < math.inf:
        raise ValueError(f"expected a time with its unit, such as 0.3 s, got {text!r}")
    if read[1] not in TIME_UNITS:
        raise ValueError(f"unknown unit of time {read[1]!r} in {text!r}; known: s, min")
    return read[0] * TIME_UNITS[read[1]]


def parse_clock(text: str, option: str) -> float:
    """`14:30`, `1:02:30` or `870 s` in seconds. Raises InputError that names the option.

    >>> parse_clock("1:02:30", "--at"), parse_clock("14:30", "--at"), parse_clock("870 s", "--at")
    (3750.0, 870.0, 870.0)
    """
    parts = [part.strip() for part in text.strip().removesuffix("s").split(":")]
    right = 1 <= len(parts) <= 3 and all(re.fullmatch(r"\d+(\.\d+)?", part) for part in parts)
    values = [float(part) for part in parts] if right else []
    if not right or any(value >= 60 for value in values[1:]):
        raise InputError(f"{option}: expected a time such as 14:30 or 1:02:30, got {text!r}")
    seconds = 0.0
    for value in values:
        seconds = seconds * 60 + value
    return seconds


def unit_written(text: object) -> str:
    """`in` or `mm`: the unit that whoever wrote a length, or a size, reads lengths in.

    >>> unit_written("12 x 16 in"), unit_written('2"'), unit_written("30 cm")
    ('in', 'in', 'mm')
    >>> unit_written("2 x 4 ft"), unit_written("1 yd"), unit_written("3 m")
    ('in', 'in', 'mm')
    """
    inches = ("in", '"', "″", "inch", "inches", "ft", "yd")
    return "in" if isinstance(text, str) and text.rstrip().lower().endswith(inches) else "mm"


def format_exactly(mm: float, unit: str) -> str:
    """Write mm so that `parse_length` reads the same number back, as a job needs it.

    >>> format_exactly(304.8, "in"), parse_length(format_exactly(123.4567, "in"))
    ('12 in', 123.4567)
    """
    if unit == "mm":
        return f"{mm!r} mm"
    short = format_length(mm, unit)
    return short if parse_length(short) == mm else f"{mm / LENGTH_UNITS[unit]!r} {unit}"


def rounded(value: float, to: Rounding) -> float:
    """A number of steps rounded to whole ones; what is whole but for float sums stays as it is.

    >>> rounded(2.4, "up"), rounded(2.6, "down"), rounded(3.0000000001, "up")
    (3, 2, 3)
    """
    if to == "nearest":
        return round(value)
    return math.floor(value + FLOAT_STEPS) if to == "down" else math.ceil(value - FLOAT_STEPS)


def format_length(mm: float, unit: str = "mm", to: Rounding = "nearest") -> str:
    """Write mm as `12.7 mm` or `0.5 in`: at most 3 decimals, no trailing zeros; reads back by `parse_length`.

    >>> format_length(57.15, "in"), format_length(150, "in", "down")
    ('2.25 in', '5.905 in')
    """
    number = mm / LENGTH_UNITS[unit]
    value = f"{number if to == 'nearest' else rounded(number * 1000, to) / 1000:.3f}".rstrip("0").rstrip(".")
    return f"{'0' if value == '-0' else value} {unit}"


def format_inches(mm: float, parts: int = 16, to: Rounding = "nearest") -> str:
    """Write mm as a carpenter's fraction of an inch, to 1/`parts`.

    >>> format_inches(57.15), format_inches(12.7), format_inches(407.9, to="down")
    ('2 1/4 in', '1/2 in', '16 in')
    """
    from fractions import Fraction

    steps = int(rounded(mm / MM_PER_INCH * parts, to))
    whole, rest = divmod(abs(steps), parts)
    sign = "-" if steps < 0 else ""
    fraction = str(Fraction(rest, parts)) if rest else ""
    words = f"{whole or ''} {fraction}".strip() or "0"
    return f"{sign}{words} in"
