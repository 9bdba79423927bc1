"""What a travel costs on this machine."""

from dataclasses import dataclass

from underdraw.job import MachineSection


@dataclass(frozen=True)
class Pace:
    """speed in mm/s, acceleration in mm/s², and `lift`: seconds of raising and lowering the marker."""

    speed: float
    acceleration: float
    lift: float = 0.0

    @classmethod
    def of(cls, machine: MachineSection) -> "Pace":
        """The machine's, with the marker lifted.

        Every stroke is lifted from once, in whatever order, so that lifts cost the same in all orders.
        """
        return cls(machine.rapid, machine.acceleration)

    @property
    def knee(self) -> float:
        """mm: the shortest travel that reaches full speed, v²/a."""
        return self.speed**2 / self.acceleration

    @property
    def lift_mm(self) -> float:
        """How far the marker would travel at full speed in the time of a lift."""
        return self.lift * self.speed
