"""Lines that end at the edge of a broad stroke go on beneath it to a line that will be drawn, most often its middle.

A line goes on the way it ran, as far as that is hidden. Where this does not bring it to a line (it runs on beside the
stroke's middle, or the middle is hidden there itself, by a third stroke), it is carried straight on to the first line
in its way, or else to the stroke's nearest.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.seen.hidden_lines import without_hidden
from underdraw_stages.tidy.seen.hiding_areas import HidingAreas
from underdraw_stages.tidy.seen.small_pieces import stretches
from underdraw_stages.tidy.strokes.polylines import GRID_MM, Lines, point_keys

REACH = 1.5  # breadths of a stroke that a line goes on beneath it: one, and more for a slanting crossing
SLANT = 1 / (2 * REACH)  # sine: a line that leaves a stroke's edge less steeply runs along it, and joins nothing
ON_IT_MM = 0.001  # ten quanta: an end that lies on a line or an edge
HALF = 0.55  # breadths of a stroke from its edge to its middle, and a little more
SHOWN_MM = 0.01  # of a bit that is to be hidden, so much may show at its ends
LOOK_MM = 0.5  # the way a line runs is taken so far from its end


@dataclass(frozen=True, eq=False)
class _Bits:
    """Bits beneath strokes: (k,) LineStrings, the line of each, where it begins to be hidden, where it must land."""

    geometry: NDArray[Any]
    line: NDArray[np.int64]
    start: NDArray[Any]
    landing: NDArray[Any]

    def select(self, rows: NDArray[Any]) -> "_Bits":
        return _Bits(self.geometry[rows], self.line[rows], self.start[rows], self.landing[rows])


def extensions_beneath(lines: Lines, seen: Lines, bands: HidingAreas, drawn: Lines) -> Lines:
    """Where a seen line ends at the edge of a stroke above it: the bit from there to a line that will be drawn.

    lines: what `seen` is left of. drawn: seen lines, those of the strokes among them. A bit is not longer than REACH
    breadths of the stroke. A line that dips beneath a stroke for less than that has no gap there.
    """
    drawn = drawn.select(np.isin(drawn.order, bands.order))
    bits = _hidden_bits(lines, seen, bands)
    for _ in range(2):  # a bit may end on another one
        bits = bits.select(_lands(bits, seen, np.concatenate([drawn.geometry, bits.geometry])))
    extensions = lines.pieces(bits.geometry, bits.line, whole=np.zeros(len(bits.line), dtype=np.bool_))
    ways = np.concatenate([drawn.geometry, bits.geometry])
    return extensions.together(_straight_on(seen, bands, ways, np.concatenate([bits.start, bits.landing])))


def _hidden_bits(lines: Lines, seen: Lines, bands: HidingAreas) -> _Bits:
    """What is hidden of lines by one stroke, from a seen end to the stroke's middle or to the line's own end.

    One that ends beneath the stroke is carried on to its middle from there.
    """
    stretch, line_of_stretch = stretches(lines.geometry)
    line, band = shapely.STRtree(bands.area).query(stretch, predicate="intersects")
    above = bands.order[band] > lines.order[line_of_stretch[line]]
    line, band = line[above], band[above]
    beneath = shapely.intersection(stretch[line], bands.area[band])
    bits, pair = shapely.get_parts(shapely.difference(beneath, bands.middle[band]), return_index=True)
    real = (shapely.length(bits) > 0) & (shapely.get_type_id(bits) == shapely.GeometryType.LINESTRING)
    bits, band, line_of_bit = bits[real], band[pair[real]], line_of_stretch[line[pair[real]]]
    short = shapely.length(bits) <= REACH * bands.width[band]
    bits, band, line_of_bit = bits[short], band[short], line_of_bit[short]

    seen_keys, own_keys = _end_keys(seen), _end_keys(lines)
    backwards = ~np.isin(point_keys(shapely.get_point(bits, 0)), seen_keys)
    bits = np.where(backwards, shapely.reverse(bits), bits)
    first, last = shapely.get_point(bits, 0), shapely.get_point(bits, -1)
    begins = np.isin(point_keys(first), seen_keys)
    arrives = shapely.distance(last, bands.middle[band]) < GRID_MM
    arrives |= np.isin(point_keys(last), seen_keys)  # beneath a stroke's end, or in and out again at its edge
    ends = begins & ~arrives & np.isin(point_keys(last), own_keys)
    bridge = shapely.shortest_line(last[ends], bands.middle[band[ends]])
    bits[ends] = _joined(bits[ends], bridge)
    good = begins & (arrives | ends) & (shapely.length(bits) > 0)
    return _Bits(bits[good], line_of_bit[good], first[good], shapely.get_point(bits[good], -1))


def _joined(first: NDArray[Any], then: NDArray[Any]) -> NDArray[Any]:
    """(n,) lines, each the one and then the other."""
    coords, line_index = shapely.get_coordinates(np.concatenate([first, then]), return_index=True)
    sequence = np.argsort(line_index % max(len(first), 1), kind="stable")
    return shapely.linestrings(coords[sequence], indices=(line_index % max(len(first), 1))[sequence])  # type: ignore[no-any-return]


def _lands(bits: _Bits, seen: Lines, ways: NDArray[Any]) -> NDArray[np.bool_]:
    """(k,) which bits end on a line that will be drawn, where another line is seen, or on another bit."""
    own = len(ways) - len(bits.line)  # the bits come last among the ways
    bit, way = shapely.STRtree(ways).query(bits.landing, predicate="dwithin", distance=ON_IT_MM)
    lands = np.isin(point_keys(bits.landing), _end_keys(seen))
    lands[bit[way != own + bit]] = True
    return lands


@dataclass(frozen=True, eq=False)
class _Tips:
    """Seen ends at strokes' edges: (k,) Points, the line of each, (k, 2) the way it runs, mm of the broadest stroke."""

    at: NDArray[Any]
    line: NDArray[np.int64]
    way: NDArray[np.float64]
    width: NDArray[np.float64]

    def select(self, rows: NDArray[Any]) -> "_Tips":
        return _Tips(self.at[rows], self.line[rows], self.way[rows], self.width[rows])


