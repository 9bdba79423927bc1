"""Sizes, lengths, counts and times as a painter reads them."""

from underdraw.words.lengths import MM_PER_INCH, Rounding, format_inches, rounded

SIXTEENTH_MM = MM_PER_INCH / 16
NEAR_MM = 0.01  # a length this near a sixteenth is written as one
SUM_MM = 5e-4  # sums of lengths as written are off by less, and none is rounded a whole step for it
INCHES_PER_FOOT = 12
TIMES = "×"


def length_in(mm: float, unit: str, to: Rounding = "nearest") -> str:
    """One length: in inches as a carpenter's fraction where it is one, else with at most two decimals.

    >>> length_in(57.15, "in"), length_in(57.2, "in"), length_in(57.15, "mm")
    ('2 1/4 in', '2.25 in', '57.15 mm')
    """
    return f"{_number(mm, unit, to)} {unit}"


def size_in(size: tuple[float, float], unit: str, to: Rounding = "nearest") -> str:
    """Width and height with one unit; `to`: "up" for a size to cut, "up" or "down" for a limit.

    >>> size_in((304.8, 406.4), "in"), size_in((304.8, 406.4), "mm")
    ('12 × 16 in', '304.8 × 406.4 mm')
    """
    return f"{_number(size[0], unit, to)} {TIMES} {_number(size[1], unit, to)} {unit}"


def _number(mm: float, unit: str, to: Rounding) -> str:
    near = NEAR_MM if to == "nearest" else SUM_MM
    if unit == "in" and abs(mm / SIXTEENTH_MM - round(mm / SIXTEENTH_MM)) * SIXTEENTH_MM < near:
        return format_inches(mm).removesuffix(" in")
    value = mm / MM_PER_INCH if unit == "in" else mm
    if to != "nearest":
        slack = SUM_MM if to == "down" else -SUM_MM
        value = rounded((mm + slack) / (MM_PER_INCH if unit == "in" else 1.0) * 100, to) / 100
    return f"{value:.2f}".rstrip("0").rstrip(".")


def distance(mm: float, unit: str = "mm") -> str:
    """A length of line, to three digits: metres from one metre on, feet from one foot on.

    >>> distance(14230.0), distance(830.4), distance(14230.0, "in"), distance(83.4, "in")
    ('14.2 m', '830 mm', '46.7 ft', '3.3 in')
    """
    if unit == "in":
        inches = mm / MM_PER_INCH
        return f"{_three_digits(inches / INCHES_PER_FOOT)} ft" if inches >= INCHES_PER_FOOT else f"{inches:.1f} in"
    return f"{_three_digits(mm / 1000)} m" if mm >= 999.5 else f"{round(mm)} mm"


def area_in(mm2: float, unit: str) -> str:
    """An area to three digits: square centimetres, or square inches.

    >>> area_in(31600.4, "mm"), area_in(1234.5, "mm"), area_in(31600.4, "in")
    ('316 cm²', '12.3 cm²', '49.0 sq in')
    """
    return f"{_three_digits(mm2 / MM_PER_INCH**2)} sq in" if unit == "in" else f"{_three_digits(mm2 / 100)} cm²"


def millilitres(ml: float) -> str:
    """An amount of paint, to what a syringe measures.

    >>> millilitres(0.04), millilitres(3.14), millilitres(612.3)
    ('0.1 ml', '3.1 ml', '612 ml')
    """
    return f"{_three_digits(max(ml, 0.1))} ml"


def fine_length(mm: float, unit: str) -> str:
    """A deviation, to a thousandth of a millimetre or a ten-thousandth of an inch.

    >>> fine_length(0.0153, "mm"), fine_length(0.0153, "in")
    ('0.015 mm', '0.0006 in')
    """
    return f"{mm / MM_PER_INCH:.4f} in" if unit == "in" else f"{mm:.3f} mm"


def _three_digits(value: float) -> str:
    return f"{value:.1f}" if value < 99.95 else f"{value:,.0f}"


def speed(mm_per_s: float, unit: str) -> str:
    """A speed as machines are set, in a minute.

    >>> speed(20, "mm"), speed(20, "in")
    ('1,200 mm/min', '47.2 in/min')
    """
    if unit == "in":
        return f"{_three_digits(mm_per_s * 60 / MM_PER_INCH)} in/min"
    return f"{mm_per_s * 60:,.0f} mm/min"


def duration(seconds: float) -> str:
    """A time of machine work, to what an estimate is worth.

    >>> duration(42.4), duration(754), duration(7500)
    ('42 s', '13 min', '2 h 05 min')
    """
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60:02d} min"


def clock(seconds: float) -> str:
    """A time of day-less clock, as a program check takes it: `14:30`, `1:02:05`.

    >>> clock(870.2), clock(3725)
    ('14:30', '1:02:05')
    """
    whole = round(seconds)
    hours, minutes = divmod(whole // 60, 60)
    return f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d}"


def to_the_second(seconds: float) -> str:
    """A time in full, as a program states it of itself.

    >>> to_the_second(3725), to_the_second(59.6)
    ('1 h 2 min 5 s', '1 min 0 s')
    """
    whole = round(seconds)
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    return (f"{hours} h " if hours else "") + (f"{minutes} min " if whole >= 60 else "") + f"{rest} s"


def counted(number: int, word: str) -> str:
    """`1 stroke`, `1,204 strokes`.

    >>> counted(1, "stroke"), counted(1204, "stroke")
    ('1 stroke', '1,204 strokes')
    """
    return f"{number:,} {word}{'' if number == 1 else 's'}"
