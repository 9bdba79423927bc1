"""What a job adds to what a program says: how the board lies, what is in reach, and how fast its inks may go."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.boxes import Box, Point, Size
from underdraw.job.sections import Job, MachineSection
from underdraw.panel.lying import Lying

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed


@dataclass(frozen=True)
class Expected:
    """A job as a program's reader needs it: mm, mm/s.

    lying: how the board lies; None: not known, so nothing is out of place. speeds: by marker.
    """

    machine: MachineSection
    lying: Lying | None = None
    speeds: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def unknown(cls) -> "Expected":
        """Of a program alone: times are those of an ordinary machine, and nothing is out of place."""
        return cls(MachineSection())

    @classmethod
    def of(cls, job: Job, lying: Lying | None, registry: "Installed") -> "Expected":
        """What a job says, and how its panel or a drawing of it lies."""
        inks = {marker.name: registry.ink(marker.ink).speed for marker in job.markers}
        speeds = {marker.name: marker.speed or inks[marker.name] for marker in job.markers}
        return cls(job.machine, lying, speeds)

    @property
    def board(self) -> Size | None:
        """The board's size as it lies."""
        return None if self.lying is None else self.lying.board

    @property
    def zero(self) -> Point:
        """Program zero, from the board's lower left corner; (0, 0) where that is not known."""
        return (0.0, 0.0) if self.lying is None else self.lying.zero

    @property
    def reach(self) -> Box | None:
        """The box that the controlled point can go to, from the board's lower left corner; None: not known."""
        return None if self.lying is None else self.lying.reach

    def on_board(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) program coordinates as where the tip draws them, from the board's lower left corner."""
        return points if self.lying is None else self.lying.from_program(points)

    def in_program(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) places from the board's lower left corner, in program coordinates: `on_board` undone."""
        if self.lying is None:
            return points
        return self.lying.to_program(np.stack([points[:, 0], self.lying.board[1] - points[:, 1]], axis=1))
