"""Reading a whole program: the problems and figures of `check`."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from underdraw.errors import InputError
from underdraw.program.blocks import read_blocks
from underdraw.program.codes import INCHES
from underdraw.program.comparison import Comparison, compare, tell
from underdraw.program.drawn import Drawn
from underdraw.program.expected import Expected
from underdraw.program.moves import held, read_moves
from underdraw.program.problems import Faults, Problem
from underdraw.program.rules import Reading, hold_against_rules
from underdraw.program.tokens import LARGEST_PROGRAM_BYTES, LONGEST_LINE, read_words

TOLERANCE_MM = 0.02  # what a program may stray from its drawing, unless another is given


@dataclass
class Report:
    """A program as read: problems in its order, what it draws, and how that compares."""

    drawn: Drawn
    blocks: int
    problems: list[Problem]
    comparison: Comparison | None = None
    unit: str = "mm"  # `in` where the program is in inches: the unit of lengths in messages

    @property
    def ok(self) -> bool:
        """Whether nothing was found wrong."""
        return not self.problems

    def figures(self) -> dict[str, Any]:
        """As `--json` prints them: lengths in mm, times in s, bounds in the machine's axes."""
        drawn = self.drawn
        bounds = drawn.bounds
        figures: dict[str, Any] = {
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
            figures["deviation_mm"] = round(self.comparison.deviation, 5)
            figures["missing_mm"] = round(self.comparison.missing_mm, 3)
            figures["extra_mm"] = round(self.comparison.extra_mm, 3)
        return figures


def check_program(
    data: bytes, expected: Expected | None = None, tolerance: float = TOLERANCE_MM, tip: float = 0.0
) -> Report:
    """Read a program as a machine would, on its own, and hold it against what is expected of it.

    expected: of a job and a drawing; None: what a program alone can show is checked. tolerance: mm that it may stray
    from the drawing. tip: mm that a dot counts for where one is missing or extra. Raises InputError for what is no
    program at all (no words, or too large); CannotDo for a controller's own words that cannot be read.
    """
    if data.lstrip()[:1] == b"<" or b"\0" in data[:4096]:
        raise InputError("is no program but XML or binary data; a program has lines such as G1 X10 Y20")
    if len(data) > LARGEST_PROGRAM_BYTES:
        raise InputError(f"is larger than a program can be ({LARGEST_PROGRAM_BYTES:,} bytes)")
    expected = expected or Expected.unknown()
    dialect = expected.dialect
    faults = Faults()
    own = data if dialect is None else dialect.in_standard_words(data)
    words = read_words(own, faults, LONGEST_LINE if dialect is None else dialect.longest_line)
    if not len(words.line):
        raise InputError("holds no words of a program, such as G1 X10 Y20")
    blocks = read_blocks(words, faults)
    inches = np.isin(held(blocks.g["units"]), INCHES)
    faults.unit = "in" if inches.sum() * 2 > len(blocks) else "mm"  # a word typed at a pause does not count
    drawn = Drawn(read_moves(blocks, faults, 1.0 if dialect is None else dialect.dwell_s), expected)
    comparison = None
    if expected.strokes is not None:
        comparison = compare(drawn, expected.strokes, tolerance, tip)
        tell(comparison, drawn, tolerance, faults)
    hold_against_rules(Reading(blocks, words.comments, drawn, comparison, faults))
    return Report(drawn, len(blocks), faults.problems(), comparison, faults.unit)
