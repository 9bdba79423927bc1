"""Travel with the marker lifted: from park to the first stroke, between strokes, to park for a swap, and back."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Legs:
    """Travel, leg by leg: points (t, 2, 2) board mm; before (t,) which stroke (from 0; s: none) it leads up to."""

    points: Array
    before: NDArray[np.int64]
    to_park: NDArray[np.bool_]

    @property
    def length(self) -> float:
        """mm of all legs."""
        return float(np.linalg.norm(np.diff(self.points, axis=1)[:, 0], axis=1).sum())


def travel_legs(drawing: Drawing) -> tuple[Legs, NDArray[np.int64]]:
    """The legs of travel of a drawing of strokes, and the strokes (from 0) that a marker is put in before.

    From park to the first stroke, from stroke to stroke, by way of park where a marker is swapped, and back to park.
    """
    count = len(drawing)
    swaps = swap_strokes(drawing)
    park = park_point(drawing)
    if not count:
        return Legs(np.empty((0, 2, 2)), np.empty(0, dtype=np.int64), np.empty(0, dtype=np.bool_)), swaps
    first, last = drawing.coords[drawing.parts[:-1]], drawing.coords[drawing.parts[1:] - 1]
    inner = np.setdiff1d(np.arange(1, count), swaps)  # straight from the stroke before
    home = np.append(swaps[swaps > 0], count)  # back to park, for a swap or for good
    points = np.concatenate([
        np.stack([last[inner - 1], first[inner]], axis=1),
        np.stack([last[home - 1], np.broadcast_to(park, (len(home), 2))], axis=1),
        np.stack([np.broadcast_to(park, (len(swaps), 2)), first[swaps]], axis=1),
    ])  # fmt: skip
    before = np.concatenate([inner, home, swaps])
    to_park = np.repeat([False, True, False], [len(inner), len(home), len(swaps)])
    order = np.lexsort((~to_park, before))
    return Legs(points[order], before[order], to_park[order]), swaps


def swap_strokes(drawing: Drawing) -> NDArray[np.int64]:
    """(k,) the strokes (from 0) before which a marker is put in, or the board moved along.

    The first, and wherever marker, load or section changes. Markers of one body are one: only their settings differ.
    """
    if not len(drawing):
        return np.empty(0, dtype=np.int64)
    changed = np.zeros(len(drawing) - 1, dtype=np.bool_)
    for column in (bodies_of(drawing), drawing.load, drawing.section):
        changed |= column[1:] != column[:-1]
    return np.concatenate([[0], np.flatnonzero(changed) + 1]).astype(np.int64)


def bodies_of(drawing: Drawing) -> NDArray[Any]:
    """(s,) the name of the marker that is in the holder for each stroke."""
    bodies = {name: drawing.job.body(name) for name in set(drawing.marker.tolist())}
    return np.array([bodies[name] for name in drawing.marker.tolist()], dtype=object)


def park_point(drawing: Drawing) -> Array:
    """(2,) the park position in board coordinates (y down): the job states it from the board's lower left corner."""
    x, y = drawing.job.machine.park
    return np.array([x, drawing.sheet[1] - y])
