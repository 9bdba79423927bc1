"""fit: the artwork is scaled, turned and placed on the board, or the job is refused where the bed cannot take it.

After it, the drawing's sheet is the board and its coordinates are the board's.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl, setting
from underdraw.job.settings import Choice, Flag, Length, Number

PLACES = (
    "centre", "top", "bottom", "left", "right", "top-left", "top-right", "bottom-left", "bottom-right",
)  # fmt: skip


@dataclass(frozen=True)
class FitSettings:
    """How the artwork lies on the panel; lengths are those of the finished panel."""

    how: str = setting(
        Choice("contain", "cover", "actual"),
        "contain",
        "all of it seen, no part left bare, or as large as it was drawn",
    )
    covers: str | None = setting(
        Choice("face", "image", "canvas"),
        None,
        "what the page was drawn for: the face, sides and all, or the canvas to cut; if omitted, chosen by its size",
    )
    of: str = setting(Choice("page", "artwork"), "page", "what is fitted: the artwork's page, or what is drawn on it")
    turn: float = setting(Number(least=-360, most=360), "0", "turn the artwork clockwise by so many degrees")
    align: str = setting(Choice(*PLACES), "centre", "where it lies when it does not fill")
    margin: float = setting(Length(), "0 mm", "kept free inside the edges of the face (or of the image)")
    auto_turn: bool = setting(Flag(), True, "turn the panel 90° on the bed where only that fits")


STAGE = Stage(
    name="fit",
    help="scale, turn and place the artwork on the board",
    run="underdraw_stages.fit.stage:fit",
    settings=FitSettings,
    rank=20,
    gives=("lying",),
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """This stage."""
    return [STAGE]
