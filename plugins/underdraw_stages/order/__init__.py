"""Order: which stroke next, from which end, with which marker, and when to swap it.

The marker travels lifted for as short a time as can be, from park back to park, and is swapped before it fades.
"""

from dataclasses import dataclass

from underdraw import hookimpl
from underdraw.job.settings import Choice, Flag, Length, Number, setting
from underdraw.plugins.parts import Stage


@dataclass(frozen=True)
class OrderSettings:
    """How the strokes are put in order."""

    seconds: float | None = setting(
        Number(0.0, 86400.0), None, "search this long; if omitted: a set number of tries, the same on every machine"
    )
    keep: bool = setting(Flag(), False, "keep the artwork's order within each marker")
    from_side: str | None = setting(
        Choice("left", "right", "near", "far"), None, "begin at this side and draw away from it, more or less"
    )
    bound: bool = setting(
        Flag(), False, "work out how much above the least possible the travel is, at most; for up to 2,000 strokes"
    )
    overlap: float = setting(
        Length(most=50.0), "2 mm", "how much is drawn twice of a stroke that is cut where sections of a board meet"
    )
    lightest_first: bool = setting(Flag(), False, "markers from the lightest to the darkest, not in the job's order")


STAGE = Stage(
    name="order",
    help="Put strokes in the order that takes least time, and swap markers before they fade.",
    run="underdraw_stages.order.stage:order",
    settings=OrderSettings,
    rank=50,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """This package's stage."""
    return [STAGE]
