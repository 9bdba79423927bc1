"""`swatch`: a card to learn a marker with, drawn by the machine: speeds, tip heights, how far it lasts, sealing.

A source stage: `underdraw swatch --job JOB | underdraw gcode -o swatch.nc`.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.settings import Length, Many, Speed, Text, setting


@dataclass(frozen=True)
class SwatchSettings:
    """Which marker, and how much of each trial."""

    marker: str | None = setting(Text(), None, "which of the job's markers to learn; if omitted: the first")
    speeds: tuple[float, ...] | None = setting(
        Many(Speed()), None, "the ladder of drawing speeds; if omitted: from a quarter to twice the ink's"
    )
    heights: tuple[float, ...] = setting(
        Many(Length()),
        ("0 mm", "0.5 mm", "1 mm", "1.5 mm", "2 mm"),
        "how far the spring is pressed in (rigid: how much lower the tip is set), a trial each",
    )
    run: float = setting(Length(1000.0, 100_000.0), "10 m", "length of the run with a tick each metre")


STAGE = Stage(
    name="swatch",
    help="make a card to learn a marker with: speeds, heights, how far it lasts",
    run="underdraw_stages.swatch.stage:swatch",
    settings=SwatchSettings,
    kind="source",
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """The stage `swatch`."""
    return [STAGE]
