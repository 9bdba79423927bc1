"""Where strokes meet: there they come near each other as they must, and nothing is wrong with that."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets, row_positions
from underdraw_stages.inspect.found.line_pieces import Pieces

TOUCH = 0.25  # widths: a stroke that ends as near to another one's middle meets it


@dataclass(frozen=True, eq=False)
class Meetings:
    """(m,) points where two strokes meet: a key of the two, sorted, and mm along each; both ways round."""

    key: NDArray[np.int64]
    along_one: NDArray[np.float64]
    along_other: NDArray[np.float64]


def keys(pieces: Pieces, one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.int64]:
    """(k,) one number for each pair of strokes, in that order."""
    return one * len(pieces.width) + other


def meetings_of(pieces: Pieces, stretches: NDArray[np.int64], pairs: NDArray[np.int64]) -> Meetings:
    """Where the strokes of some stretches meet.

    stretches: (2, k) pairs that come near each other. pairs: keys of strokes whose meetings are asked for.
    """
    first = pieces.stretch_of[:-1]
    a, b = stretches
    stroke_a, stroke_b = pieces.stroke[first[a]], pieces.stroke[first[b]]
    low, high = np.minimum(stroke_a, stroke_b), np.maximum(stroke_a, stroke_b)
    asked = np.isin(keys(pieces, low, high), pairs)
    a, b = a[asked], b[asked]
    found = [_crossings(pieces, a, b), _ends(pieces, a, b), _swapped(_ends(pieces, b, a))]
    one, other, at_one, at_other = (np.concatenate([each[column] for each in found]) for column in range(4))
    both = np.concatenate([keys(pieces, one, other), keys(pieces, other, one)])
    order = np.argsort(both, kind="stable")
    return Meetings(both[order], np.concatenate([at_one, at_other])[order], np.concatenate([at_other, at_one])[order])


Found = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]


def _swapped(found: Found) -> Found:
    return found[1], found[0], found[3], found[2]


def _start_of(pieces: Pieces, stretch: NDArray[np.int64]) -> NDArray[np.float64]:
    """(k,) mm along its stroke to where each stretch begins."""
    first = pieces.stretch_of[stretch]
    half = np.hypot(*(pieces.end[first] - pieces.start[first]).T) / 2
    return np.asarray(pieces.position[first] - half)


def _crossings(pieces: Pieces, a: NDArray[np.int64], b: NDArray[np.int64]) -> Found:
    cross = shapely.intersects(pieces.stretch[a], pieces.stretch[b])
    a, b = a[cross], b[cross]
    parts, pair = shapely.get_parts(shapely.intersection(pieces.stretch[a], pieces.stretch[b]), return_index=True)
    point = shapely.get_type_id(parts) == shapely.GeometryType.POINT  # lines on each other meet nowhere: they merge
    parts, pair = parts[point], pair[point]
    return _located(pieces, a[pair], b[pair], parts)


def _located(pieces: Pieces, a: NDArray[np.int64], b: NDArray[np.int64], points: NDArray[np.object_]) -> Found:
    first = pieces.stretch_of
    at_a, at_b = (
        _start_of(pieces, stretch) + shapely.line_locate_point(pieces.stretch[stretch], points) for stretch in (a, b)
    )
    return pieces.stroke[first[a]], pieces.stroke[first[b]], at_a, at_b


def _ends(pieces: Pieces, a: NDArray[np.int64], b: NDArray[np.int64]) -> Found:
    """Strokes of `a` that end on a stretch of `b`, or as good as on it."""
    first, last = pieces.stretch_of[a], pieces.stretch_of[a + 1] - 1
    stroke = pieces.stroke[first]
    count = len(pieces.stroke)
    begins = (first == 0) | (pieces.stroke[np.maximum(first - 1, 0)] != stroke)
    ends = (last == count - 1) | (pieces.stroke[np.minimum(last + 1, count - 1)] != stroke)
    found = []
    for here, coords in ((begins, pieces.start[first]), (ends, pieces.end[last])):
        points = shapely.points(coords[here])
        at_a, at_b = a[here], b[here]
        within = TOUCH * pieces.width[stroke[here]]
        touches = shapely.dwithin(points, pieces.stretch[at_b], within)
        found.append(_located(pieces, at_a[touches], at_b[touches], points[touches]))
    one, other, at_one, at_other = (np.concatenate([each[column] for each in found]) for column in range(4))
    return one, other, at_one, at_other


def near_a_meeting(
    pieces: Pieces, meetings: Meetings, one: NDArray[np.int64], other: NDArray[np.int64], within: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """(k,) whether two pieces are within so many mm of each other, along their strokes by way of a meeting."""
    stroke_one, stroke_other = pieces.stroke[one], pieces.stroke[other]
    key = keys(pieces, stroke_one, stroke_other)
    begin, end = np.searchsorted(meetings.key, key, "left"), np.searchsorted(meetings.key, key, "right")
    counts = end - begin
    pair = np.repeat(np.arange(len(one)), counts)
    meeting = np.repeat(begin, counts) + row_positions(counts)
    way = pieces.apart(stroke_one[pair], pieces.position[one[pair]], meetings.along_one[meeting])
    way += pieces.apart(stroke_other[pair], pieces.position[other[pair]], meetings.along_other[meeting])
    near = np.zeros(len(one), dtype=np.bool_)
    near[pair[way < within[pair]]] = True
    return near


def blocks(counts: NDArray[np.int64], most: int) -> list[slice]:
    """Rows in slices whose counts come to about `most`."""
    total = offsets(counts)
    slices, begin = [], 0
    while begin < len(counts):
        end = max(begin + 1, int(np.searchsorted(total, total[begin] + most, side="right")) - 1)
        slices.append(slice(begin, min(end, len(counts))))
        begin = min(end, len(counts))
    return slices
