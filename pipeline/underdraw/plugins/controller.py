"""What writes a program in one machine's dialect: declared limits, and a few methods that a dialect may replace.

The writer works out moves and asks the controller for blocks; the controller never sees the drawing. Numbers reach
it in the program's own units, already rounded to `decimals`. The words of this base are those of NISTIR 6556
(RS274/NGC); a dialect that differs replaces the method that differs. What is written is read back and checked before
a file lands: a block that starts a spindle, coolant or laser, or that the reader does not know, is refused.
"""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from underdraw.words.plain_text import plain_text


def _decimals() -> Mapping[str, int]:
    return {"mm": 4, "in": 5}


def _unit_words() -> Mapping[str, str]:
    return {"mm": "G21", "in": "G20"}


PATH_WORDS = {"exact": "G61", "blend": "G64"}  # NISTIR 6556, section 3.5.14


@dataclass(frozen=True)
class Controller:
    """One dialect and its limits, as plain fields, and methods for the words that differ.

    meanings: words of this machine's own that the reader does not know, each with what it does in words of NISTIR
    6556: a pause (`M0`), a wait (`G4 P0.3`), or the marker's height where no Z moves it (`G0 Z5`, `G1 Z0`); see
    `underdraw.program.dialect`.
    """

    name: str  # in a job: controller = "…"
    help: str  # one line
    suffix: str = ".nc"  # of its program files
    decimals: Mapping[str, int] = field(default_factory=_decimals)  # after the point, by unit; one left out is unknown
    feed_decimals: int = 2  # after the point of feeds
    longest_line: int = 256  # characters of a block, its number and comments with it
    arcs: bool = True  # whether G2 and G3 in centre format are understood; False: curves become short lines
    comments: bool = True  # whether (text) is skipped
    messages: bool = True  # whether (MSG, text) is shown to the operator
    pauses: bool = True  # whether it can wait for the operator; False: each load becomes a program of its own
    dwells: bool = True  # whether G4 P waits
    dwell_unit: str = "s"  # of its P: "s" or "ms"
    unit_words: Mapping[str, str] = field(default_factory=_unit_words)  # what sets the program's units
    path_words: Mapping[str, str] | None = None  # what sets `[machine] path`, "exact" or "blend"; see `path`
    absolute_only: bool = False  # whether it knows no G90: coordinates are always positions
    optional_stops: bool = False  # whether M1 waits where a switch is set, and goes on where it is not
    highest_number: int = 0  # of an N word before a stroke's first block; strokes above it have none, 0: none has
    longest_number: int = 99_999  # the highest N that it reads at all (NISTIR 6556, section 3.3.1)
    meanings: Mapping[str, str] = field(default_factory=dict)  # own words, in the standard's
    default: bool = False  # for a job that names none

    def begin(self, units: str) -> list[str]:
        """The blocks that come first: stop the spindle, then every mode that the program relies on."""
        return ["M5", "M9", *self.modes(units)]

    def modes(self, units: str) -> list[str]:
        """Every mode that the program relies on, each in force until another word: at the start and after each pause.

        Whoever sets a tip's height at the machine may leave it in other units, or in steps instead of places.
        """
        return [self.unit_words[units], "G17 G40 G49 G80", "G94" if self.absolute_only else "G90 G94", "G54"]

    def path(self, how: str) -> list[str]:
        """The block that sets how corners are passed, stated after `modes`; none where the machine has no word for it.

        how: "exact", corners are not rounded off, or "blend", they may be. A controller that replaces `modes` has the
        words in `path_words` alone; any other has the standard's.
        """
        words = self.path_words
        if words is None:
            words = PATH_WORDS if type(self).modes is Controller.modes else {}
        return [words[how]] if how in words else []

    def end(self) -> list[str]:
        """The blocks that come last."""
        return ["M2"]

    def rapid(self, words: str) -> str:
        """A move with the marker lifted; `words` are coordinates as `coordinates` writes them."""
        return f"G0 {words}"

    def line(self, words: str) -> str:
        """A straight move at the feed; `words` hold the feed where it changes."""
        return f"G1 {words}"

    def arc(self, clockwise: bool, words: str) -> str:
        """An arc in centre format, I and J from its start; clockwise as seen from above."""
        return f"G{2 if clockwise else 3} {words}"

    def dwell(self, seconds: float) -> str:
        """Wait with the marker where it is."""
        return f"G4 P{self.dwell_time(seconds)}"

    def dwell_time(self, seconds: float) -> str:
        """The number of a dwell, in its unit."""
        return number(seconds * 1000, 0) if self.dwell_unit == "ms" else number(seconds, 3)

    def pause(self, text: str) -> list[str]:
        """Stop until the operator goes on, after showing the text."""
        return [*self.message(text), "M0"]

    def optional_stop(self) -> list[str]:
        """Stop until the operator goes on, but only where the machine's switch for it is set."""
        return ["M1"]

    def numbered(self, block: str, stroke: int) -> str:
        """The first block of a stroke, with the stroke's number where this dialect can write it."""
        return f"N{stroke} {block}" if stroke <= min(self.highest_number, self.longest_number) else block

    def message(self, text: str) -> list[str]:
        """Blocks that show a text to the operator while the program runs; none where that cannot be."""
        if self.messages and self.comments:
            return [f"(MSG, {line})" for line in self.folded(text, len("(MSG, )"))]
        return self.note(text)

    def note(self, text: str) -> list[str]:
        """Blocks that only a reader of the program sees; none where comments cannot be."""
        return [f"({line})" for line in self.folded(text, len("()"))] if self.comments else []

    def coordinates(self, units: str, **values: float) -> str:
        """`X1.5 Y-2` from x=1.5, y=-2, to this dialect's decimals."""
        decimals = self.decimals[units]
        return " ".join(f"{axis.upper()}{number(value, decimals)}" for axis, value in values.items())

    def feed(self, per_minute: float) -> str:
        """The feed word, in the program's units a minute."""
        return f"F{number(per_minute, self.feed_decimals)}"

    def finish(self, blocks: Sequence[str]) -> Sequence[str]:
        """A last pass over all blocks, for block numbers and the like."""
        return blocks

    def folded(self, text: str, frame: int) -> list[str]:
        """A text as plain characters without parentheses, in lines that fit when `frame` more are added."""
        return textwrap.wrap(plain_text(text), max(8, self.longest_line - frame)) if text else []


def number(value: float, decimals: int) -> str:
    """A number without exponent, sign of zero or trailing zeros.

    >>> number(12.5, 4), number(-0.00001, 4), number(3.0, 4)
    ('12.5', '0', '3')
    """
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
