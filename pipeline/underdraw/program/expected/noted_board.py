"""Where the board lies by a program's own notes: for one that is checked against a job alone, without its drawing."""

import re
from dataclasses import replace

import numpy as np

from underdraw.drawing.facts import Motion
from underdraw.errors import UnderdrawError
from underdraw.panel.lying import Lying
from underdraw.program.dialect import Dialect
from underdraw.program.problems import Faults
from underdraw.program.tokens import read_words
from underdraw.words.lengths import LENGTH_UNITS

NUMBER = r"(-?\d+(?:\.\d*)?)"
UNITS = re.compile(r"\bunits (?P<unit>mm|in)\b")
SECTION = re.compile(r"\bsection (?P<section>\d{1,3}) of (?P<count>\d{1,3})\b")
MOVED = re.compile(rf"\bturned {NUMBER} degrees about zero, moved X{NUMBER} ?Y{NUMBER}")
MARK = re.compile(rf"\bmark \d+ at X{NUMBER} ?Y{NUMBER}")
MOST_DEGREES = 360.0
MOST_SHIFT_MM = 1e6


def as_noted(data: bytes, lying: Lying, dialect: Dialect | None) -> Lying:
    """How the board lies that a program was written for, as its header has it; as it is where that has nothing.

    The section of a board longer than the bed, the motion that was measured, and where the tip is over its marks.
    """
    try:
        plain = data if dialect is None else dialect.in_standard_words(data)
    except UnderdrawError:
        return lying
    text = " ".join(comment for _, comment in read_words(plain, Faults()).comments)
    units, section, moved = UNITS.search(text), SECTION.search(text), MOVED.search(text)
    if section is not None and lying.sections is not None and int(section["count"]) == lying.sections.count:
        lying = lying.for_section(int(section["section"]))
    if moved is None or units is None:
        return lying
    mm = LENGTH_UNITS[units["unit"]]
    angle, x, y = (float(value) for value in moved.groups())
    if abs(angle) > MOST_DEGREES or max(abs(x), abs(y)) * mm > MOST_SHIFT_MM:
        return lying
    lying = replace(lying, motion=Motion(angle, (x * mm, y * mm)))
    marks = np.array([[float(value) * mm for value in found.groups()] for found in MARK.finditer(text)]).reshape(-1, 2)
    spots = lying.from_program(marks) * (1, -1) + (0.0, lying.board[1])
    return replace(lying, measured=tuple((float(a), float(b)) for a, b in spots))
