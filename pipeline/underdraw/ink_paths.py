"""SVG path data for showing strokes: small, in whole hundredths of a millimetre, each point from the one before.

The wire keeps every digit; a picture need not. One path may hold thousands of strokes.
"""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing import Drawing

PER_MM = 100  # units of the path data in one millimetre; put `scale(0.01)` around the path


def ink_path(drawing: Drawing, first: int = 0, last: int | None = None) -> str:
    """The `d` of shapes `first` to before `last` (from 0), in 1/`PER_MM` mm; a stroke of no length stays a dot.

    Every point is measured from the one before it in whole units, so that rounding never adds up.
    """
    stop = len(drawing) if last is None else last
    parts = drawing.parts[drawing.shapes[first] : drawing.shapes[stop] + 1]
    return _path_data(drawing.coords, parts)


def ink_paths(drawing: Drawing) -> list[str]:
    """(s,) the `d` of every shape by itself."""
    return [ink_path(drawing, row, row + 1) for row in range(len(drawing))]


def _path_data(coords: NDArray[np.float64], parts: NDArray[np.int64]) -> str:
    if len(parts) < 2 or parts[0] == parts[-1]:
        return ""
    points = np.round(coords[parts[0] : parts[-1]] * PER_MM).astype(np.int64)
    starts = (parts[:-1] - parts[0])[np.diff(parts) > 0]
    step = np.diff(points, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    begins = np.zeros(len(points), dtype=np.bool_)
    begins[starts] = True
    second = np.roll(begins, 1) & ~begins
    second[0] = False
    moved = step.any(axis=1)
    keep = moved | begins | second  # the second point stays even where it is the first, for a dot to be seen
    words = [str(number) for number in step[keep].ravel().tolist()]
    at = np.flatnonzero(begins[keep])
    alone = np.append(np.diff(at), keep.sum() - at[-1]) == 1  # a part of one point
    for place, lone in zip((2 * at).tolist(), alone.tolist(), strict=True):
        words[place] = "m" + words[place]
        if lone:
            words[place + 1] += " 0 0"
    return " ".join(words).replace(" -", "-").replace(" m", "m")
