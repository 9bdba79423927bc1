"""`preview`: an SVG for review, before the marker moves: the canvas as it lies, the panel folded, the drawing played.

Flat and folded views are plain pictures; the motion view plays by itself in a browser and stands still elsewhere.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.settings import Choice, FilePath, Flag, Many, Number, setting


@dataclass(frozen=True)
class PreviewSettings:
    """What to show."""

    view: tuple[str, ...] = setting(
        Many(Choice("flat", "folded", "motion")), ("flat", "folded"), "which views to draw, a file each"
    )
    since: str | None = setting(
        FilePath(), None, "an older drawing of the same picture: show what went, came and stayed, and no other view"
    )
    travel: bool = setting(Flag(), False, "flat: show the moves with the marker lifted")
    lifts: bool = setting(Flag(), False, "flat: show where the marker is set down and lifted")
    faint: bool = setting(Flag(), False, "flat: show thin and grey the edges that tidy --contrast left out")
    swaps: bool = setting(Flag(), True, "flat: number the stroke that begins each load")
    numbers: bool = setting(Flag(), False, "flat: number strokes, as many as have room, each with where it starts")
    corner: str = setting(
        Choice("top-right", "top-left", "bottom-right", "bottom-left"), "top-right", "folded: the corner turned to you"
    )
    speed_up: float | None = setting(
        Number(1, 100_000),
        None,
        "motion: how many times faster than the machine; if omitted: to play in about half a minute",
    )


STAGE = Stage(
    name="preview",
    help="an SVG for review: flat, folded or in motion",
    run="underdraw_stages.preview.stage:preview",
    settings=PreviewSettings,
    kind="writer",
    rank=70,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """The stage `preview`."""
    return [STAGE]
