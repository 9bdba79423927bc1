"""Where a cut shows least: at a crossing with another line, at a corner, else in the middle of the shared band."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

Points = NDArray[np.float64]
CORNER_DEGREES = 30.0  # a curve flattened to 0.01 mm turns less from point to point, down to a radius of 0.3 mm
CROSSING, CORNER, ELSEWHERE = 0, 1, 2


@dataclass(frozen=True, eq=False)
class OtherStrokes:
    """All strokes of a drawing, to ask which of them a stretch of one crosses. lines: (s,) shapely; tree: of them."""

    lines: NDArray[Any]
    tree: shapely.STRtree

    @classmethod
    def of(cls, lines: NDArray[Any]) -> "OtherStrokes":
        """Of these lines."""
        return cls(lines, shapely.STRtree(lines))

    def crossings(self, line: Points, own: int) -> Points:
        """(k, 2) where a polyline meets the others; where it runs along one, that one's ends there."""
        if len(line) < 2:
            return np.empty((0, 2))
        stretch = shapely.linestrings(line)
        near = self.tree.query(stretch, predicate="intersects")
        met = shapely.intersection(stretch, self.lines[near[near != own]])
        return np.asarray(shapely.get_coordinates(met))


def cut_point(line: Points, along: NDArray[np.float64], low: float, high: float, others: Points) -> tuple[int, Points]:
    """Where to cut a polyline: after which of its points, and at which spot.

    line: (n, 2), which goes through a band; along: (n,) where each point is across it. low, high: where the band may be
    cut. others: (k, 2) where other lines meet it.
    """
    best: tuple[int, float, int, Points] | None = None
    middle = (low + high) / 2
    for kind, index, spot, at in [*_met(line, along, others), *_corners(line, along), *_middle(line, along, middle)]:
        if low <= at <= high and (best is None or (kind, abs(at - middle)) < best[:2]):
            best = kind, abs(at - middle), index, spot
    assert best is not None  # the middle of the band is passed by whatever goes through it
    return best[2], best[3]


Candidate = tuple[int, int, Points, float]  # kind, after which point, where, and where across the band


def _met(line: Points, along: NDArray[np.float64], others: Points) -> list[Candidate]:
    """Crossings: each on the segment that is nearest to it."""
    if not len(others):
        return []
    begin, leg = line[:-1], np.diff(line, axis=0)
    square = np.maximum((leg**2).sum(axis=1), 1e-18)
    share = np.clip(((others[:, None] - begin) * leg).sum(axis=2) / square, 0.0, 1.0)
    spots = begin + share[:, :, None] * leg
    segment = np.hypot(*(spots - others[:, None]).transpose(2, 0, 1)).argmin(axis=1)
    rows = np.arange(len(others))
    at = along[segment] + share[rows, segment] * (along[segment + 1] - along[segment])
    return [
        (CROSSING, int(index), spots[row, index], float(where))
        for row, (index, where) in enumerate(zip(segment.tolist(), at.tolist(), strict=True))
    ]


def _corners(line: Points, along: NDArray[np.float64]) -> list[Candidate]:
    step = np.diff(line, axis=0)
    cross = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    turns = np.degrees(np.abs(np.arctan2(cross, (step[:-1] * step[1:]).sum(axis=1))))
    found = np.flatnonzero(turns >= CORNER_DEGREES) + 1
    return [(CORNER, int(index), line[index], float(along[index])) for index in found]


def _middle(line: Points, along: NDArray[np.float64], middle: float) -> list[Candidate]:
    """Where it passes the middle of the band."""
    passes = np.flatnonzero((along[:-1] - middle) * (along[1:] - middle) <= 0)
    found: list[Candidate] = []
    for index in passes.tolist():
        span = along[index + 1] - along[index]
        share = (middle - along[index]) / span if span else 0.0
        found.append((ELSEWHERE, index, line[index] + share * (line[index + 1] - line[index]), middle))
    return found
