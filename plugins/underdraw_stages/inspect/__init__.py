"""`inspect`: where the drawn line will not read: lines that merge, regions that close, details finer than the tip.

It changes nothing. Its picture shows each spot; its figures are the record `spots`.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.settings import Integer, Length, setting


@dataclass(frozen=True)
class InspectSettings:
    """Which tip to look with, and how much to show."""

    tip: float | None = setting(
        Length(above=0.0, most=100.0), None, "try another tip, all markers alike; if omitted: each marker's own line"
    )
    most: int = setting(Integer(0, 1000), 60, "rings and numbers on the picture, the worst first")


STAGE = Stage(
    name="inspect",
    help="where the drawn line will not read: lines that merge, regions that close, details finer than the tip",
    run="underdraw_stages.inspect.stage:inspect",
    settings=InspectSettings,
    kind="writer",
    rank=55,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """The stage `inspect`."""
    return [STAGE]
