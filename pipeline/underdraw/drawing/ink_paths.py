"""SVG path data for showing strokes: small, in whole hundredths of a millimetre, each point from the one before.

The wire keeps every digit; a picture need not. One path may hold thousands of strokes.
"""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing

PER_MM = 100  # units of the path data in one millimetre; put `scale(0.01)` around the path


def ink_path(drawing: Drawing, first: int = 0, last: int | None = None) -> str:
    """The `d` of shapes `first` to before `last` (from 0), in 1/`PER_MM` mm; a stroke of no length stays a dot.

    Every point is measured from the one before it in whole units, so that rounding never adds up.

    >>> from underdraw import Job
    >>> ink_path(Drawing.build([[[(1, 1), (2, 1), (2, 0.5)]], [[(3, 3)]]], (10, 10), Job()))
    'm100 100 100 0 0-50m100 250 0 0'
    """
    stop = len(drawing) if last is None else last
    parts = drawing.parts[drawing.shapes[first] : drawing.shapes[stop] + 1]
    return _path_data(drawing.coords, parts, from_zero=False)


def ink_paths(drawing: Drawing) -> list[str]:
    """(s,) the `d` of every stroke by itself; each shape must have one part, with points."""
    return ["m" + data for data in _path_data(drawing.coords, drawing.parts, from_zero=True).split("m")[1:]]


def _path_data(coords: NDArray[np.float64], parts: NDArray[np.int64], *, from_zero: bool) -> str:
    """Parts one after the other; `from_zero`: each begins with its own place, not one measured from the last."""
    if len(parts) < 2 or parts[0] == parts[-1]:
        return ""
    points = np.round(coords[parts[0] : parts[-1]] * PER_MM).astype(np.int64)
    starts = (parts[:-1] - parts[0])[np.diff(parts) > 0]
    step = np.diff(points, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    if from_zero:
        step[starts] = points[starts]
    begins = np.zeros(len(points), dtype=np.bool_)
    begins[starts] = True
    second = np.roll(begins, 1) & ~begins
    second[0] = False
    keep = step.any(axis=1) | begins | second  # the second point stays even where it is the first, for a dot to show
    words = [str(number) for number in step[keep].ravel().tolist()]
    at = np.flatnonzero(begins[keep])
    alone = np.append(np.diff(at), keep.sum() - at[-1]) == 1  # a part of one point
    for place, lone in zip((2 * at).tolist(), alone.tolist(), strict=True):
        words[place] = "m" + words[place]
        if lone:
            words[place + 1] += " 0 0"
    return " ".join(words).replace(" -", "-").replace(" m", "m")
