"""Tidy: one line where the eye sees one line, in the fewest strokes.

Exports hold lines the painter does not want twice, or at all; each lift costs a second and leaves a blot.
"""

from dataclasses import dataclass

from underdraw import hookimpl
from underdraw.job.settings import Flag, Length, Number, setting
from underdraw.plugins.parts import Stage


@dataclass(frozen=True)
class TidySettings:
    """What is cleaned up, each part to be switched off by itself; lengths in mm."""

    cover: bool = setting(
        Flag(), True, "leave out what lies beneath opaque shapes; --no-cover draws every edge, for see-through designs"
    )
    contrast: float = setting(
        Number(0.0, 100.0),
        5.0,
        "leave out edges whose two sides differ by less (CIEDE2000: 1 is just visible); 0 draws every edge",
    )
    meet: bool = setting(
        Flag(), True, "a line that ends beneath a broad outline goes on to its middle; --no-meet stops it at the edge"
    )
    same: float = setting(
        Length(most=10.0),
        "0.2 mm",
        "lines closer than this for longer than three tips and three times this are one; 0 mm: exact overlaps only",
    )
    drop_hatching: bool = setting(
        Flag(), False, "leave out families of parallel lines that shade an area; else they are reported and drawn"
    )
    centre: float = setting(
        Length(most=100.0), "0 mm", "a long fill thinner than this becomes its middle line; 0 mm draws both its edges"
    )
    join: float = setting(
        Length(most=10.0),
        "0.2 mm",
        "ends within this meet: more saves lifts, less keeps gaps that were meant; 0 mm: none",
    )
    shortest: float = setting(
        Length(most=100.0),
        "0.5 mm",
        "left-over bits shorter than this go; 0 mm keeps them all; dots that were meant stay",
    )
    fewest: bool = setting(
        Flag(), True, "pair ends at junctions for the fewest strokes; --no-fewest lifts at every junction"
    )
    points: float = setting(
        Length(most=1.0),
        "0.01 mm",
        "leave out points while the line stays within this: more is a smaller program; 0 mm: none",
    )


STAGE = Stage(
    name="tidy",
    help="Leave one line where the eye sees one line, in the fewest strokes.",
    run="underdraw_stages.tidy.stage:tidy",
    settings=TidySettings,
    rank=40,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """This package's stage."""
    return [STAGE]
