"""Reading a whole program and saying what is to be said of it: the figures of `check`."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import offsets
from underdraw.errors import InputError
from underdraw.program.blocks import read_blocks
from underdraw.program.comparison import Comparison, Strokes, compare, marker_of_strokes, tell
from underdraw.program.drawn import Drawn
from underdraw.program.expected import Expected
from underdraw.program.moves import read_moves
from underdraw.program.problems import Faults, Problem
from underdraw.program.rules import check_moves, check_place, check_speeds
from underdraw.program.tokens import LARGEST_PROGRAM_BYTES, LONGEST_LINE, read_words

INCHES = 20  # G20
TOLERANCE_MM = 0.02  # what a program may stray from its drawing, where nothing else is said


@dataclass
class Report:
    """A program as read: problems in its order, what it draws, and how that compares."""

    drawn: Drawn
    blocks: int
    problems: list[Problem]
    comparison: Comparison | None = None
    unit: str = "mm"  # `in` where the program is in inches: what a person is told lengths in

    @property
    def ok(self) -> bool:
        """Whether nothing was found wrong."""
        return not self.problems

    def figures(self) -> dict[str, Any]:
        """As `--json` prints them: lengths in mm, times in s, bounds in the machine's axes."""
        drawn = self.drawn
        bounds = drawn.bounds
        held: dict[str, Any] = {
            "ok": self.ok,
            "problems": [{"line": item.line, "code": item.code, "text": item.text} for item in self.problems],
            "drawn_mm": round(drawn.drawn_mm, 3),
            "travel_mm": round(drawn.travel_mm, 3),
            "lifts": drawn.lifts,
            "strokes": drawn.strokes,
            "swaps": len(drawn.moves.pauses),
            "seconds": round(drawn.total_seconds, 2),
            "bounds_mm": None if bounds is None else [round(value, 4) for value in bounds],
            "loads": drawn.loads,
            "blocks": self.blocks,
            "arcs": drawn.arcs,
        }
        if self.comparison is not None:
            held["deviation_mm"] = round(self.comparison.deviation, 5)
            held["missing_mm"] = round(self.comparison.missing_mm, 3)
            held["extra_mm"] = round(self.comparison.extra_mm, 3)
        return held


def check_program(
    data: bytes,
    expected: Expected | None = None,
    strokes: Strokes | None = None,
    tolerance: float = TOLERANCE_MM,
    longest_line: int = LONGEST_LINE,
    tip: float = 0.0,
) -> Report:
    """Read a program as a machine would, on its own, and hold it against a job and a drawing where they are given.

    Raises InputError for what is no program at all (no words, or too large).
    """
    if data.lstrip()[:1] == b"<" or b"\0" in data[:4096]:
        raise InputError("is no program but XML or binary data; a program has lines such as G1 X10 Y20")
    if len(data) > LARGEST_PROGRAM_BYTES:
        raise InputError(f"is larger than a program can be ({LARGEST_PROGRAM_BYTES:,} bytes)")
    faults = Faults()
    words = read_words(data, faults, longest_line)
    if not len(words.line):
        raise InputError("holds no words of a program, such as G1 X10 Y20")
    blocks = read_blocks(words, faults)
    faults.unit = "in" if (blocks.g["units"] == INCHES).any() else "mm"
    moves = read_moves(blocks, faults)
    drawn = Drawn(moves, expected or Expected.unknown())
    check_moves(moves, blocks.ended, faults)
    comparison = None
    if strokes is not None:
        comparison = compare(drawn, strokes, tolerance, tip)
        tell(comparison, drawn, faults)
    if expected is not None:
        check_place(drawn, faults)
        check_speeds(drawn, marker_of_strokes(comparison, strokes), faults)
    return Report(drawn, len(blocks), faults.problems(), comparison, faults.unit)


def strokes_of(drawing: Drawing, first: int = 1, last: int | None = None) -> Strokes:
    """A drawing's strokes as the comparison takes them, y away from the operator.

    first, last: numbered from 1, both ends included.
    """
    last = len(drawing) if last is None else last
    bounds = drawing.parts[first - 1 : last + 1]
    coords = drawing.coords[bounds[0] : bounds[-1]] if len(bounds) else drawing.coords[:0]
    flipped = np.stack([coords[:, 0], drawing.sheet[1] - coords[:, 1]], axis=1)
    parts = bounds - bounds[0] if len(bounds) else np.zeros(1, dtype=np.int64)
    return _with_dots(Strokes(flipped, parts, np.arange(first, last + 1), drawing.marker[first - 1 : last]))


def _with_dots(strokes: Strokes) -> Strokes:
    """A stroke of one point has two equal ones, so that every stroke has a segment."""
    counts = np.diff(strokes.parts)
    if (counts != 1).all():
        return strokes
    repeats = np.repeat(np.where(counts == 1, 2, 1), counts)
    parts = offsets(np.where(counts == 1, 2, counts))
    return Strokes(strokes.coords.repeat(repeats, axis=0), parts, strokes.numbers, strokes.markers)
