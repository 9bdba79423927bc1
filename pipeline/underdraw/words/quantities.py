"""Sizes, lengths, counts and times as a painter reads them."""

from underdraw.words.lengths import MM_PER_INCH, format_inches, format_length

SIXTEENTH_MM = MM_PER_INCH / 16
NEAR_MM = 0.01  # a length this near a sixteenth is written as one
TIMES = "×"


def length_in(mm: float, unit: str) -> str:
    """One length: in inches as a carpenter's fraction where it is one, else with at most two decimals.

    >>> length_in(57.15, "in"), length_in(57.2, "in"), length_in(57.15, "mm")
    ('2 1/4 in', '2.25 in', '57.15 mm')
    """
    return f"{_number(mm, unit)} {unit}"


def size_in(size: tuple[float, float], unit: str) -> str:
    """Width and height with one unit.

    >>> size_in((304.8, 406.4), "in"), size_in((304.8, 406.4), "mm")
    ('12 × 16 in', '304.8 × 406.4 mm')
    """
    return f"{_number(size[0], unit)} {TIMES} {_number(size[1], unit)} {unit}"


def _number(mm: float, unit: str) -> str:
    if unit != "in":
        return f"{mm:.2f}".rstrip("0").rstrip(".")
    if abs(mm / SIXTEENTH_MM - round(mm / SIXTEENTH_MM)) * SIXTEENTH_MM < NEAR_MM:
        return format_inches(mm).removesuffix(" in")
    return f"{mm / MM_PER_INCH:.2f}".rstrip("0").rstrip(".")


def distance(mm: float) -> str:
    """A length of line: metres from one metre on.

    >>> distance(14230.0), distance(830.4)
    ('14.2 m', '830 mm')
    """
    return f"{mm / 1000:.1f} m" if mm >= 999.5 else format_length(round(mm))


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
