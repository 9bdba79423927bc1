"""`swatch`: a card to learn a marker or the machine with, drawn in one go, and what it tries as a fact of the drawing.

A source stage: `underdraw swatch --job JOB | underdraw gcode -o card.nc | underdraw sheet -o card.html`.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.sections import LONGEST_DOWN_S
from underdraw.job.settings import Acceleration, Flag, Length, Many, Speed, Text, Time, setting


@dataclass(frozen=True)
class SwatchSettings:
    """Which card, of which marker, and how much of each trial."""

    marker: str | None = setting(Text(), None, "which of the job's markers to draw with; if omitted: the first")
    machine: bool = setting(
        Flag(), False, "the machine's card instead: scale, squareness, backlash, runout of the tip, acceleration"
    )
    speeds: tuple[float, ...] | None = setting(
        Many(Speed()), None, "drawing speeds to try; if omitted: from a quarter to twice the marker's"
    )
    presses: tuple[float, ...] | None = setting(
        Many(Length()),
        None,
        "how far to press in; if omitted: 0 to 2 mm of a spring, or, in a rigid holder, what the nib gives in quarters",
    )
    settles: tuple[float, ...] = setting(
        Many(Time(LONGEST_DOWN_S)), ("0 s", "0.1 s", "0.2 s", "0.5 s"), "waits with the tip down before a stroke"
    )
    run: float | None = setting(
        Length(1000.0, 200_000.0),
        None,
        "length of the run with a number each metre; if omitted: 1.2 times the marker's ink_length, else 10 m",
    )
    accelerations: tuple[float, ...] = setting(
        Many(Acceleration()),
        ("100 mm/s2", "200 mm/s2", "300 mm/s2", "500 mm/s2", "800 mm/s2"),
        "of the machine's card: what its wheels ask of the axes",
    )


STAGE = Stage(
    name="swatch",
    help="make a card to learn a marker with, or the machine",
    run="underdraw_stages.swatch.stage:swatch",
    settings=SwatchSettings,
    kind="source",
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """The stage `swatch`."""
    return [STAGE]
