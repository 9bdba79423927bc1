"""Run-on: each line that reaches the face's edge goes on in its own direction to the image's edge; fills go with it."""

from dataclasses import dataclass

import numpy as np
import shapely

from underdraw.drawing.drawing import NO_MARKER, Drawing
from underdraw.drawing.ragged import Floats, Ints, Mask, offsets
from underdraw_stages.wrap.courses import courses
from underdraw_stages.wrap.edge_fills import filled_stretches
from underdraw_stages.wrap.side_frame import SideFrame

REACHES_MM = 0.2  # a line that ends this near the face's edge was meant to reach it
DIRECTION_MM = 1.0  # a line's direction is taken over its last millimetre: its very last segment may be a hair
DIRECTION_SHARE = 0.4  # or over this share of a short line's length, which may come right back to the edge
ALONG_EDGE = 0.02  # a line whose direction leads outwards by less than this share of its length runs along the edge
SAME_PLACE_MM = 1e-3  # an outline's end and the cut edge of its fill were rounded apart by less
SMOOTH_MM = 0.005  # courses lose the points that they do not need


@dataclass(frozen=True, eq=False)
class Ends:
    """Ends of lines on one fold: part, whether it is the part's last point, where along the fold, and the slope."""

    part: Ints
    last: Ints
    along: Floats
    slope: Floats

    def __len__(self) -> int:
        return len(self.part)


def run_on(drawing: Drawing, frames: list[SideFrame]) -> tuple[Drawing, list[int]]:
    """A drawing on the face, its lines and fills carried on over these sides; and how many ends on each were."""
    drawing = without_empty_fills(drawing)
    ends_by_side = each_once([ends_on(drawing, frame) for frame in frames])
    part_shape = np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes))
    ways = [
        courses_of(ends, frame, hidden(drawing, part_shape, ends, frame)) for ends, frame in pairs(ends_by_side, frames)
    ]
    extended = drawing
    for (ends, frame), (depths, places) in zip(pairs(ends_by_side, frames), ways, strict=True):
        extended = with_paths(extended, ends, [thinned(frame.points(place, depths)) for place in places])
    for (ends, frame), (depths, places) in zip(pairs(ends_by_side, frames), ways, strict=True):
        extended = with_fills(extended, frame, Courses(part_shape[ends.part], ends.along, depths, places))
    return extended, [len(ends) for ends in ends_by_side]


def without_empty_fills(drawing: Drawing) -> Drawing:
    """The same, a stroke that is straight without the fill that it may have: it fills nothing, and would once it bends.

    Of artwork that states no fill, every path has SVG's own.
    """
    longest = np.zeros(len(drawing), dtype=np.int64)
    np.maximum.at(longest, np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes)), np.diff(drawing.parts))
    empty = (drawing.fill != "") & (drawing.stroke != "") & (longest <= 2)
    if not empty.any():
        return drawing
    fill, gradient = drawing.fill.copy(), drawing.fill_gradient.copy()
    fill[empty], gradient[empty] = "", None
    return drawing.replace(fill=fill, fill_gradient=gradient, fill_pattern=drawing.fill_pattern & ~empty)


def pairs(ends_by_side: list[Ends], frames: list[SideFrame]) -> list[tuple[Ends, SideFrame]]:
    """Each side's ends with its frame."""
    return list(zip(ends_by_side, frames, strict=True))


def ends_on(drawing: Drawing, frame: SideFrame) -> Ends:
    """Ends of open lines on one side of the face, that lead outwards there."""
    shape = np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes))
    counts = np.diff(drawing.parts)
    line = (drawing.fill[shape] == "") & ~drawing.part_closed() & (counts > 1)
    part, last, along, slope = [], [], [], []
    for end in (0, 1):
        at = drawing.coords[np.where(counts > 0, drawing.parts[end:][: len(counts)] - end, 0)]
        near = line & (np.abs(frame.out(at)) <= REACHES_MM)
        near &= (frame.along(at) >= frame.low - REACHES_MM) & (frame.along(at) <= frame.high + REACHES_MM)
        for row in np.flatnonzero(near).tolist():
            out, sideways = direction(drawing.part_coords(row), bool(end), frame)
            if out > ALONG_EDGE:
                part.append(row)
                last.append(end)
                along.append(min(max(float(frame.along(at[row : row + 1])[0]), frame.low), frame.high))
                slope.append(sideways / out)
    return Ends(np.array(part, dtype=np.int64), np.array(last, dtype=np.int64), np.array(along), np.array(slope))


def hidden(drawing: Drawing, part_shape: Ints, ends: Ends, frame: SideFrame) -> Mask:
    """(k,) which ends lie beneath an opaque fill that goes over the fold there, and so push no line aside."""
    beneath = np.zeros(len(ends), dtype=np.bool_)
    for row in np.flatnonzero((drawing.marker == NO_MARKER) & drawing.opaque_fill).tolist():
        asked = (part_shape[ends.part] < row) & ~beneath
        if asked.any():
            own = [drawing.part_coords(part) for part in range(drawing.shapes[row], drawing.shapes[row + 1])]
            for low, high in filled_stretches(own, bool(drawing.evenodd[row]), frame):
                beneath |= asked & (ends.along > low + SAME_PLACE_MM) & (ends.along < high - SAME_PLACE_MM)
    return beneath


def courses_of(ends: Ends, frame: SideFrame, beneath: Mask) -> tuple[Floats, Floats]:
    """The courses of a side's ends: those that are seen make room for each other, the hidden ones go along between."""
    seen = ~beneath
    depths, places = courses(ends.along[seen], ends.slope[seen], frame.width, frame.low, frame.high)
    every = np.empty((len(ends), len(depths)))
    every[seen] = places
    if beneath.any():
        order = np.argsort(ends.along[seen], kind="stable")
        from_ = np.concatenate([[frame.low], ends.along[seen][order], [frame.high]])
        for column in range(len(depths)):
            to = np.concatenate([[frame.low], places[order, column], [frame.high]])
            every[beneath, column] = np.interp(ends.along[beneath], from_, to)
    return depths, every


