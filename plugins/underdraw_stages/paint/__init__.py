"""`paint`: the plan for painting: regions of one seen colour, their areas and paint, and what is too narrow to paint.

Fills are painted, strokes are the marker's lines. It changes nothing. Its map shows every region with its colour's
number, its figures are the record `colours`.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.settings import Choice, Flag, Integer, Length, Number, setting


@dataclass(frozen=True)
class PaintSettings:
    """With what it is painted, how thick, and in which order."""

    tool: float = setting(
        Length(above=0.0, most=1000.0), "2 mm", "the narrowest that your brush or airbrush paints; narrower is listed"
    )
    coat: float = setting(Length(above=0.0, most=50.0), "0.3 mm", "how thick one coat is while it is wet")
    coats: int = setting(Integer(1, 100), 2, "how many coats")
    alike: float = setting(
        Number(0, 100), 2.0, "colours that differ by less are one (CIEDE2000; 1 is hardly seen side by side)"
    )
    order: str = setting(Choice("light", "large"), "light", "what is painted first: light colours, or large ones")
    full_size: bool = setting(Flag(), False, "the map at 1:1 instead, on pages to lay beside the canvas")


STAGE = Stage(
    name="paint",
    help="the plan for painting: colours, areas, amounts of paint, what is too narrow",
    run="underdraw_stages.paint.stage:paint",
    settings=PaintSettings,
    kind="writer",
    rank=35,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """The stage `paint`."""
    return [STAGE]
