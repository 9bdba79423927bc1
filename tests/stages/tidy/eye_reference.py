"""What should be drawn of stacked artwork, worked out another way than `tidy` does it.

Each outline less the union of all that lies above it is what must be drawn. What may be drawn besides: where such a
line stops at the edge of a broad stroke above it, the piece of the artwork's line from there to that stroke's middle.
Lines are looked at one by one and whole, in the artwork's own order, without `tidy`'s grids, stretches or networks.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.ops import polygonize, unary_union

from underdraw.drawing.drawing import NO_MARKER, Drawing

SAME_MM = 0.2  # the documented default of --same
SHORTEST_MM = 0.5  # of --shortest
DOT_MM = 0.05  # what is no larger is a dot and no line
PAGE_MM = 0.1  # a page background may be smaller than the page by this much
SLANT = 1.5  # breadths of a stroke that a line may run beneath it before it meets the middle
NEAR = 0.6  # breadths of a stroke within which a line's end may take the shortest way
LOOK_MM = 0.5  # the way a line goes is taken so far from its end
TOUCH_MM = 1e-3  # ends nearer than this are one point
ROUNDING_MM = 0.02  # curves are flattened to 0.01 mm: a line no farther from a stroke's edge may lie on either side
ROUND = 32  # corners of a quarter circle


@dataclass(frozen=True)
class Cover:
    """Something opaque: its area and how high it lies.

    Of a stroke also that area a little larger, its middle line and its breadth (mm).
    """

    area: Any
    height: float
    rounded: Any = None
    middle: Any = None
    breadth: float = 0.0


@dataclass(frozen=True)
class Outline:
    """One line of the artwork: how high it lies, its marker, and whether it is the edge of a fill."""

    line: Any
    height: float
    marker: str
    edge: bool


@dataclass(frozen=True)
class Stop:
    """Where a seen line stops at the edge of strokes above it: the place, mm to go on by, and those strokes' bands."""

    at: NDArray[np.float64]
    onward: NDArray[np.float64]
    beneath: list[Cover]


@dataclass(eq=False)
class Wanted:
    """LineStrings of one marker: what must be drawn, what shows, and meetings beneath strokes; the stops of its lines.

    sure: less than shows, by what rounding may hide, and without bits cut so short that they are no line. chains: what
    shows and the meetings, end to end. straight: from a stop to a line near it.
    """

    sure: list[Any] = field(default_factory=list)
    shows: list[Any] = field(default_factory=list)
    meetings: list[Any] = field(default_factory=list)
    chains: list[Any] = field(default_factory=list)
    straight: list[Any] = field(default_factory=list)
    stops: list[Stop] = field(default_factory=list)

    @property
    def allowed(self) -> list[Any]:
        """All that may be drawn."""
        return [*self.shows, *self.meetings, *self.straight]


def wanted_lines(drawing: Drawing, same: float = SAME_MM, shortest: float = SHORTEST_MM) -> dict[str, Wanted]:
    """What each marker is to draw of a drawing that is not tidied yet."""
    outlines, *covers = taken_apart(drawing, same)
    fills, bands, edge_bands = (Stack(each) for each in covers)
    wanted: dict[str, Wanted] = {}
    middles: list[Any] = []
    for outline in outlines:
        here = wanted.setdefault(outline.marker, Wanted())
        open_to_fills = parts_of(less(outline.line, fills.over(outline)))
        over = (edge_bands if outline.edge else bands).over(outline)
        shows = parts_of(less(shapely.MultiLineString(open_to_fills), over))
        meetings = list(meetings_of(open_to_fills, shows, over))
        chains = end_to_end([*shows, *meetings])
        for chain in chains:
            if chain.length >= shortest or chain.length > outline.line.length - TOUCH_MM:
                sure = [piece for piece in shows if piece.distance(chain) < TOUCH_MM]
                here.sure += parts_of(less(shapely.MultiLineString(sure), over, rounded=True))
        here.shows += shows
        here.meetings += meetings
        here.chains += chains
        here.stops += stops_of(shows, over)
        middles += [] if outline.edge else shows
    ways = [*middles, *(line for each in wanted.values() for line in each.meetings)]
    tree = shapely.STRtree(ways)
    for each in wanted.values():
        each.straight += [line for stop in each.stops for line in straight_on(stop, ways, tree)]
    return wanted


def stops_of(shows: list[Any], over: list[Cover]) -> Iterator[Stop]:
    """The ends of seen lines at strokes' edges."""
    for piece in shows:
        for points in (shapely.get_coordinates(piece), shapely.get_coordinates(piece)[::-1]):
            end = shapely.Point(points[0])
            beneath = [cover for cover in over if cover.area.distance(end) < TOUCH_MM]
            if beneath:
                back = shapely.get_coordinates(shapely.linestrings(points).interpolate(LOOK_MM))[0]
                yield Stop(points[0], points[0] - back, beneath)