def direction(line: Floats, last: bool, frame: SideFrame) -> tuple[float, float]:
    """Which way a line (n, 2) leaves at its first or last point: outwards and along the fold, as a unit vector."""
    points = line[::-1] if last else line
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    back = int(np.argmax(run >= min(DIRECTION_MM, DIRECTION_SHARE * run[-1])))
    back = back if back else int(np.argmax(run > 0))
    chord = points[[0]] - points[[back]]
    length = float(np.hypot(*chord[0]))
    if not length:
        return 0.0, 0.0
    return float(frame.outward * chord[0, frame.axis]) / length, float(frame.along(chord)[0]) / length


def each_once(ends_by_side: list[Ends]) -> list[Ends]:
    """Ends at a corner of the face lie on two sides: each goes on over the one that it meets less flatly."""
    nearest_side: dict[tuple[int, int], tuple[float, int]] = {}
    for side, ends in enumerate(ends_by_side):
        for part, last, slope in zip(ends.part.tolist(), ends.last.tolist(), np.abs(ends.slope).tolist(), strict=True):
            nearest_side[part, last] = min(nearest_side.get((part, last), (np.inf, side)), (slope, side))
    chosen = []
    for side, ends in enumerate(ends_by_side):
        of_this_side = np.array(
            [nearest_side[key][1] == side for key in zip(ends.part.tolist(), ends.last.tolist(), strict=True)], bool
        )
        chosen.append(
            Ends(ends.part[of_this_side], ends.last[of_this_side], ends.along[of_this_side], ends.slope[of_this_side])
        )
    return chosen


def thinned(path: Floats) -> Floats:
    """A course (n, 2) without the points that it does not need."""
    return np.asarray(shapely.get_coordinates(shapely.simplify(shapely.linestrings(path), SMOOTH_MM)))


def with_paths(drawing: Drawing, ends: Ends, paths: list[Floats]) -> Drawing:
    """A drawing whose lines go on, each at its end, along its path (which begins on the fold)."""
    if not len(ends):
        return drawing
    index, values, grown = [], [], np.zeros(len(drawing.parts) - 1, dtype=np.int64)
    order = np.lexsort((1 - ends.last, ends.part + ends.last))  # a part's end comes before the next one's beginning
    for row in order:
        part, last, path = int(ends.part[row]), int(ends.last[row]), np.round(paths[row], 4)
        own = drawing.coords[drawing.parts[part + last] - last]
        path = path[1:] if (path[0] == own).all() else path
        index.append(np.full(len(path), drawing.parts[part + last]))
        values.append(path if last else path[::-1])
        grown[part] += len(path)
    coords = np.insert(drawing.coords, np.concatenate(index), np.concatenate(values), axis=0)
    return drawing.replace(coords=coords, parts=offsets(np.diff(drawing.parts) + grown))


def with_fills(drawing: Drawing, frame: SideFrame, ways: "Courses") -> Drawing:
    """A drawing whose cut fills go on over a side, between the courses of their own outlines."""
    added: dict[int, list[Floats]] = {}
    for row in np.flatnonzero(drawing.marker == NO_MARKER).tolist():
        own = [drawing.part_coords(part) for part in range(drawing.shapes[row], drawing.shapes[row + 1])]
        stretches = filled_stretches(own, bool(drawing.evenodd[row]), frame)
        if stretches:
            added[row] = [ways.ring(row, stretch, frame) for stretch in stretches]
    return with_rings(drawing, added)


def with_rings(drawing: Drawing, added: dict[int, list[Floats]]) -> Drawing:
    """A drawing whose shapes have more parts: those of each row named, after its own."""
    if not added:
        return drawing
    index, values, counts = [], [], np.diff(drawing.shapes)
    part_counts, part_index = [], []
    for row, rings in sorted(added.items()):
        end = drawing.shapes[row + 1]
        index += [np.full(len(ring), drawing.parts[end]) for ring in rings]
        values += rings
        part_index += [end] * len(rings)
        part_counts += [len(ring) for ring in rings]
        counts[row] += len(rings)
    return drawing.replace(
        coords=np.insert(drawing.coords, np.concatenate(index), np.concatenate(values), axis=0),
        parts=offsets(np.insert(np.diff(drawing.parts), part_index, part_counts)),
        shapes=offsets(counts),
    )


@dataclass(frozen=True, eq=False)
class Courses:
    """The courses over one side: shape (k,) that each belongs to, start along the fold, depths (m,), places (k, m)."""

    shape: Ints
    along: Floats
    depths: Floats
    places: Floats

    def ring(self, row: int, stretch: tuple[float, float], frame: SideFrame) -> Floats:
        """(n, 2) the closed ring over the side between the courses that begin at a filled stretch's two ends."""
        near, far = (thinned(frame.points(self.place(row, at), self.depths)) for at in stretch)
        return np.concatenate([near, far[::-1], near[:1]])

    def place(self, row: int, at: float) -> Floats:
        """(m,) the course that begins at a place, best that of the outline right above its fill; else straight out."""
        if len(self.along):
            gap = np.abs(self.along - at)
            best = np.lexsort((np.abs(self.shape - row - 1), np.where(gap <= SAME_PLACE_MM, 0, 1)))[0]
            if gap[best] <= SAME_PLACE_MM:
                return np.asarray(self.places[best])
        return np.full(len(self.depths), at)
