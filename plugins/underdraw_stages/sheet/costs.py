"""What the job costs, as far as its [prices] say: canvas, markers, paint, resin."""

from dataclasses import dataclass

from underdraw.panel.materials import resin
from underdraw_stages.sheet import SheetSettings
from underdraw_stages.sheet.contents import Facts
from underdraw_stages.sheet.finishing import area, volume


@dataclass(frozen=True)
class Cost:
    """One line of the bill."""

    what: str
    quantity: str
    price: str
    amount: float
    currency: str

    @property
    def money(self) -> str:
        """The amount in words."""
        return f"{self.amount:,.2f} {self.currency}"


def costs(facts: Facts, settings: SheetSettings) -> list[Cost]:
    """A line for each price that is set."""
    costs = []
    panel = facts.panel
    if settings.canvas_price and panel.wraps:
        price = settings.canvas_price
        mm2 = panel.cut[0] * panel.cut[1]
        costs.append(Cost("canvas", area(mm2, facts.unit), str(price), price.of(mm2), price.currency))
    if settings.marker_price and facts.markers_used:
        price = settings.marker_price
        costs.append(Cost("markers", str(facts.markers_used), str(price), price.of(facts.markers_used), price.currency))
    palette = facts.drawing.palette
    if settings.paint_price and palette is not None:
        price, ml = settings.paint_price, sum(each.millilitres for each in palette.colours)
        costs.append(Cost("paint", volume(ml), str(price), price.of(ml * 1000.0), price.currency))
    if settings.resin_price:
        price, ml = settings.resin_price, resin(panel, settings.resin).with_sides_ml
        costs.append(Cost("resin", volume(ml), str(price), price.of(ml * 1000.0), price.currency))
    return costs


def totals(costs: list[Cost]) -> list[str]:
    """The sum in each currency."""
    sums: dict[str, float] = {}
    for cost in costs:
        sums[cost.currency] = sums.get(cost.currency, 0.0) + cost.amount
    return [f"{amount:,.2f} {currency}" for currency, amount in sums.items()]
