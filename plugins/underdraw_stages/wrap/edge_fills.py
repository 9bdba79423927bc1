"""Where a cut fill meets a fold: the stretches of the fold that are filled on its inner side."""

import numpy as np

from underdraw.drawing.ragged import Floats
from underdraw.drawing.regions import enclosed
from underdraw_stages.wrap.side_frame import SideFrame

INSIDE_MM = 1e-3  # how far inside the fold it is asked whether there is fill


def filled_stretches(rings: list[Floats], evenodd: bool, frame: SideFrame) -> list[tuple[float, float]]:
    """(from, to) along the fold, in order, where rings (n, 2) enclose what lies right inside it."""
    marks = np.unique(np.concatenate([frame.along(ring[frame.on_fold(ring)]) for ring in rings]))
    if len(marks) < 2:
        return []
    middles = (marks[1:] + marks[:-1]) / 2
    filled = enclosed(rings, frame.points(middles, np.full(len(middles), -INSIDE_MM)), evenodd)
    starts = np.flatnonzero(filled & ~np.append(False, filled[:-1]))
    ends = np.flatnonzero(filled & ~np.append(filled[1:], False))
    return [(float(marks[start]), float(marks[end + 1])) for start, end in zip(starts, ends, strict=True)]
