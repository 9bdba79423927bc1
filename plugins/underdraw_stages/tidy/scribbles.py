"""A line that crosses itself ten thousands of times is refused before every loop of it is worked out."""

import math

import numpy as np
import shapely

from underdraw.drawing.drawing import Drawing
from underdraw.errors import CannotDo

MOST_CROSSINGS = 25_000  # of one line with itself: each takes tidy a millisecond and some kilobytes
FEWEST_SEGMENTS = math.isqrt(2 * MOST_CROSSINGS)  # fewer cannot cross so often, each pair once
SPOT_MM = 1.0  # what is no larger is a spot, and is seen as one before its crossings are looked at
BLOCK = 1000  # segments held against all at a time


def require_no_scribble(drawing: Drawing) -> None:
    """Raise CannotDo for a line that crosses itself more than `MOST_CROSSINGS` times."""
    for part in np.flatnonzero(np.diff(drawing.parts) > FEWEST_SEGMENTS).tolist():
        line = drawing.part_coords(part)
        if np.ptp(line, axis=0).max() <= SPOT_MM:
            continue
        segments = shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1))
        tree, met = shapely.STRtree(segments), 0
        for begin in range(0, len(segments), BLOCK):
            met += tree.query(segments[begin : begin + BLOCK], predicate="crosses").shape[1]
            if met > 2 * MOST_CROSSINGS:  # each is met from both sides
                shape = int(np.searchsorted(drawing.shapes, part, side="right")) - 1
                raise CannotDo(
                    f"{drawing.element[shape] or f'shape {shape + 1}'} crosses itself more than {MOST_CROSSINGS:,} "
                    "times, as a scribble does; split it, or draw it as a filled shape"
                )