def straight_on(stop: Stop, ways: list[Any], tree: shapely.STRtree) -> Iterator[Any]:
    """From a stop, hidden all the way: as the line went to a middle there, and the shortest way to one near."""
    end = shapely.Point(stop.at)
    breadth = max(cover.breadth for cover in stop.beneath)
    onward = stop.onward / max(np.hypot(*stop.onward), TOUCH_MM) * SLANT * breadth
    ray = shapely.linestrings([stop.at, stop.at + onward])
    near = np.array([ways[each] for each in tree.query(end, predicate="dwithin", distance=SLANT * breadth)])
    near = near[shapely.distance(near, end) > TOUCH_MM] if len(near) else near
    if not len(near):
        return
    hits = shapely.intersection(near, ray)
    bits = shapely.shortest_line(end, near[shapely.distance(near, end) < NEAR * breadth])
    bits = np.append(bits, shapely.shortest_line(end, hits[~shapely.is_empty(hits)]))
    hidden = unary_union([cover.rounded for cover in stop.beneath])
    yield from bits[shapely.covers(hidden, bits)]


def end_to_end(lines: list[Any]) -> list[Any]:
    """Lines that meet end to end as one."""
    return parts_of(shapely.transform(shapely.MultiLineString(lines), lambda points: np.round(points, 4)))


def meetings_of(above_fills: list[Any], shows: list[Any], over: list[Cover]) -> Iterator[Any]:
    """The pieces from a seen line's end at the edge of a stroke above it to that stroke's middle.

    The line runs beneath the stroke across its middle, or out again, or ends there: then straight on to the middle.
    """
    seen_ends = shapely.MultiPoint([end for piece in shows for end in ends_of(piece)])
    own_ends = shapely.MultiPoint([end for piece in above_fills for end in ends_of(piece)])
    middles = shapely.GeometryCollection([cover.middle for cover in over])
    for piece in above_fills:
        for dip in parts_of(piece.difference(shapely.MultiLineString(shows))):  # beneath several that end there
            at_edge = [end.distance(seen_ends) < TOUCH_MM for end in ends_of(dip)]
            short = dip.length <= SLANT * max((cover.breadth for cover in over), default=0.0)
            if all(at_edge) and short and not dip.intersects(middles):
                yield dip
    for cover in over:
        for piece in above_fills:
            beneath = shapely.MultiLineString(parts_of(piece.intersection(cover.area)))
            for bit in shapely.get_parts(beneath.difference(cover.middle)):
                if bit.length == 0:
                    continue
                ends = ends_of(bit)
                at_edge = [end.distance(seen_ends) < TOUCH_MM for end in ends]
                if not any(at_edge) or bit.length > SLANT * cover.breadth:
                    continue
                far = ends[at_edge.index(True) - 1]
                if all(at_edge) or far.distance(cover.middle) < TOUCH_MM:
                    yield bit
                elif far.distance(own_ends) < TOUCH_MM:
                    yield bit
                    yield shapely.shortest_line(far, cover.middle)


def ends_of(line: Any) -> tuple[Any, Any]:
    """A line's two ends."""
    return shapely.get_point(line, 0), shapely.get_point(line, -1)


def parts_of(geometry: Any) -> list[Any]:
    """The LineStrings in a geometry; those that meet end to end as one."""
    lines = [part for part in shapely.get_parts(geometry) if part.geom_type == "LineString" and part.length > 0]
    return list(shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines)))) if len(lines) > 1 else lines


def less(line: Any, covers: list[Cover], rounded: bool = False) -> Any:
    """A line minus the union of what lies above it, if so `rounded`."""
    areas = [cover.rounded if rounded else cover.area for cover in covers]
    return line.difference(unary_union(areas)) if covers else line


class Stack:
    """Covers, to be asked for those that lie above an outline and touch it."""

    def __init__(self, covers: list[Cover]) -> None:
        self.covers = covers
        self.tree = shapely.STRtree([cover.area for cover in covers])

    def over(self, outline: Outline) -> list[Cover]:
        """Those that do, the lowest first."""
        touching = sorted(self.tree.query(outline.line, predicate="intersects").tolist())
        return [cover for cover in (self.covers[each] for each in touching) if cover.height > outline.height]


