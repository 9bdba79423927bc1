"""Where the board lies by a program's own notes, which drawing it was made of, and whether a drawing is of that board.

For a program that is checked against a job alone, and for one that is held against a drawing of another board.
"""

import re
from dataclasses import replace

import numpy as np

from underdraw.drawing.facts import Motion
from underdraw.errors import CannotDo, UnderdrawError
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
MADE_OF = re.compile(r"\bdrawing sha256 (?P<digest>[0-9a-f]{8,64})\b")
MOST_DEGREES = 360.0
MOST_SHIFT_MM = 1e6
SAME_DEG, SAME_MM = 2e-4, 0.02  # a program has four digits of the angle, and its own of the shift


def notes_of(data: bytes, dialect: Dialect | None) -> str:
    """All comments of a program, one after the other; "" of one that has none or cannot be read."""
    try:
        plain = data if dialect is None else dialect.in_standard_words(data)
    except UnderdrawError:
        return ""
    return " ".join(comment for _, comment in read_words(plain, Faults()).comments)


def require_same_board(data: bytes, lying: Lying, dialect: Dialect | None) -> None:
    """Raise CannotDo where program and drawing are not of the same board, as it lay first or was measured since.

    Of a program without notes nothing is known; its strokes show it.
    """
    if lying.sections is not None or UNITS.search(notes_of(data, dialect)) is None:
        return
    noted = as_noted(data, replace(lying, motion=None), dialect).motion
    if noted == lying.motion:
        return
    if noted is None:
        raise CannotDo(
            "the program is for the board as it lay first, and the drawing for a board that was put back and measured\n"
            "  try: the drawing that the program was made of"
        )
    if lying.motion is None or not _alike(noted, lying.motion):
        raise CannotDo(
            "the program is for a board that was put back and measured, and the drawing is not of that measurement\n"
            "  try: the drawing that the measurement gave, which the program was made of"
        )


def _alike(one: Motion, other: Motion) -> bool:
    """Whether two motions are the same but for the digits of a program."""
    apart = max(abs(a - b) for a, b in zip(one.shift_mm, other.shift_mm, strict=True))
    return abs(one.angle_deg - other.angle_deg) < SAME_DEG and apart < SAME_MM


def made_of_another(data: bytes, digest: str, dialect: Dialect | None) -> str | None:
    """The digest of the strokes that a program was made of by its notes, where that is not this one; else None."""
    found = MADE_OF.search(notes_of(data, dialect))
    return found["digest"] if found is not None and found["digest"] != digest else None


def as_noted(data: bytes, lying: Lying, dialect: Dialect | None) -> Lying:
    """How the board lies that a program was written for, as its header has it; as it is where that has nothing.

    The section of a board longer than the bed, the motion that was measured, and where the tip is over its marks.
    """
    text = notes_of(data, dialect)
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