def _straight_on(seen: Lines, bands: HidingAreas, ways: NDArray[Any], done: NDArray[Any]) -> Lines:
    """Bits from seen ends at a stroke's edge that no other bit takes on: straight, or else to the nearest line."""
    tips = _open_tips(seen, bands, done)
    tips = tips.select(~_met(tips, ways))
    hidden_bits, line_of_bit = [np.empty(0, dtype=object)], [np.empty(0, dtype=np.int64)]
    for bits_of in (_in_the_way, _nearest):
        bits, tip = bits_of(tips, ways)
        hidden = ~_shown(bits, seen.order[tips.line[tip]], bands)
        hidden_bits.append(bits[hidden])
        line_of_bit.append(tips.line[tip[hidden]])
        tips = tips.select(~np.isin(np.arange(len(tips.line)), tip[hidden]))
    line = np.concatenate(line_of_bit)
    return seen.pieces(np.concatenate(hidden_bits), line, whole=np.zeros(len(line), dtype=np.bool_))


def _open_tips(seen: Lines, bands: HidingAreas, done: NDArray[Any]) -> _Tips:
    """The ends of seen lines that lie at the edge of a stroke above them, but for those `done` with."""
    length = shapely.length(seen.geometry)
    tips, inner = [], []
    for end, look in ((0, np.minimum(LOOK_MM, length)), (-1, length - np.minimum(LOOK_MM, length))):
        tips.append(shapely.get_point(seen.geometry, end))
        inner.append(shapely.line_interpolate_point(seen.geometry, look))
    is_open = np.tile(~shapely.is_closed(seen.geometry), 2)
    is_open &= ~np.isin(point_keys(np.concatenate(tips)), point_keys(done))
    at, line = np.concatenate(tips)[is_open], np.tile(np.arange(len(seen)), 2)[is_open]
    tip, band = shapely.STRtree(bands.area).query(at, predicate="dwithin", distance=ON_IT_MM)
    above = bands.order[band] > seen.order[line[tip]]
    width = np.zeros(len(at))
    np.maximum.at(width, tip[above], bands.width[band[above]])
    step = shapely.get_coordinates(at) - shapely.get_coordinates(np.concatenate(inner)[is_open])
    way = step / np.maximum(np.hypot(*step.T), GRID_MM)[:, None]
    return _Tips(at, line, way, width).select(width > 0)


