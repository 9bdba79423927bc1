"""What a travel costs on this machine."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.job.sections import MachineSection


@dataclass(frozen=True)
class TravelCost:
    """speed in mm/s, acceleration in mm/s²: the machine's, with the marker lifted.

    Lifts are not in it: every stroke is lifted from once, in whatever order.
    """

    speed: float
    acceleration: float

    @classmethod
    def of_machine(cls, machine: MachineSection) -> "TravelCost":
        """The machine's."""
        return cls(machine.rapid, machine.acceleration)

    def of(self, mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """(...) costs of travels of (...) mm, to the last bit the search's own."""
        return np.where(mm >= self.knee, mm + self.knee, 2.0 * np.sqrt(self.knee * mm))

    @property
    def knee(self) -> float:
        """mm: the shortest travel that reaches full speed, v²/a."""
        return self.speed**2 / self.acceleration

    def of_steps(self, step: NDArray[np.float64]) -> NDArray[np.float64]:
        """(...) costs of travels by (..., 2) mm."""
        return self.of(np.sqrt((step * step).sum(axis=-1)))
