"""`gcode`: writes the program, through a controller and a holder, and reads it back before it lands.

Curves become arcs again; every program begins by stopping the spindle, and none can start it.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.settings import Choice, Flag, Integer, Length, Text, setting


@dataclass(frozen=True)
class GcodeSettings:
    """How to write a program; lengths in mm, strokes numbered from 1."""

    controller: str | None = setting(Text(), None, "which controller writes it", job_key="machine.controller")
    holder: str | None = setting(Text(), None, "which holder carries the marker", job_key="holder.use")
    units: str = setting(Choice("mm", "in"), "mm", "units of the program", job_key="machine.units")
    tolerance: float = setting(
        Length(above=0.0, most=1.0), "0.02 mm", "how far the program may stray from the drawing; more gives fewer moves"
    )
    from_: int | None = setting(Integer(1), None, "first stroke to draw, to carry on where ink ran out")
    to: int | None = setting(Integer(1), None, "last stroke to draw")
    split: str = setting(
        Choice("none", "marker", "load"), "none", "a file for each marker, or for each load, instead of pauses"
    )
    rehearse: bool = setting(
        Flag(), False, "first trace image, folds and farthest points with the marker lifted, then wait"
    )
    optional_stops: bool = setting(
        Flag(), False, "after each stroke a stop (M1) that waits only where the machine's switch for it is set"
    )
    dated: bool = setting(Flag(), False, "put today's date in the header; without it the same job gives the same bytes")


STAGE = Stage(
    name="gcode",
    help="Write the program for the router, and check it before it lands.",
    run="underdraw_stages.gcode.stage:gcode",
    settings=GcodeSettings,
    kind="writer",
    rank=60,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """This stage."""
    return [STAGE]