def _met(tips: _Tips, ways: NDArray[Any]) -> NDArray[np.bool_]:
    """(k,) which tips lie on a line that goes on there."""
    met = np.zeros(len(tips.line), dtype=np.bool_)
    tip, way = shapely.STRtree(ways).query(tips.at, predicate="dwithin", distance=ON_IT_MM)
    met[tip[~_is_end(tips.at[tip], ways[way])]] = True
    return met


def _is_end(points: NDArray[Any], ways: NDArray[Any]) -> NDArray[np.bool_]:
    """(k,) whether a point is an end of a line that is no ring."""
    near = [shapely.distance(points, shapely.get_point(ways, end)) < 2 * ON_IT_MM for end in (0, -1)]
    return (near[0] | near[1]) & ~shapely.is_closed(ways)  # type: ignore[no-any-return]


def _in_the_way(tips: _Tips, ways: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Bits straight on to the first line in the way, and the tip of each."""
    at = shapely.get_coordinates(tips.at)
    far = at + tips.way * (REACH * tips.width)[:, None]
    rays = shapely.linestrings(np.stack([at, far], axis=1)) if len(at) else tips.at
    tip, way = shapely.STRtree(ways).query(rays, predicate="intersects")
    bits = shapely.shortest_line(tips.at[tip], shapely.intersection(rays[tip], ways[way]))
    return _shortest_each(bits, tip, shapely.length(bits) > ON_IT_MM)


def _nearest(tips: _Tips, ways: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Bits to the nearest line, where the tip does not run along the stroke's edge, or the line ends; their tips."""
    tip, way = shapely.STRtree(ways).query(tips.at, predicate="dwithin", distance=HALF * tips.width)
    bits = shapely.shortest_line(tips.at[tip], ways[way])
    ends = shapely.get_coordinates(bits).reshape(-1, 2, 2)
    step, length = ends[:, 1] - ends[:, 0], shapely.length(bits)
    steep = (step * tips.way[tip]).sum(axis=1) > SLANT * length
    steep |= _is_end(shapely.get_point(bits, -1), ways[way])
    return _shortest_each(bits, tip, steep & (length > ON_IT_MM))


def _shortest_each(
    bits: NDArray[Any], tip: NDArray[np.int64], good: NDArray[np.bool_]
) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Of the good bits the shortest of each tip, and the tips that have one."""
    bits, tip = bits[good], tip[good]
    sequence = np.lexsort((shapely.length(bits), tip))
    first = sequence[np.unique(tip[sequence], return_index=True)[1]]
    return bits[first], tip[first]


def _shown(bits: NDArray[Any], order: NDArray[np.int64], bands: HidingAreas) -> NDArray[np.bool_]:
    """(k,) which bits show outside the strokes above them."""
    row = np.arange(len(bits))
    left = without_hidden(Lines(bits, row, row, order, np.ones(len(bits), dtype=np.bool_)), bands)
    return np.bincount(left.row, shapely.length(left.geometry), minlength=len(bits)) > SHOWN_MM


def _end_keys(lines: Lines) -> NDArray[np.complex128]:
    """Keys of all the ends of lines that are not rings."""
    first, last = (point_keys(shapely.get_point(lines.geometry, end)) for end in (0, -1))
    return np.concatenate([first[first != last], last[first != last]])
