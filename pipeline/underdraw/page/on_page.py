"""Where a figure lies on the page, and at which scale."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.page.canvas_page import PAGE_WIDTH, n

Box = tuple[float, float, float, float]
# 1, 2, 5 and their tens are ISO 5455's reductions (from memory); those between let a panel fill its page.
REDUCTIONS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0)
ENLARGEMENTS = (0.1, 0.2, 0.5)  # 10 : 1, 5 : 1 and 2 : 1, of ISO 5455 too


def reductions() -> list[float]:
    """Every reduction that a figure may have, the largest picture first; one below 1 enlarges a very small panel."""
    return [*ENLARGEMENTS, *(round(base * ten, 6) for ten in (1, 10, 100, 1000, 10_000) for base in REDUCTIONS)]


@dataclass(frozen=True)
class OnPage:
    """A box of the board's coordinates (mm) put on the page with its top left corner at (left, top)."""

    box: Box
    reduction: float
    left: float
    top: float

    @classmethod
    def largest(cls, box: Box, room: tuple[float, float], top: float, *, beside: float = 0.0) -> "OnPage":
        """The box as large as a round scale lets it be in the room; centred with what stands beside it at its right."""
        wide, tall = max(box[2] - box[0], 1e-6), max(box[3] - box[1], 1e-6)
        scales = reductions()
        reduction = next((it for it in scales if wide / it <= room[0] and tall / it <= room[1]), scales[-1])
        return cls.at_scale(box, reduction, top, beside=beside)

    @classmethod
    def at_scale(cls, box: Box, reduction: float, top: float, *, beside: float = 0.0) -> "OnPage":
        """The box at that scale, centred with what stands beside it at its right."""
        return cls(box, reduction, (PAGE_WIDTH - (box[2] - box[0]) / reduction - beside) / 2, top)

    @property
    def right(self) -> float:
        """The figure's right edge on the page."""
        return self.left + (self.box[2] - self.box[0]) / self.reduction

    @property
    def bottom(self) -> float:
        """The figure's lower edge on the page."""
        return self.top + (self.box[3] - self.box[1]) / self.reduction

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A point of the board on the page."""
        return self.left + (x - self.box[0]) / self.reduction, self.top + (y - self.box[1]) / self.reduction

    def corners(self, box: Box) -> Box:
        """A box of the board on the page."""
        return (*self.at(box[0], box[1]), *self.at(box[2], box[3]))

    def all(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) points of the board on the page."""
        return np.array(self.at(0.0, 0.0)) + points / self.reduction

    @property
    def transform(self) -> str:
        """The same as an SVG transform."""
        x, y = self.at(0.0, 0.0)
        return f"translate({n(x)} {n(y)}) scale({1 / self.reduction:.9g})"

    @property
    def words(self) -> str:
        """The scale as drawings state it."""
        return f"scale 1 : {self.reduction:g}" if self.reduction >= 1 else f"scale {1 / self.reduction:g} : 1"
