"""Every spot of a drawing, the worst first: those that lose the most line."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw_stages.inspect.found.artwork_shown import ArtworkShown
from underdraw_stages.inspect.found.closing import closing_spots
from underdraw_stages.inspect.found.fine_details import fine_spots
from underdraw_stages.inspect.found.line_pieces import pieces_of
from underdraw_stages.inspect.found.merging import TooDense, merging_spots
from underdraw_stages.inspect.found.spot import Spot

COARSE = 1.0  # pieces to a width of the ink where a drawing is dense: a ninth of the pairs
PART_OF = 3.5  # widths: a fine detail as near as that to another spot of its stroke is part of it


def ink_widths(drawing: Drawing, tip: float | None) -> NDArray[np.float64]:
    """(s,) mm that each stroke's ink is wide: with the tip that is tried, or as its marker draws."""
    if tip is not None:
        return np.full(len(drawing), tip)
    own = {name: drawing.job.marker(name).line_width for name in set(drawing.marker.tolist())}
    of_marker = np.array([own[name] for name in drawing.marker.tolist()], dtype=np.float64)
    return np.where(drawing.stroke_width > 0, drawing.stroke_width, of_marker)


def spots_of(drawing: Drawing, width: NDArray[np.float64], shown: ArtworkShown) -> list[Spot]:
    """All spots of a drawing of strokes, whose ink is (s,) mm wide, the worst first.

    Raises TooDense where lines are so near each other everywhere that merging ones cannot be counted one by one.
    """
    if not len(drawing):
        return []
    lines = drawing.part_lines()
    try:
        merging = merging_spots(pieces_of(lines, width))
    except TooDense:
        merging = merging_spots(pieces_of(lines, width, COARSE))
    spots = [*merging, *closing_spots(drawing, lines, width, shown)]
    spots += _apart_from(spots, fine_spots(lines, width), width)
    return sorted(spots, key=lambda spot: (-spot.length, spot.kind, spot.at))


def _apart_from(others: list[Spot], fine: list[Spot], width: NDArray[Any]) -> list[Spot]:
    """Fine details that are no part of another spot: the bend between two lines that merge, a loop that closes."""
    if not others or not fine:
        return fine
    tree = shapely.STRtree([spot.outline for spot in others])
    distance = [PART_OF * float(width[spot.strokes[0] - 1]) for spot in fine]
    inner, outer = tree.query([spot.outline for spot in fine], predicate="dwithin", distance=distance)
    part = {row for row, other in zip(inner.tolist(), outer.tolist(), strict=True)
            if fine[row].strokes[0] in others[other].strokes}  # fmt: skip
    return [spot for row, spot in enumerate(fine) if row not in part]
