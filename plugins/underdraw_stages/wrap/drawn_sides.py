"""Drawn: the artwork covers the sides already. Where its page ends before the image's edge, its lines end there too."""

from dataclasses import dataclass

import numpy as np

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import Floats
from underdraw_stages.wrap.side_frame import SideFrame

SHORT_MM = 0.5  # nobody sees less at the very edge of the bleed
AT_EDGE_MM = 0.05  # so near the page's edge a point is on it: rounding of exports and of scale
JOINED_MM = 5.0  # stretches nearer than this along the edge are reported as one


@dataclass(frozen=True)
class Shortfall:
    """A stretch of a side where lines end before the image's edge: from, to along it, and by how much (mm)."""

    low: float
    high: float
    by: float


def shortfalls(drawing: Drawing, page: Floats, frame: SideFrame) -> list[Shortfall]:
    """Where lines reach the edge of the artwork's page on a side, and that is short of the image's edge.

    page: (4, 2) corners of the page in board coordinates, or none where it is not known. Whatever ends within the page
    (a cloud, a leaf) was meant to end there.
    """
    if not len(page):
        return []
    edge = float(frame.out(page).max())
    if edge >= frame.width - SHORT_MM:
        return []
    reaching = frame.out(drawing.coords) >= edge - AT_EDGE_MM
    shape = np.repeat(np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes)), np.diff(drawing.parts))
    along = np.clip(frame.along(drawing.coords), frame.low, frame.high)
    ranges = [
        (float(along[rows].min()), float(along[rows].max()))
        for rows in (np.flatnonzero(reaching & (shape == row)) for row in np.unique(shape[reaching]))
    ]
    by = round(frame.width - edge, 4)
    return [Shortfall(low, high, by) for low, high in together(ranges)]


def together(ranges: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Ranges along an edge, those joined that overlap or nearly meet.

    >>> together([(30.0, 31.0), (0.0, 10.0), (12.0, 20.0)])
    [(0.0, 20.0), (30.0, 31.0)]
    """
    joined: list[tuple[float, float]] = []
    for low, high in sorted(ranges):
        if joined and low <= joined[-1][1] + JOINED_MM:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined
