"""What a travel costs on this machine."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.job.sections import MachineSection
from underdraw_stages.order.compiled.local_search import cost


@dataclass(frozen=True)
class TravelCost:
    """speed in mm/s, acceleration in mm/s²: the machine's, with the marker lifted.

    Lifts are not in it: every stroke is lifted from once, in whatever order.
    """

    speed: float
    acceleration: float

    @classmethod
    def of(cls, machine: MachineSection) -> "TravelCost":
        """The machine's."""
        return cls(machine.rapid, machine.acceleration)

    @property
    def knee(self) -> float:
        """mm: the shortest travel that reaches full speed, v²/a."""
        return self.speed**2 / self.acceleration

    def of_steps(self, step: NDArray[np.float64]) -> NDArray[np.float64]:
        """(...) costs of travels by (..., 2) mm: the search's own, of each by itself, so for few of them."""
        mm = np.sqrt((step * step).sum(axis=-1))
        return np.asarray(np.frompyfunc(cost, 2, 1)(mm, self.knee), dtype=np.float64)
