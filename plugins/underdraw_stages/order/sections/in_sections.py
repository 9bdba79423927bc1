"""Strokes into sections: each is drawn in the first section that reaches it whole, and cut where none does.

A cut lies in the band that two neighbours share. The earlier section draws up to it; the later one begins a little
before it, so that no gap shows where the board came back a little off.
"""

from dataclasses import dataclass
from itertools import pairwise
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import offsets
from underdraw.errors import CannotDo
from underdraw.panel import Lying
from underdraw.words.quantities import length_in
from underdraw.words.units import unit_of
from underdraw_stages.order.sections.cut_points import OtherStrokes, cut_point

Points = NDArray[np.float64]
EARLIER, BETWEEN, LATER = -1, 0, 1


@dataclass(frozen=True)
class Cut:
    """drawing: with its strokes in sections, those of a section together. cuts: (k, 2) where strokes were cut."""

    drawing: Drawing
    cuts: Points


def in_sections(drawing: Drawing, lying: Lying, overlap: float) -> Cut:
    """A drawing of strokes in the sections of its board; as it is where the board is drawn in one go.

    Raises CannotDo where the overlap has no room in the band that two sections share.
    """
    sections = lying.sections
    if sections is None:
        return Cut(drawing, np.empty((0, 2)))
    others = OtherStrokes.of(drawing.part_lines())
    rest = [(row, drawing.part_coords(row)) for row in range(len(drawing))]
    pieces: list[tuple[int, int, Points]] = []  # section, the stroke it is of, its points
    cuts: list[Points] = []
    for section in range(1, sections.count):
        low, high = sections.band(section)
        if high - low <= 2 * overlap:
            unit = unit_of(drawing.job)
            raise CannotDo(
                f"an overlap of {length_in(overlap, unit)} has no room where sections meet; use one below "
                f"{length_in((high - low) / 2, unit, 'down')}"
            )
        reached, later = divide(rest, lying, (low, high))
        for row, line in later.crossing:
            for label, piece, cut in cut_up(row, line, lying, (low, high), overlap, others):
                (reached if label == EARLIER else later.whole).append((row, piece))
                cuts += [cut] if cut is not None else []
        pieces += [(section, row, line) for row, line in sorted(reached, key=itemgetter(0))]
        rest = sorted(later.whole, key=itemgetter(0))  # what was cut stands where the whole stroke stood
    pieces += [(sections.count, row, line) for row, line in rest]
    return Cut(_drawing_of(drawing, pieces), np.array(cuts).reshape(-1, 2))


@dataclass(frozen=True)
class Later:
    """Strokes, by their rows, that a section does not reach whole: those that the next ones do, and those to cut."""

    whole: list[tuple[int, Points]]
    crossing: list[tuple[int, Points]]


def divide(
    strokes: list[tuple[int, Points]], lying: Lying, band: tuple[float, float]
) -> tuple[list[tuple[int, Points]], Later]:
    """Strokes that end before a band does, those that begin after it begins, and those that do neither."""
    low, high = band
    reached: list[tuple[int, Points]] = []
    later = Later([], [])
    for row, line in strokes:
        along = lying.along(line)
        if along.max() <= high:
            reached.append((row, line))
        elif along.min() >= low:
            later.whole.append((row, line))
        else:
            later.crossing.append((row, line))
    return reached, later


def cut_up(
    row: int, line: Points, lying: Lying, band: tuple[float, float], overlap: float, others: OtherStrokes
) -> list[tuple[int, Points, Points | None]]:
    """A stroke in pieces: for each whether the earlier or a later section draws it, its points, and the cut it ends at.

    It is cut once on each way through the band, and nowhere where it comes back out on the side that it came in.
    """
    low, high = band
    closed = len(line) > 2 and bool((line[0] == line[-1]).all())
    if closed:  # begin a ring beyond the band, so that both its ends belong to one piece, a later section's
        begin = int(lying.along(line[:-1]).argmax())
        line = np.concatenate([line[begin:-1], line[: begin + 1]])
    line = with_points_at(line, lying, band)
    along = lying.along(line)
    side = np.where(along < low, EARLIER, np.where(along > high, LATER, BETWEEN))
    outside = np.flatnonzero(side != BETWEEN)
    passages = np.flatnonzero(np.diff(side[outside]) != 0)
    ways = lengths_along(line)
    cuts: list[float] = []  # mm along the stroke
    for first, last in zip(outside[passages].tolist(), outside[passages + 1].tolist(), strict=True):
        stretch = line[first : last + 1]
        met = others.crossings(stretch, row)
        index, spot = cut_point(stretch, along[first : last + 1], low + overlap, high - overlap, met)
        cuts.append(float(ways[first + index] + np.hypot(*(spot - stretch[index]))))
    label = int(side[outside[0]])
    made: list[tuple[int, Points, Points | None]] = []
    for start, end in pairwise([0.0, *cuts, float(ways[-1])]):
        more = overlap if label == LATER else 0.0
        piece = stretch_of(line, ways, start - more if start else 0.0, end + more)
        made.append((label, piece, stretch_of(line, ways, end, end)[0] if end < ways[-1] else None))
        label = -label
    if closed and len(made) > 1:  # the last piece goes on where the first began
        (label, first_piece, cut), (_, last_piece, _) = made[0], made[-1]
        made = [(label, np.concatenate([last_piece, first_piece[1:]]), cut), *made[1:-1]]
    return made


def with_points_at(line: Points, lying: Lying, band: tuple[float, float]) -> Points:
    """A polyline with points where it goes over the band's two ends, so that no segment is on both sides of one."""
    for end in band:
        along = lying.along(line)
        over = np.flatnonzero((along[:-1] - end) * (along[1:] - end) < 0)
        share = (end - along[over]) / (along[over + 1] - along[over])
        line = np.insert(line, over + 1, line[over] + share[:, None] * (line[over + 1] - line[over]), axis=0)
    return line


def lengths_along(line: Points) -> NDArray[np.float64]:
    """(n,) mm along a polyline at each of its points."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def stretch_of(line: Points, ways: NDArray[np.float64], begin: float, end: float) -> Points:
    """(k, 2) a polyline from so many mm along it to so many; ways: (n,) `lengths_along`."""
    inner = line[(ways > begin) & (ways < end)]
    ends = np.column_stack([np.interp([begin, end], ways, line[:, axis]) for axis in (0, 1)])
    return np.concatenate([ends[:1], inner, ends[1:]])


def _drawing_of(drawing: Drawing, pieces: list[tuple[int, int, Points]]) -> Drawing:
    """The drawing that these pieces make, each with the columns of its stroke."""
    rows = np.array([row for _, row, _ in pieces])
    lines = [line for _, _, line in pieces]
    return drawing.select(rows).replace(
        coords=np.concatenate(lines),
        parts=offsets([len(line) for line in lines]),
        shapes=np.arange(len(lines) + 1),
        section=np.array([section for section, _, _ in pieces], dtype=np.int32),
    )
