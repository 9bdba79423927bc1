"""`sheet`: the job sheet to take to the shop, an HTML page that prints on one or two sheets of A4 or Letter.

What to cut, what to set, what to draw load by load, what comes after, what it costs, and the cautions that apply.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.settings import Choice, Length, Size, setting
from underdraw_stages.sheet.prices import AREA_UNITS, EACH, VOLUME_UNITS, Price


@dataclass(frozen=True)
class SheetSettings:
    """What the drawing and its job do not say by themselves."""

    resin: float = setting(Length(above=0.0), "1/8 in", "thickness of a coat of resin", job_key="finish.resin")
    bar: tuple[float, float] | None = setting(
        Size(), None, "bar stock for the frame, thickness x height: gives its cutting list", job_key="frame.bar"
    )
    top_sheet: float = setting(
        Length(), "0 mm", "thickness of a sheet on the bars, under the canvas", job_key="frame.sheet"
    )
    corners: str = setting(Choice("butt", "mitred"), "butt", "how the frame's bars meet", job_key="frame.corners")
    canvas_price: Price | None = setting(  # noqa: RUF009
        Price.kind(AREA_UNITS), None, "what canvas costs, such as 18 EUR/m2", job_key="prices.canvas"
    )
    marker_price: Price | None = setting(  # noqa: RUF009
        Price.kind(EACH), None, "what one marker costs, such as 4.50 EUR", job_key="prices.marker"
    )
    paint_price: Price | None = setting(  # noqa: RUF009
        Price.kind(VOLUME_UNITS), None, "what paint costs, such as 40 EUR/l", job_key="prices.paint"
    )
    resin_price: Price | None = setting(  # noqa: RUF009
        Price.kind(VOLUME_UNITS), None, "what resin costs, such as 90 USD/gal", job_key="prices.resin"
    )


STAGE = Stage(
    name="sheet",
    help="the job sheet: sizes to cut, markers, steps, cautions",
    run="underdraw_stages.sheet.stage:sheet",
    settings=SheetSettings,
    kind="writer",
    rank=80,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """The stage `sheet`."""
    return [STAGE]
