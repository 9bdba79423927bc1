"""Boxes on the bed that no move may cross below their clear height: clamps, staples, a fence.

They lie on the machine as park does: measured from the board's lower left corner, x right, y away from the operator,
turned or moved by nothing that is done to the board. What may not cross them is the marker's tip.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.boxes import Box, Point
from underdraw.job.sections import KeepOutSection
from underdraw.panel.lying import Lying

Array = NDArray[np.float64]
Index = NDArray[np.int64]

INSIDE_MM = 0.05  # a move along a box's edge does not cross it, and arcs stray a little: more than the usual tolerance
HEIGHT_MM = 0.01  # less than any canvas is flat, and more than the rounding of a program's heights
ROUND_MM = 1.0  # how far beside a box travel goes round it


@dataclass(frozen=True)
class KeepOuts:
    """Boxes as tips of a program meet them: (b, 4) mm in program coordinates, (b,) clear heights above the canvas."""

    boxes: Array
    heights: Array
    names: tuple[str, ...]

    @classmethod
    def of(cls, sections: Sequence[KeepOutSection], lying: Lying) -> "KeepOuts":
        """Those of a job's [machine], for a board that lies so."""
        away = np.add(lying.zero, lying.taken_off)
        low = np.array([section.at for section in sections], dtype=np.float64).reshape(-1, 2) - away
        size = np.array([section.size for section in sections], dtype=np.float64).reshape(-1, 2)
        heights = np.array([section.height for section in sections], dtype=np.float64)
        return cls(np.hstack([low, low + size]), heights, tuple(section.name for section in sections))

    def __len__(self) -> int:
        return len(self.heights)

    def crossed(self, start: Array, end: Array, height: Array, grown: float = 0.0) -> Index:
        """(n,) which box each straight move of the tip crosses below its clear height, the highest; -1: none.

        start, end: (n, 2) mm; nan: not known, and not held against it. height: (n,) mm, the lowest of each move.
        grown: mm that the boxes are larger by.
        """
        if not len(self) or not len(start):
            return np.full(len(start), -1, dtype=np.int64)
        hit = self._cuts(start, end, grown - INSIDE_MM) & (height[:, None] < self.heights[None] - HEIGHT_MM)
        tallest = np.where(hit, self.heights[None], -np.inf).argmax(axis=1)
        return np.where(hit.any(axis=1), tallest, -1)

    def _cuts(self, start: Array, end: Array, grown: float) -> NDArray[np.bool_]:
        """(n, b) whether a segment passes the inside of a box: the shares of it between both pairs of edges meet."""
        first, last = np.zeros((len(start), len(self))), np.ones((len(start), len(self)))
        known = np.asarray(~np.isnan(np.hstack([start, end])).any(axis=1))
        inside = np.repeat(known[:, None], len(self), axis=1)
        for axis in (0, 1):
            low, high = self.boxes[None, :, axis] - grown, self.boxes[None, :, axis + 2] + grown
            at, step = start[:, axis, None], (end - start)[:, axis, None]
            with np.errstate(divide="ignore", invalid="ignore"):
                one, other = (low - at) / step, (high - at) / step
            still = step == 0
            inside &= ~still | ((low < at) & (at < high))
            first = np.where(still, first, np.fmax(first, np.fmin(one, other)))
            last = np.where(still, last, np.fmin(last, np.fmax(one, other)))
        return np.asarray(inside & ((first < last) | ((first == last) & (start == end).all(axis=1)[:, None])))

    def way(self, start: Point, end: Point, height: float, reach: Box | None = None) -> list[Point] | None:
        """The shortest way at a height that crosses no box: the points after `start`; None where there is none.

        Round the corners of the boxes that are higher (Dijkstra 1959 on the corners that see each other). reach: the
        box that the tip must stay in.
        """
        nodes = [start, end, *self._corners(height, reach)]
        points = np.array(nodes, dtype=np.float64)
        pairs = np.array(list(itertools.combinations(range(len(nodes)), 2)), dtype=np.int64)
        free = self.crossed(points[pairs[:, 0]], points[pairs[:, 1]], np.full(len(pairs), height)) < 0
        near: dict[int, list[int]] = {}
        for one, other in pairs[free].tolist():
            near.setdefault(one, []).append(other)
            near.setdefault(other, []).append(one)
        best: dict[int, float] = {}
        waiting: list[tuple[float, int, tuple[int, ...]]] = [(0.0, 0, ())]
        while waiting:
            gone, here, before = heappop(waiting)
            if here == 1:
                return [nodes[index] for index in (*before[1:], here)] if before else [end]
            if here in best:
                continue
            best[here] = gone
            for there in near.get(here, []):
                if there not in best:
                    leg = float(np.hypot(*(points[there] - points[here])))
                    heappush(waiting, (gone + leg, there, (*before, here)))
        return None

    def _corners(self, height: float, reach: Box | None) -> list[Point]:
        found: list[Point] = []
        for x0, y0, x1, y1 in self.boxes[self.heights - HEIGHT_MM > height].tolist():
            found += itertools.product((x0 - ROUND_MM, x1 + ROUND_MM), (y0 - ROUND_MM, y1 + ROUND_MM))
        if reach is None:
            return found
        return [(x, y) for x, y in found if reach[0] <= x <= reach[2] and reach[1] <= y <= reach[3]]
