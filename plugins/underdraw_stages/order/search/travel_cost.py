"""What a travel costs on this machine."""

from dataclasses import dataclass

from underdraw.job.sections import MachineSection


@dataclass(frozen=True)
class Pace:
    """speed in mm/s, acceleration in mm/s²: the machine's, with the marker lifted.

    Lifts are not in it: every stroke is lifted from once, in whatever order.
    """

    speed: float
    acceleration: float

    @classmethod
    def of(cls, machine: MachineSection) -> "Pace":
        """The machine's."""
        return cls(machine.rapid, machine.acceleration)

    @property
    def knee(self) -> float:
        """mm: the shortest travel that reaches full speed, v²/a."""
        return self.speed**2 / self.acceleration
