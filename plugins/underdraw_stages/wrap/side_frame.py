"""A side seen from its fold: how far along the edge, and how far out from it."""

from dataclasses import dataclass

import numpy as np

from underdraw.drawing.affine import Matrix
from underdraw.drawing.ragged import Floats, Mask
from underdraw.panel import Box, Side


@dataclass(frozen=True)
class SideFrame:
    """One fold of the face: the axis across it (0: x), where it is, which way is out (+1 or -1), the side's width,
    and the face's extent along it (mm)."""

    axis: int
    at: float
    outward: int
    width: float
    low: float
    high: float

    @classmethod
    def of(cls, side: Side, face: Box, width: tuple[float, float]) -> "SideFrame":
        """The frame of one side of the face."""
        axis = 0 if side in ("left", "right") else 1
        outward = 1 if side in ("right", "bottom") else -1
        return cls(axis, face[axis + (2 if outward > 0 else 0)], outward, width[axis], face[1 - axis], face[3 - axis])

    def out(self, coords: Floats) -> Floats:
        """(n,) how far points (n, 2) lie beyond the fold; negative inside."""
        return np.asarray(self.outward * (coords[:, self.axis] - self.at))

    def along(self, coords: Floats) -> Floats:
        """(n,) where points (n, 2) lie along the fold."""
        return np.asarray(coords[:, 1 - self.axis])

    def points(self, along: Floats, out: Floats) -> Floats:
        """(n, 2) board coordinates of places along the fold and out from it."""
        coords = np.empty((len(along), 2))
        coords[:, 1 - self.axis] = along
        coords[:, self.axis] = self.at + self.outward * out
        return coords

    def on_fold(self, coords: Floats) -> Mask:
        """(n,) which points lie on the fold exactly."""
        return np.asarray(coords[:, self.axis] == self.at)

    def band(self) -> Box:
        """What a mirrored side shows: everything within the side's width inside the fold."""
        box = [-np.inf, -np.inf, np.inf, np.inf]
        inner = self.at - self.outward * self.width
        box[self.axis], box[self.axis + 2] = min(inner, self.at), max(inner, self.at)
        return box[0], box[1], box[2], box[3]

    @property
    def reflection(self) -> Matrix:
        """The matrix of `reflect`."""
        if self.axis == 0:
            return (-1.0, 0.0, 0.0, 1.0, 2 * self.at, 0.0)
        return (1.0, 0.0, 0.0, -1.0, 0.0, 2 * self.at)

    def reflect(self, coords: Floats) -> Floats:
        """(n, 2) points on the other side of the fold."""
        other = coords.copy()
        other[:, self.axis] = 2 * self.at - coords[:, self.axis]
        return other