def taken_apart(drawing: Drawing, same: float) -> tuple[list[Outline], list[Cover], list[Cover], list[Cover]]:
    """A drawing's outlines, its opaque fills, the bands of its opaque strokes, and those bands `same` mm broader."""
    outlines: list[Outline] = []
    covers: tuple[list[Cover], list[Cover], list[Cover]] = ([], [], [])
    page = shapely.box(0, 0, *drawing.sheet).buffer(-PAGE_MM)
    folds = [(fold.axis, fold.at_mm) for fold in drawing.mirror_folds]
    for row in range(len(drawing)):
        parts = [drawing.part_coords(part) for part in range(drawing.shapes[row], drawing.shapes[row + 1])]
        marker = drawing.marker[row] or drawing.job.marker_for(drawing.stroke[row] or drawing.fill[row]).name
        width, shown = drawing.stroke_width[row], drawing.stroke_opacity[row]
        stroked = bool(drawing.stroke[row]) and width > 0 and shown > 0
        if drawing.fill[row] and drawing.fill_opacity[row] > 0:
            area = painted_area(parts, bool(drawing.evenodd[row]))
            own = shapely.MultiLineString([part for part in parts if len(part) > 1]).buffer(TOUCH_MM)
            for island in shapely.get_parts(area):
                if drawing.marker[row] != NO_MARKER and not (island.covers(page) and not stroked):
                    lines = parts_of(island.boundary.difference(own)) if stroked else shapely.get_rings(island)
                    outlines += [Outline(shapely.linestrings(line.coords), row, marker, True) for line in lines]
                if drawing.fill_opacity[row] >= 1:
                    covers[0].append(Cover(island, row))
        if stroked and is_edge_of_cut_fill(drawing, row):
            outlines += [Outline(shapely.linestrings(part), row, marker, True) for part in parts if len(part) > 1]
        elif stroked:
            lines = [shapely.linestrings(part) for part in parts if is_line(part)]
            outlines += [Outline(line, row + 0.5, marker, False) for line in lines]
            for kept, more in ((covers[1], 0.0), (covers[2], 2 * same)):
                if shown >= 1 and width > same:
                    kept += bands_of(drawing, row, width + more, folds)
    return outlines, *covers


def is_edge_of_cut_fill(drawing: Drawing, row: int) -> bool:
    """Whether a stroke is what is left of a cut fill's edge: a hairline in that fill's colour."""
    alike = (drawing.element == drawing.element[row]) & (drawing.layer == drawing.layer[row])
    cut = alike & (drawing.marker == NO_MARKER) & (drawing.fill == drawing.stroke[row])
    return bool(cut.any() and drawing.stroke_width[row] == min(each.tip for each in drawing.job.markers))


def bands_of(drawing: Drawing, row: int, width: float, folds: list[Any]) -> list[Cover]:
    """What the parts of a stroke cover if it is so broad (mm)."""
    cap, join = drawing.cap[row].replace("butt", "flat"), drawing.join[row].replace("miter", "mitre")
    found = []
    for part in range(drawing.shapes[row], drawing.shapes[row + 1]):
        middle = shapely.linestrings(drawing.part_coords(part))
        if is_line(drawing.part_coords(part)):
            band, rounded = (
                on_its_side(
                    middle,
                    middle.buffer(breadth / 2, quad_segs=ROUND, cap_style=cap, join_style=join, mitre_limit=4.0),
                    folds,
                )
                for breadth in (width, width + 2 * ROUNDING_MM)
            )
            found.append(Cover(band, row + 0.5, rounded, middle, width))
    return found


def is_line(points: NDArray[np.float64]) -> bool:
    """Whether points make a line and no dot."""
    return len(points) > 1 and bool(np.hypot(*np.ptp(points, axis=0)) > DOT_MM)


def on_its_side(middle: Any, band: Any, folds: list[Any]) -> Any:
    """A band cut at each fold that mirrors what the stroke lies on one side of: its reflection meets it there."""
    for axis, at in folds:
        side = list(band.bounds)
        low, high = "xy".index(axis), "xy".index(axis) + 2
        if not side[low] < at < side[high]:
            continue
        if middle.bounds[high] <= at + TOUCH_MM:
            side[high] = at
        elif middle.bounds[low] >= at - TOUCH_MM:
            side[low] = at
        band = band.intersection(shapely.box(*side))
    return band


def painted_area(parts: list[NDArray[np.float64]], evenodd: bool) -> Any:
    """What rings fill: the faces between them that they go round (SVG 1.1, 11.3), by the angles seen from each."""
    rings = [np.concatenate([part, part[:1]]) for part in parts if len(part) >= 3]
    faces = list(polygonize(unary_union([shapely.linestrings(ring) for ring in rings])))
    inside = []
    for face in faces:
        at = shapely.get_coordinates(face.representative_point())
        turns = 0
        for ring in rings:
            angle = np.unwrap(np.arctan2(*(ring - at).T))
            turns += round(float(angle[-1] - angle[0]) / (2 * np.pi))
        if turns % 2 if evenodd else turns:
            inside.append(face)
    return unary_union(inside)
