"""Drawn: the artwork covers the sides already. Where it falls short of the image's edge is told, and by how much."""

from dataclasses import dataclass

import numpy as np

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import Floats, part_bounds
from underdraw.drawing.regions import enclosed
from underdraw.drawing.trimming import trim
from underdraw_stages.wrap.side_frame import SideFrame

STEP_MM = 2.0  # how finely a side is looked at, along it and across
SHORT_MM = 0.5  # nobody sees less at the very edge of the bleed


@dataclass(frozen=True)
class Shortfall:
    """A stretch of a side where the artwork ends before the image's edge: from, to along it, and by how much (mm)."""

    low: float
    high: float
    by: float


def shortfalls(drawing: Drawing, frame: SideFrame) -> list[Shortfall]:
    """Where the artwork falls short on a side: all along it, or where a fill that crosses the fold ends too soon."""
    there = trim(drawing, [frame.side_box()]).drawing
    reach = float(frame.out(there.coords).max(initial=0.0))
    if reach < frame.width - SHORT_MM:
        return [Shortfall(frame.low, frame.high, round(frame.width - reach, 4))]
    return fills_that_end(there, frame)


def fills_that_end(drawing: Drawing, frame: SideFrame) -> list[Shortfall]:
    """Stretches that are filled at the fold and not at the image's edge; by the most that is missing in each."""
    along = np.arange(frame.low + STEP_MM / 2, frame.high, STEP_MM)
    depth = np.append(np.arange(STEP_MM / 2, frame.width - SHORT_MM, STEP_MM), frame.width - SHORT_MM)
    filled = filled_at(drawing, frame, along, depth)
    short = filled[:, 0] & ~filled[:, -1]
    deepest = np.array([depth[np.flatnonzero(row)[-1]] if row.any() else 0.0 for row in filled])
    begins = np.flatnonzero(short & ~np.append(False, short[:-1]))
    ends = np.flatnonzero(short & ~np.append(short[1:], False))
    return [
        Shortfall(
            float(along[begin] - STEP_MM / 2),
            float(min(along[end] + STEP_MM / 2, frame.high)),
            float(frame.width - deepest[begin : end + 1].min()),
        )
        for begin, end in zip(begins, ends, strict=True)
    ]


def filled_at(
    drawing: Drawing, frame: SideFrame, along: Floats, depth: Floats
) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """(a, d) whether any fill covers the places of a grid on the side."""
    spread, deep = (grid.ravel() for grid in np.meshgrid(along, depth, indexing="ij"))
    points = frame.points(spread, deep)
    filled = np.zeros(len(points), dtype=np.bool_)
    low, high = points.min(axis=0), points.max(axis=0)
    bounds = part_bounds(drawing.coords, drawing.parts)
    near = (bounds[:, :2] <= high).all(axis=1) & (bounds[:, 2:] >= low).all(axis=1)
    shape = np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes))
    for row in np.unique(shape[near & (drawing.fill[shape] != "")]).tolist():
        parts = range(drawing.shapes[row], drawing.shapes[row + 1])
        box = bounds[drawing.shapes[row] : drawing.shapes[row + 1]]
        asked = np.flatnonzero(
            ~filled & (points >= box[:, :2].min(axis=0)).all(axis=1) & (points <= box[:, 2:].max(axis=0)).all(axis=1)
        )
        rings = [np.concatenate([coords, coords[:1]]) for coords in map(drawing.part_coords, parts) if len(coords) > 2]
        if len(asked) and rings:
            filled[asked] = enclosed(rings, points[asked], bool(drawing.evenodd[row]))
    return filled.reshape(len(along), len(depth))
