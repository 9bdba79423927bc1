"""The controller `lines`: straight moves in short blocks, for controllers that understand little more."""

from dataclasses import dataclass

from underdraw import Controller, hookimpl


@dataclass(frozen=True)
class StraightMoves(Controller):
    """Only the modes that straight moves rely on."""

    def begin(self, units: str) -> list[str]:
        return ["M5", *self.modes(units)]

    def modes(self, units: str) -> list[str]:
        return [self.unit_words[units], "G90 G94", "G54"]


LINES = StraightMoves(
    name="lines",
    help="straight moves only, short blocks, no comments",
    decimals={"mm": 3, "in": 4},
    feed_decimals=0,
    longest_line=40,
    arcs=False,
    comments=False,
    messages=False,
    highest_number=9999,
    longest_number=9999,
)


@hookimpl
def underdraw_controllers() -> list[Controller]:
    """The one controller of this module."""
    return [LINES]
