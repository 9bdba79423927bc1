"""Prices as people write them: `18 EUR/m2`, `$1.20/ft2`, `90 USD/gal`, `4.50 EUR`."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from underdraw.job.settings import Kind
from underdraw.words.lengths import MM_PER_INCH

GALLON_MM3 = 231 * MM_PER_INCH**3  # 1 US gallon = 231 in³ (NIST Handbook 44, appendix C)
AREA_UNITS: Mapping[str, float] = {
    "m2": 1e6,
    "ft2": (12 * MM_PER_INCH) ** 2,
    "yd2": (36 * MM_PER_INCH) ** 2,
}  # in mm²
VOLUME_UNITS: Mapping[str, float] = {"l": 1e6, "ml": 1e3, "gal": GALLON_MM3, "qt": GALLON_MM3 / 4}  # in mm³
EACH: Mapping[str, float] = {"": 1.0}

_PRICE = re.compile(r"(?P<before>[^\d\s./]{1,5})?\s*(?P<amount>\d+(?:\.\d+)?)\s*(?P<after>[^\d\s./]{1,5})?")


@dataclass(frozen=True)
class Price:
    """An amount of money for one unit; `per` is that unit in mm² or mm³, or 1 for a piece."""

    amount: float
    currency: str
    unit: str
    per: float
    written: str = ""

    @staticmethod
    def kind(units: Mapping[str, float]) -> "PriceKind":
        """The kind of a setting that is such a price."""
        return PriceKind(units)

    def of(self, quantity: float) -> float:
        """What a quantity (mm², mm³ or pieces) costs."""
        return self.amount * quantity / self.per

    def __str__(self) -> str:
        """As it was written."""
        return self.written


class PriceKind(Kind):
    """A price for one of the units."""

    metavar = "PRICE"

    def __init__(self, units: Mapping[str, float]) -> None:
        self.units = units

    def read(self, raw: object) -> Price:
        """Raises ValueError with one line for what is no price, or is for another unit."""
        due = f"expected a price such as {self._example()}, got {raw!r}"
        if not isinstance(raw, str):
            raise ValueError(due)
        money, _, unit = (part.strip() for part in raw.partition("/"))
        unit = unit.lower().replace("²", "2").removeprefix("1 ")
        match = _PRICE.fullmatch(money)
        if match is None or unit not in self.units or bool(match["before"]) == bool(match["after"]):
            raise ValueError(due)
        return Price(float(match["amount"]), match["before"] or match["after"], unit, self.units[unit], raw.strip())

    def _example(self) -> str:
        unit = next(iter(self.units))
        return f"18 EUR/{unit}" if unit else "4.50 EUR"

    def plain(self, value: Price) -> str:
        """As text."""
        return str(value)
