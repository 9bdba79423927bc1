"""Which lines of two drawings are the same, by where they are and not by number: what stayed, came and went."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw.drawing.lines.polylines import as_lines, cut_at, lines_of_steps
from underdraw.drawing.ragged import row_positions

SAME_MM = 0.05  # how near a line must be to one of the other drawing to be the same
STEP_MM = 0.25  # lines are held against each other in steps so long
PASSING_MM = 1.0  # a shorter stretch within a new line that is near an old one only crosses it
LINE_POINTS = 64  # lines are looked up in stretches of so many points


@dataclass(frozen=True, eq=False)
class Part:
    """Lines of one drawing: (k,) LineStrings and the (k,) stroke of each, from 0."""

    lines: NDArray[Any]
    stroke: NDArray[np.int64]

    @property
    def length(self) -> float:
        """mm together."""
        return float(shapely.length(self.lines).sum())

    @property
    def strokes(self) -> int:
        """How many strokes have a part in it."""
        return len(np.unique(self.stroke))


@dataclass(frozen=True, eq=False)
class ChangedLines:
    """came and stayed: of the new drawing; went: of the old one. remarked_mm: stayed, with another marker."""

    came: Part
    stayed: Part
    went: Part
    remarked_mm: float

    @property
    def shared(self) -> float:
        """How much of the shorter drawing is in the other one too, from 0 to 1."""
        new, old = self.came.length + self.stayed.length, self.went.length + self.stayed.length
        return self.stayed.length / max(min(new, old), 1e-9)


def changed_lines(old: Drawing, new: Drawing) -> ChangedLines:
    """Hold two drawings of strokes against each other."""
    came, stayed, remarked = apart_and_shared(new, old)
    went, _, _ = apart_and_shared(old, new)
    return ChangedLines(came, stayed, went, remarked)


def apart_and_shared(drawing: Drawing, other: Drawing) -> tuple[Part, Part, float]:
    """What of a drawing the other one has not, what it has, and the mm of that with another marker."""
    lines = drawing.part_lines()
    known = {key: str(marker) for key, marker in zip(prints(other), other.marker.tolist(), strict=True)}
    own = prints(drawing)
    same = np.array([key in known for key in own], dtype=np.bool_)
    changed = np.array([key in known and known[key] != marker
                        for key, marker in zip(own, drawing.marker.tolist(), strict=True)], dtype=np.bool_)  # fmt: skip
    remarked = float(shapely.length(lines[changed]).sum())
    whole, rest = np.flatnonzero(same), np.flatnonzero(~same)
    if not len(rest):
        return Part(lines[rest], rest), Part(lines[whole], whole), remarked
    pieces, stroke, shared, more = near_and_far(drawing, other, rest)
    kept = np.concatenate([lines[whole], pieces[shared]])
    return (
        Part(pieces[~shared], stroke[~shared]),
        Part(kept, np.concatenate([whole, stroke[shared]])),
        remarked + more,
    )


def prints(drawing: Drawing) -> list[bytes]:
    """(s,) a key of each stroke's points, the same for one drawn the other way."""
    keys = []
    for first, last in zip(drawing.parts[:-1].tolist(), drawing.parts[1:].tolist(), strict=True):
        points = drawing.coords[first:last]
        there, back = points.tobytes(), points[::-1].tobytes()
        keys.append(min(there, back))
    return keys


def near_and_far(
    drawing: Drawing, other: Drawing, rows: NDArray[np.int64]
) -> tuple[NDArray[Any], NDArray[np.int64], NDArray[np.bool_], float]:
    """Some strokes cut where they leave the other drawing's lines: pieces, the stroke of each, whether it is shared."""
    lines = drawing.part_lines()[rows]
    long = shapely.length(lines) > 0  # a dot has no steps
    lines[long] = shapely.segmentize(lines[long], STEP_MM)
    coords, index = shapely.get_coordinates(lines, return_index=True)
    first = np.flatnonzero(index[1:] == index[:-1])
    middle = shapely.points((coords[first] + coords[first + 1]) / 2)
    stretch, stroke_of = stretches(other.part_lines())
    if len(stretch):
        point, near = shapely.STRtree(stretch).query(middle, predicate="dwithin", distance=SAME_MM)
    else:
        point = near = np.empty(0, dtype=np.int64)
    shared, alike = np.zeros(len(first), dtype=np.bool_), np.zeros(len(first), dtype=np.bool_)
    shared[point] = True
    alike[point[other.marker[stroke_of[near]] == drawing.marker[rows[index[first[point]]]]]] = True
    step = np.hypot(*(coords[first + 1] - coords[first]).T)
    shared &= ~passing(shared, index[first], step)
    remarked = float(step[shared & ~alike].sum())
    line = index[first]
    fresh = np.ones(len(first), dtype=np.bool_)
    fresh[1:] = (shared[1:] != shared[:-1]) | (line[1:] != line[:-1])
    begin = np.flatnonzero(fresh)
    pieces = lines_of_steps(coords[first], coords[first + 1], np.append(begin, len(first)))
    return pieces, rows[line[begin]], shared[begin], remarked


def passing(shared: NDArray[np.bool_], line: NDArray[np.int64], step: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(k,) steps that are near the other drawing for a short way only, on a line that else is not: crossings."""
    change = np.ones(len(shared), dtype=np.bool_)
    change[1:] = (shared[1:] != shared[:-1]) | (line[1:] != line[:-1])
    run = np.cumsum(change) - 1
    length = np.bincount(run, step)
    alone = np.bincount(line, ~shared, minlength=line.max(initial=-1) + 1)[line] == 0  # all of its line is shared
    return np.asarray(shared & (length[run] < PASSING_MM) & ~alone)


def stretches(lines: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Lines in stretches of at most `LINE_POINTS` points, and the (m,) line of each."""
    coords, index = shapely.get_coordinates(lines, return_index=True)
    seam = row_positions(shapely.get_num_coordinates(lines)) % (LINE_POINTS - 1) == 0
    cut, piece, line = cut_at(coords, index, seam)
    return as_lines(cut, piece), line
