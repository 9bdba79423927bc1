"""Lines that end at the edge of a broad stroke go on beneath it to its middle, for that is where it will be drawn."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.covers import Covers
from underdraw_stages.tidy.lines import GRID_MM, Lines
from underdraw_stages.tidy.small_pieces import stretches

REACH = 1.5  # breadths of a stroke that a line goes on beneath it: one, and more for a slanting crossing


def run_ons(lines: Lines, seen: Lines, bands: Covers) -> Lines:
    """Where a seen line ends at the edge of a stroke above it: the bit from there to the stroke's middle.

    Not longer than REACH breadths of the stroke. A line that dips beneath it for less than that has no gap there, and
    one that ends beneath it is carried on straight to its middle.
    """
    stretch, of = stretches(lines.geometry)
    line, band = shapely.STRtree(bands.area).query(stretch, predicate="intersects")
    above = bands.order[band] > lines.order[of[line]]
    line, band = line[above], band[above]
    beneath = shapely.intersection(stretch[line], bands.area[band])
    bits, pair = shapely.get_parts(shapely.difference(beneath, bands.middle[band]), return_index=True)
    real = (shapely.length(bits) > 0) & (shapely.get_type_id(bits) == shapely.GeometryType.LINESTRING)
    bits, band, of = bits[real], band[pair[real]], of[line[pair[real]]]
    short = shapely.length(bits) <= REACH * bands.width[band]
    bits, band, of = bits[short], band[short], of[short]

    ends = [shapely.get_point(bits, place) for place in (0, -1)]
    seen_keys, own_keys = _end_keys(seen), _end_keys(lines)
    seen_there = [np.isin(point_keys(end), seen_keys) for end in ends]
    middle_there = [shapely.distance(end, bands.middle[band]) < GRID_MM for end in ends]
    own_there = [np.isin(point_keys(end), own_keys) for end in ends]
    arriving = (seen_there[0] & middle_there[1]) | (seen_there[1] & middle_there[0])
    arriving |= seen_there[0] & seen_there[1]  # beneath a stroke's end, or in and out again at its edge
    ending = ((seen_there[0] & own_there[1]) | (seen_there[1] & own_there[0])) & ~arriving
    last = np.where(seen_there[0], ends[1], ends[0])[ending]
    bridges = shapely.shortest_line(last, bands.middle[band[ending]])
    found = np.concatenate([bits[arriving], bits[ending], bridges])
    owner = np.concatenate([of[arriving], of[ending], of[ending]])
    long_enough = shapely.length(found) > 0
    return lines.pieces(found[long_enough], owner[long_enough], whole=np.zeros(int(long_enough.sum()), dtype=np.bool_))


def _end_keys(lines: Lines) -> NDArray[np.complex128]:
    """Keys of all the ends of lines that are not rings."""
    first, last = (point_keys(shapely.get_point(lines.geometry, place)) for place in (0, -1))
    return np.concatenate([first[first != last], last[first != last]])


def point_keys(points: NDArray[Any]) -> NDArray[np.complex128]:
    """One comparable value a point, on the drawing's grid."""
    xy = np.round(shapely.get_coordinates(points) / GRID_MM)
    return xy[:, 0] + 1j * xy[:, 1]  # type: ignore[no-any-return]
