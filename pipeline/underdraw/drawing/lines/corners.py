"""Corners of lines and rings, all of them at once: how far a miter would reach there, and which are spikes."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import Floats, Ints, Mask, offsets

SMOOTH = np.radians(2)  # a bevel at a smaller turn is within 0.0003 of the half width of its miter


@dataclass(frozen=True, eq=False)
class Corners:
    """(k,) corners: the line that each is on, not falling; (k, 2) where, and the steps to it and on from it; mm."""

    line: Ints
    at: Floats
    before: Floats
    after: Floats

    @classmethod
    def of(cls, lines: NDArray[Any]) -> "Corners":
        """Those of (n,) LineStrings, LinearRings or MultiLineStrings; of a closed part also where it begins.

        Points that are repeated are one.
        """
        parts, line = shapely.get_parts(lines, return_index=True)
        coords, part = shapely.get_coordinates(parts, return_index=True)
        step = np.diff(coords, axis=0)
        kept = (part[1:] == part[:-1]) & step.any(axis=1)
        step, start, part = step[kept], coords[:-1][kept], part[:-1][kept]
        bounds = offsets(np.bincount(part, minlength=len(parts)))
        follows = np.arange(1, len(part) + 1)
        has_next = np.zeros(len(part), dtype=np.bool_)
        has_next[:-1] = part[1:] == part[:-1]
        closed = np.flatnonzero(shapely.is_closed(parts) & (np.diff(bounds) > 1))
        last = bounds[1:][closed] - 1
        follows[last] = bounds[:-1][closed]
        has_next[last] = True
        after = follows[has_next]
        return cls(line[part[has_next]], start[after], step[has_next], step[after])

    def select(self, rows: NDArray[Any]) -> "Corners":
        """Only these: indices or a mask."""
        return Corners(self.line[rows], self.at[rows], self.before[rows], self.after[rows])

    @property
    def ways(self) -> tuple[Floats, Floats]:
        """(k, 2) unit vectors along the line before and after each."""
        return unit(self.before), unit(self.after)

    @property
    def cosine(self) -> Floats:
        """(k,) of the angle by which the line turns."""
        before, after = self.ways
        return np.asarray(np.clip((before * after).sum(axis=1), -1.0, 1.0))

    @property
    def miter(self) -> Floats:
        """(k,) how long the miter would be, in line widths: 1 / cos of half the turn."""
        return 1 / np.sqrt(np.maximum((1 + self.cosine) / 2, 1e-30))

    def tips(self, half: Floats) -> NDArray[Any]:
        """(k,) Polygons that fill the corners of lines, 2 · (k,) `half` mm wide, up to the tips of their miters."""
        before, after = self.ways
        left = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        outwards = (half * np.where(left > 0, 1.0, -1.0))[:, None]
        one, other = (outwards * np.stack([way[:, 1], -way[:, 0]], axis=1) for way in (before, after))
        tip = (one + other) / (1 + self.cosine)[:, None]
        return np.asarray(shapely.polygons(np.stack([self.at, self.at + one, self.at + tip, self.at + other], axis=1)))

    def spikes(self, within: float) -> Mask:
        """(k,) at which of them the line goes back along itself, no farther from it than `within` mm."""
        return goes_back(-self.before, self.after, within)


def goes_back(out: Floats, back: Floats, within: float) -> Mask:
    """(k,) whether the way that comes by (k, 2) steps `out` turned round goes on beside itself, within so many mm."""
    along, across = (out * back).sum(axis=1), np.abs(out[:, 0] * back[:, 1] - out[:, 1] * back[:, 0])
    longer = np.maximum(np.hypot(*out.T), np.hypot(*back.T))
    return np.asarray((along > 0) & (across <= within * longer))


def unit(vectors: Floats) -> Floats:
    """(k, 2) vectors, none of no length, made as long as 1."""
    return np.asarray(vectors / np.hypot(*vectors.T)[:, None])
