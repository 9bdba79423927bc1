"""wrap: the drawing goes on past the folds, over the sides of the frame.

Each side may go on in its own way; the corners, which fold away, stay blank but for registration marks.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl, setting
from underdraw.job.settings import Flag, Length
from underdraw_stages.wrap.edges import Edges


@dataclass(frozen=True)
class WrapSettings:
    """What the sides show."""

    edges: tuple[str, str, str, str] | None = setting(
        Edges(),
        None,
        "what the sides show: nothing, the face mirrored at the fold, its lines run on, or artwork drawn for them; "
        "sides may differ, as in `mirror, top plain`; if omitted: drawn where the artwork covers them, else plain",
    )
    corner_bleed: float = setting(Length(most=50), "2 mm", "how far lines may reach into the corners that fold away")
    fold_marks: bool = setting(
        Flag(), True, "ticks in the bleed at each fold and each side's middle, out of sight later"
    )
    marks: bool = setting(
        Flag(), True, "registration crosses in the corners, which fold away: to find the board again after painting"
    )


STAGE = Stage(
    name="wrap",
    help="carry the drawing round the sides of the frame",
    run="underdraw_stages.wrap.stage:wrap",
    settings=WrapSettings,
    rank=30,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """This stage."""
    return [STAGE]
