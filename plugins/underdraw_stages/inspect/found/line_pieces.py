"""Strokes cut into pieces much shorter than their ink is wide, and those into stretches that are looked up together."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.polylines import along, lines_of_steps

PIECES = 3.0  # to one width of the ink
STRETCH = 3.0  # widths of the ink that one stretch is long
LOOSE = 0.02  # of the width: how near the pieces keep to the stroke


@dataclass(frozen=True, eq=False)
class Pieces:
    """Straight pieces of strokes, in order along each.

    start, end: (p, 2) mm. position: (p,) mm along its stroke to the piece's middle. stroke: (p,) index.
    stretch_of: (s + 1,) the first piece of each stretch. stretch: (s,) shapely LineStrings. width: (n,) of each
    stroke's ink, mm; length: (n,) of each stroke; closed: (n,) whether it ends where it began.
    """

    start: NDArray[np.float64]
    end: NDArray[np.float64]
    position: NDArray[np.float64]
    stroke: NDArray[np.int64]
    stretch_of: NDArray[np.int64]
    stretch: NDArray[Any]
    width: NDArray[np.float64]
    length: NDArray[np.float64]
    closed: NDArray[np.bool_]

    @cached_property
    def middle(self) -> NDArray[np.float64]:
        """(p, 2) of each piece."""
        return (self.start + self.end) / 2

    @cached_property
    def piece_length(self) -> NDArray[np.float64]:
        """(p,) mm of each piece."""
        return np.asarray(np.hypot(*(self.end - self.start).T))

    def between(self, one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.float64]:
        """(k,) mm along the stroke between pieces of one stroke, the shorter way round where it is closed."""
        return self.apart(self.stroke[one], self.position[one], self.position[other])

    def apart(
        self, stroke: NDArray[np.int64], one: NDArray[np.float64], other: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """(k,) mm along each stroke between two positions on it, the shorter way round where it is closed."""
        far = np.abs(one - other)
        return np.where(self.closed[stroke], np.minimum(far, self.length[stroke] - far), far)


def pieces_of(lines: NDArray[Any], width: NDArray[np.float64], to_a_width: float = PIECES) -> Pieces:
    """(n,) LineStrings and the (n,) width of each one's ink, in mm, as pieces; lines of no length have none."""
    drawn = np.flatnonzero(shapely.length(lines) > 0)
    kept = shapely.simplify(lines[drawn], LOOSE * width.min(initial=1.0))
    gone = shapely.length(kept) == 0  # a ring smaller than that
    kept[gone] = lines[drawn[gone]]
    coords, line = shapely.get_coordinates(shapely.segmentize(kept, width[drawn] / to_a_width), return_index=True)
    stroke_of = drawn[line]
    position = along(coords, stroke_of)
    first = np.flatnonzero((stroke_of[1:] == stroke_of[:-1]) & (position[1:] > position[:-1]))
    start, end, stroke = coords[first], coords[first + 1], stroke_of[first]
    middle = (position[first] + position[first + 1]) / 2
    block = np.floor(middle / (STRETCH * width[stroke])).astype(np.int64)
    fresh = np.ones(len(first), dtype=np.bool_)
    fresh[1:] = (stroke[1:] != stroke[:-1]) | (block[1:] != block[:-1])
    stretch_of = np.append(np.flatnonzero(fresh), len(first))
    return Pieces(
        start, end, middle, stroke, stretch_of, lines_of_steps(start, end, stretch_of), width,
        shapely.length(lines), shapely.is_closed(lines),
    )  # fmt: skip
