"""What is wrong with a program: line, code and text, gathered in any order, listed in the program's."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from underdraw.words.lengths import MM_PER_INCH, format_length

UNNUMBERED = 2**31  # sorts behind every stroke's number
MOST_OF_A_KIND = 20  # lines named for one code; after that they are counted, so that a report stays readable

CODES: Mapping[str, str] = {
    "spindle": "the spindle is started",
    "coolant": "coolant is switched on",
    "output": "an output that may be a laser is switched on",
    "unknown": "a word or sign that is not understood",
    "comment": "comments that are nested or not closed",
    "long-line": "a line longer than controllers read",
    "optional-block": "a block that a switch may skip",
    "same-group": "two words of one modal group, or one word twice",
    "units": "motion before the units are set",
    "start": "a mode that is not set, the spindle not stopped, or a place not known before motion",
    "height": "sideways motion before the marker's height is set",
    "lift": "travel lower than the lift, or higher than it should go",
    "depth": "the marker is pressed in too far, or not far enough",
    "mode": "a mode in which the path is not what the words say",
    "feed": "a drawing move without a feed",
    "rapid-down": "a rapid with the marker down, or down to it",
    "slanted": "the marker is lowered or raised while it moves",
    "arc": "an arc that cannot be",
    "after-end": "something after the end",
    "no-end": "no end",
    "ends-down": "the marker is left down",
    "too-far": "a place where no machine can go",
    "keep-out": "a move across a keep-out, below its clear height",
    "outside-image": "drawing outside the image",
    "outside-reach": "motion outside the reach",
    "too-fast": "faster than the ink draws a solid line, or than the tip may touch down",
    "too-slow": "slower than the ink's speed, or than the tip should touch down",
    "wait": "a wait that is too long, too short or in the wrong place",
    "pause": "a pause for the operator that is missing, misplaced or asks for another marker",
    "dialect": "a word that the controller does not have",
    "off": "farther from the drawing than allowed",
    "extra": "drawn, but not in the drawing",
    "missing": "in the drawing, but not drawn",
}


def length_to(mm: float, unit: str, decimals: int = 2) -> str:
    """A length to so many decimals of a millimetre; an inch has one more, and one more again where it is tiny.

    >>> length_to(0.153, "mm"), length_to(0.153, "in"), length_to(0.0153, "in")
    ('0.15 mm', '0.006 in', '0.0006 in')
    """
    if unit != "in":
        return f"{mm:.{decimals}f} mm"
    inches = mm / MM_PER_INCH
    tiny = 0 < inches < 10.0 ** -(decimals + 1)
    return f"{inches:.{decimals + 1 + tiny}f} in"


@dataclass(frozen=True, order=True)
class Problem:
    """One fault; `line` counts from 1, 0 where no line is to blame. stroke: which one it is about, 0: none or all."""

    line: int
    stroke: int
    code: str
    text: str


@dataclass
class Faults:
    """A list of problems in the making. unit: `in` or `mm`, the program's own, the unit of lengths in messages."""

    unit: str = "mm"
    found: list[Problem] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    last_line: dict[str, int] = field(default_factory=dict)

    def add(self, code: str, line: int, text: str, stroke: int = 0) -> None:
        """One problem; stroke: which it is about, to sort by where lines are equal."""
        assert code in CODES, code
        self.counts[code] = self.counts.get(code, 0) + 1
        self.last_line[code] = max(self.last_line.get(code, 0), line)
        if self.counts[code] <= MOST_OF_A_KIND:
            self.found.append(Problem(int(line), stroke, code, text))

    def add_all(self, code: str, lines: NDArray[np.int64], text: str) -> None:
        """The same text at each of these lines of the program, (k,) from 1."""
        self.add_each(code, lines, lambda _index: text)

    def add_each(self, code: str, lines: NDArray[np.int64], text: Callable[[int], str]) -> None:
        """A problem at each of these lines, (k,) from 1; `text` is asked with the index into them."""
        room = max(0, MOST_OF_A_KIND - self.counts.get(code, 0))
        for index, line in enumerate(lines[:room].tolist()):
            self.add(code, line, text(index))
        if len(lines) > room:
            self.counts[code] = self.counts.get(code, 0) + len(lines) - room
            self.last_line[code] = int(lines.max())

    def length(self, mm: float, decimals: int = 2) -> str:
        """A length for people, see `length_to`."""
        return length_to(mm, self.unit, decimals)

    def size(self, mm: tuple[float, float]) -> str:
        """Width and height for people."""
        width = format_length(mm[0], self.unit).removesuffix(f" {self.unit}")
        return f"{width} x {format_length(mm[1], self.unit)}"

    def speed(self, mm_per_s: float) -> str:
        """A speed for people, as its unit's programs have it."""
        return f"{mm_per_s * 60 / MM_PER_INCH:.1f} in/min" if self.unit == "in" else f"{mm_per_s:.1f} mm/s"

    def problems(self) -> list[Problem]:
        """All of them in the order of lines, then of strokes; what was only counted, at the last line of its kind."""
        counted = [
            Problem(
                self.last_line[code], UNNUMBERED, code, f"{CODES[code]}: {count} in all, {MOST_OF_A_KIND} are listed"
            )
            for code, count in self.counts.items()
            if count > MOST_OF_A_KIND
        ]
        return sorted([*self.found, *counted])
