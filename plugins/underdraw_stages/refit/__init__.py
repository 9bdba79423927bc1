"""`refit`: how a board lies that was taken off the bed and put back, from marks measured at the machine.

The drawing stays as it is on its board; programs, checks and rehearsals follow the board.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl, setting
from underdraw.job.settings import FilePath, Flag, Integer


@dataclass(frozen=True)
class RefitSettings:
    """What was measured."""

    measured: str | None = setting(
        FilePath(), None, "TOML file of readings: [[mark]] with number (or at) and read, each with the tip over a mark"
    )
    section: int | None = setting(
        Integer(1), None, "the section that is to be drawn next, of a board longer than the bed"
    )
    accept: bool = setting(
        Flag(), False, "go on although a mark is off by more than half a tip, or the board is turned by more than 45°"
    )


STAGE = Stage(
    name="refit",
    help="find a board that is back on the bed, by its registration marks",
    run="underdraw_stages.refit.stage:refit",
    settings=RefitSettings,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """The stage `refit`."""
    return [STAGE]
