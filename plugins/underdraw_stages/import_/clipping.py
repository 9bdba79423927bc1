"""Cuts shapes along clipping paths and viewports. Source: SVG 1.1 (2nd ed.), section 14.3.

A fill that is cut shows its cut edge, so it comes back as the region that is left; a stroke comes back as open lines.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.affine import IDENTITY, Matrix, compose, inverse, transformed
from underdraw.drawing.regions import TooManyCrossings, fill_region
from underdraw.errors import CannotDo
from underdraw_stages.import_.file import limits
from underdraw_stages.import_.file.limits import Budget
from underdraw_stages.import_.file.transforms import read_transform
from underdraw_stages.import_.file.user_units import View
from underdraw_stages.import_.shapes.flattened_shapes import TOLERANCE_MM, flatten_shapes
from underdraw_stages.import_.shapes.found_shape import FoundShape
from underdraw_stages.import_.shapes.inherited_state import Clip, InheritedState
from underdraw_stages.import_.tree.walk import Walker

STEPS_A_POINT = 50  # of a piece that is cut out, about as long as to look at so many points
LARGER = 1.001  # a region that is known may be enlarged by this: a thousandth of the tolerance of its curves
Parts = list[NDArray[np.float64]]


class Clipper:
    """Regions that clips leave, worked out once each; their curves within `tolerance` mm."""

    def __init__(self, walker: Walker, tolerance: float = TOLERANCE_MM) -> None:
        self.tolerance = tolerance
        self.budget = walker.document.budget
        self._walker = walker
        self._known: dict[object, list[tuple[Matrix, shapely.Geometry | None]]] = {}
        self._joined: dict[tuple[int, ...], shapely.Geometry | None] = {}
        self._inside: list[object] = []  # clipPath elements being worked out, against loops

    def region(self, clips: Sequence[Clip]) -> shapely.Geometry | None:
        """What all these clips leave, in mm; None where they cut nothing off."""
        key = tuple(map(id, clips))  # items hold their clips, so ids stay theirs
        if key not in self._joined:
            regions = [region for clip in clips if (region := self._one(clip)) is not None]
            joined: shapely.Geometry | None = None
            for region in regions:
                joined = region if joined is None else _areal(joined.intersection(region))
            if joined is not None:
                shapely.prepare(joined)
            self._joined[key] = joined
        return self._joined[key]

    def _one(self, clip: Clip) -> shapely.Geometry | None:
        """What one clip leaves. A region known already is only moved, where that keeps it as exact."""
        if clip.box is not None:
            return _box(clip)
        known = self._known.setdefault((clip.element, clip.bounds), [])
        for matrix, region in known:
            back = inverse(matrix)
            if back is not None and _keeps_size(move := compose(clip.matrix, back)):
                return region if region is None or clip.matrix == matrix else _moved(region, move)
        self.budget.clip()
        region = self._path(clip)
        known.append((clip.matrix, region))
        return region

    def _path(self, clip: Clip) -> shapely.Geometry | None:
        element, walker = clip.element, self._walker
        if element is None:
            return None
        if element in self._inside or len(self._inside) >= limits.LONGEST_REFERENCE_CHAIN:
            walker.left_out.add("loop", f"clipPath {element.get('id', '')}")
            return None
        matrix = clip.matrix
        declared = walker.document.cascade.declared(element)
        matrix = compose(matrix, read_transform(declared.get("transform", "")) or IDENTITY)
        view = walker.document.page.view
        if element.get("clipPathUnits") == "objectBoundingBox":
            if clip.bounds is None:
                return shapely.Polygon()
            x0, y0, x1, y1 = clip.bounds
            matrix = compose(matrix, (x1 - x0, 0.0, 0.0, y1 - y0, x0, y0))
            view = View(1.0, 1.0)
        self._inside.append(element)
        try:
            return self._content(
                clip, walker, InheritedState(matrix, walker.document.style_of(element), view, declared)
            )
        finally:
            self._inside.pop()

    def _content(self, clip: Clip, walker: Walker, state: InheritedState) -> shapely.Geometry:
        """The union of what a clipPath holds, itself cut by its own `clip-path`."""
        finder = walker.other("clip")
        element = clip.element
        assert element is not None
        children = [child for child in element if isinstance(child.tag, str) and child.tag.rpartition("}")[2] != "g"]
        found = (item for child in children for item in finder.collect(child, state))
        items, flat = flatten_shapes(found, walker.document.file, self.tolerance)
        regions = [self.cut_area(item, flat.parts_of(at)) for at, item in enumerate(items)]
        union = shapely.union_all(regions) if regions else shapely.Polygon()
        outer = walker.document.target(state.declared.get("clip-path", ""), "clipPath")
        if outer is not None:
            limit = self._one(Clip(clip.matrix, element=outer, bounds=clip.bounds))
            union = union if limit is None else _areal(union.intersection(limit))
        return union

    def cut_area(self, item: FoundShape, parts: Parts) -> shapely.Geometry:
        """The region of a fill that its clips leave."""
        try:
            whole = fill_region(parts, item.evenodd, limits.MOST_CROSSINGS)
        except TooManyCrossings:
            text = (
                f"an outline that cuts or is cut crosses itself more than {limits.MOST_CROSSINGS:,} times; simplify it"
            )
            raise CannotDo(text, file=self.budget.file) from None
        region = self.region(item.clips)
        if region is None:
            return whole
        self.budget.cut(shapely.get_num_coordinates(region) + shapely.get_num_coordinates(whole))
        return _areal(whole.intersection(region))

    def cut_lines(self, item: FoundShape, parts: Parts) -> Parts:
        """The pieces of lines that the clips leave; a line that runs over its own start stays one piece."""
        region = self.region(item.clips)
        if region is None:
            return parts
        pieces: Parts = []
        for part in parts:
            if len(part) < 2 or (part == part[0]).all():
                pieces += [part] if shapely.covers(region, shapely.Point(part[0])) else []
                continue
            pieces += _cut_line(part, region, self.budget)
        return pieces


def _cut_line(part: NDArray[np.float64], region: shapely.Geometry, budget: Budget) -> Parts:
    """The pieces of one polyline inside a region, in its own direction, kept apart where it crosses itself."""
    segments = shapely.linestrings(np.stack([part[:-1], part[1:]], axis=1))
    inside = shapely.covers(region, segments)
    if inside.all():
        return [part]
    budget.cut(int((~inside).sum()) * shapely.get_num_coordinates(region))
    left = segments.copy()
    left[~inside] = shapely.intersection(segments[~inside], region)
    budget.cut(STEPS_A_POINT * int(shapely.get_num_coordinates(left).sum()))
    pieces: Parts = []
    for at, geometry in enumerate(left):
        lines = [shapely.get_coordinates(line) for line in _of_type(geometry, "LineString")]
        direction = part[at + 1] - part[at]
        lines = [line if (line[-1] - line[0]) @ direction >= 0 else line[::-1] for line in lines if len(line) > 1]
        for line in sorted(lines, key=lambda line: float((line[0] - part[at]) @ direction)):
            if pieces and (pieces[-1][-1] == line[0]).all():
                pieces[-1] = np.concatenate([pieces[-1], line[1:]])
            else:
                pieces.append(line)
    if len(pieces) > 1 and (part[0] == part[-1]).all() and (pieces[-1][-1] == pieces[0][0]).all():
        pieces = [np.concatenate([pieces[-1], pieces[0][1:]]), *pieces[1:-1]]
    return pieces


def rings(region: shapely.Geometry) -> Parts:
    """The outlines of a region: shells and holes, closed."""
    shells_and_holes = ((polygon.exterior, *polygon.interiors) for polygon in _of_type(region, "Polygon"))
    return [shapely.get_coordinates(ring) for several in shells_and_holes for ring in several]


def _of_type(geometry: shapely.Geometry, name: str) -> list[shapely.Geometry]:
    return [part for part in shapely.get_parts(geometry) if part.geom_type == name and not part.is_empty]


def _keeps_size(matrix: Matrix) -> bool:
    """Whether a matrix turns, mirrors, shifts or shrinks, so that chords stay within their tolerance."""
    return float(np.linalg.norm([[matrix[0], matrix[2]], [matrix[1], matrix[3]]], 2)) < LARGER


def _moved(region: shapely.Geometry, move: Matrix) -> shapely.Geometry:
    return shapely.transform(region, lambda points: transformed(points, move))


def _box(clip: Clip) -> shapely.Geometry:
    assert clip.box is not None
    x0, y0, x1, y1 = clip.box
    return shapely.Polygon(transformed(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), clip.matrix))


def _areal(geometry: shapely.Geometry) -> shapely.Geometry:
    """The parts of a geometry that have an area."""
    if geometry.geom_type in ("Polygon", "MultiPolygon"):
        return geometry
    return shapely.union_all([part for part in shapely.get_parts(geometry) if part.geom_type.endswith("Polygon")])
