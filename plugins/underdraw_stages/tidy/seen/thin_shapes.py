"""Thin shapes as lines: an expanded stroke goes back to its middle line, a fleck to a dot.

The middle line is the part of the Voronoi diagram of points along the shape's edge that lies inside the shape
(the medial axis: Blum 1967); the short forks that it sends into corners are cut off.
"""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.strokes.network import as_network

LONG = 3.0  # a long shape is longer than so many of its breadths
SAMPLES = 4.0  # points along the edge to one breadth
FORK = 0.8  # a side branch shorter than so many breadths is a corner's, not the shape's
SMOOTH = 0.03  # the middle line is smoothed by this share of the breadth
WOBBLE = 0.003  # points are moved by up to this share of the breadth: thousands on one straight line take minutes
CORNER = 1.2
NEAR_MM = 1e-6
TURN = np.array([[1.0, 1.0], [-1.0, 1.0]])  # an eighth to one side, its transpose to the other; grows by 1.41
MOST_POINTS = 10_000  # along one shape's edge: an expanded line of many metres


def thin_shapes(areas: NDArray[Any], centre: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(k,) which Polygons are thinner than `centre` mm everywhere and long; and which are flecks, small all round."""
    length = shapely.length(areas)
    breadth = breadths(areas)
    thin = breadth < centre
    thin[thin] = shapely.is_empty(shapely.buffer(areas[thin], -centre / 2))
    bounds = shapely.bounds(areas)
    fleck = thin & (np.hypot(*(bounds[:, 2:] - bounds[:, :2]).T) < centre * np.sqrt(2))
    return thin & ~fleck & (length / 2 > LONG * breadth), fleck


def breadths(areas: NDArray[Any]) -> NDArray[np.float64]:
    """(k,) mm across each long shape: of a strip L by b the edge is 2 (L + b), so b = P/4 - sqrt(P²/16 - A)."""
    quarter = shapely.length(areas) / 4
    return quarter - np.sqrt(np.maximum(quarter**2 - shapely.area(areas), 0.0))  # type: ignore[no-any-return]


def middle_line(area: Any) -> NDArray[Any]:
    """(m,) the middle line of one thin Polygon: one LineString, a ring, or a branching few. May be empty."""
    breadth = float(breadths(np.array([area]))[0])
    step = max(breadth / SAMPLES, area.length / MOST_POINTS)
    edge = shapely.segmentize(area, step)
    points = np.unique(shapely.get_coordinates(edge), axis=0)
    points += np.random.default_rng(0).uniform(-WOBBLE, WOBBLE, points.shape) * breadth
    inner = shapely.get_parts(shapely.voronoi_polygons(shapely.multipoints(points), only_edges=True))
    shapely.prepare(area)
    inner = inner[shapely.contains_properly(area, inner)]
    if not len(inner):
        return np.empty(0, dtype=object)
    branches = _without_forks(_joined(inner), FORK * breadth)
    branches = shapely.simplify(branches, SMOOTH * breadth)
    return np.array([_carried_on(branch, area, breadth) for branch in branches], dtype=object)


def _joined(lines: NDArray[Any]) -> NDArray[Any]:
    """Lines that meet at their ends as chains; on the drawing's grid, so that ends which differ by rounding do meet."""
    return as_network(*shapely.get_coordinates(lines, return_index=True)).chains


def _without_forks(branches: NDArray[Any], shortest: float) -> NDArray[Any]:
    """Branches less those that are short and end free, as long as something is left."""
    while len(branches) > 1:
        ends = np.stack([shapely.get_coordinates(shapely.get_point(branches, end)) for end in (0, -1)])
        _, index, count = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True, return_counts=True)
        fork = (count[index.reshape(2, -1)] == 1).any(axis=0) & (shapely.length(branches) < shortest)
        if not fork.any() or fork.all():
            break
        branches = _joined(branches[~fork])
    return branches


def _carried_on(branch: Any, area: Any, breadth: float) -> Any:
    """A middle line carried on to the shape's edge where it ends between two corners: at a flat end, not a round one.

    Seen from the middle line's end a corner lies 1.41 half breadths away, a round end 1.
    """
    coords = shapely.get_coordinates(branch)
    if (coords[0] == coords[-1]).all():
        return branch
    for _ in range(2):  # one end, then the other
        coords = coords[::-1]
        along = coords[-1] - coords[-2]
        along = along / np.hypot(*along) * breadth
        left, right = (coords[-1] + rotated / np.sqrt(2) for rotated in (along @ TURN, along @ TURN.T))
        sight = [_sight(coords[-1], to, area) for to in (left, coords[-1] + along, right)]
        reach = [float(np.hypot(*(seen - coords[-1]))) for seen in sight]
        if min(reach[0], reach[2]) > CORNER * breadth / 2:
            coords = np.concatenate([coords, sight[1][None]])
    return shapely.linestrings(coords)


def _sight(from_: NDArray[np.float64], to: NDArray[np.float64], area: Any) -> NDArray[np.float64]:
    """How far one can look from a point inside the area towards another, without leaving it."""
    seen = shapely.get_parts(shapely.intersection(shapely.linestrings([from_, to]), area))
    near = [shapely.get_coordinates(part) for part in seen if shapely.distance(part, shapely.points(from_)) < NEAR_MM]
    return near[0][-1] if near else from_
