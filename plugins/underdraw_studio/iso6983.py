"""The controller `iso6983`: numbered blocks of plain two-digit words between `%` signs, no comments.

Layout and address words: ISO 6983-1:2009. From memory: G70 and G71 for inches and millimetres, a dwell's seconds in P.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from underdraw import Controller, hookimpl
from underdraw.plugins.controller import number

HIGHEST_NUMBER = 9999  # four digits, what the plainest readers keep; the numbers start again after it


@dataclass(frozen=True)
class NumberedBlocks(Controller):
    """Words of two digits, `N` on each block, `%` before and after."""

    def begin(self, units: str) -> list[str]:
        return ["M05", "M09", *self.modes(units)]

    def modes(self, units: str) -> list[str]:
        return [self.unit_words[units], "G17 G40", "G90 G94", "G54"]

    def end(self) -> list[str]:
        return ["M02"]

    def rapid(self, words: str) -> str:
        return f"G00 {words}"

    def line(self, words: str) -> str:
        return f"G01 {words}"

    def arc(self, clockwise: bool, words: str) -> str:
        return f"G0{2 if clockwise else 3} {words}"

    def dwell(self, seconds: float) -> str:
        return f"G04 P{number(seconds, 3)}"

    def pause(self, text: str) -> list[str]:
        return ["M00"]

    def optional_stop(self) -> list[str]:
        return ["M01"]

    def finish(self, blocks: Sequence[str]) -> Sequence[str]:
        numbered = (f"N{index % self.longest_number + 1} {block}" for index, block in enumerate(blocks))
        return ["%", *numbered, "%"]


ISO6983 = NumberedBlocks(
    name="iso6983",
    help="ISO 6983: numbered blocks, arcs, no comments or messages",
    decimals={"mm": 3, "in": 4},
    feed_decimals=1,
    longest_line=80,
    comments=False,
    messages=False,
    optional_stops=True,
    unit_words={"mm": "G71", "in": "G70"},
    longest_number=HIGHEST_NUMBER,
)


@hookimpl
def underdraw_controllers() -> list[Controller]:
    """The one controller of this module."""
    return [ISO6983]
