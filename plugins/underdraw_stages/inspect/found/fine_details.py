"""Details finer than the tip: strokes shorter than it is wide, bends tighter than half of it, zigzags within it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.polylines import along
from underdraw_stages.inspect.found.spot import Spot

LOOSE = 0.1  # of the ink's width: corners nearer than that to a straight line are not seen
BACK = np.radians(150.0)  # a bend that turns the line back on itself; real corners turn in one point
RING = 4.0  # widths round: a closed stroke shorter than that is one bend all round
TEETH = 3  # corners to alternate sides that make a zigzag
TOOTH = np.radians(60.0)


@dataclass(frozen=True, eq=False)
class Corners:
    """Corners of simplified lines: (c,) index of the point, its line, signed turn in radians, mm along its line."""

    coords: NDArray[np.float64]
    point: NDArray[np.int64]
    line: NDArray[np.int64]
    turn: NDArray[np.float64]
    position: NDArray[np.float64]


def fine_spots(lines: NDArray[Any], width: NDArray[np.float64]) -> list[Spot]:
    """Every detail that the ink swallows; lines: (s,) LineStrings, width: (s,) of their ink, mm."""
    corners = corners_of(lines, width)
    whole = shapely.is_closed(lines) & (shapely.length(lines) < RING * width)  # closed or open as a region is
    bends = [spot for spot in tight_bends(corners, width) if not whole[spot.strokes[0] - 1]]
    return [*short_strokes(lines, width), *bends, *zigzags(corners, width)]


def corners_of(lines: NDArray[Any], width: NDArray[np.float64]) -> Corners:
    """Where lines turn, as far as their ink shows it."""
    coords, line = shapely.get_coordinates(shapely.simplify(lines, LOOSE * width), return_index=True)
    step = np.diff(coords, axis=0)
    heading = np.arctan2(step[:, 1], step[:, 0])
    inside = np.flatnonzero((line[2:] == line[:-2]) & step[1:].any(axis=1) & step[:-1].any(axis=1)) + 1
    turn = (heading[inside] - heading[inside - 1] + np.pi) % (2 * np.pi) - np.pi
    return Corners(coords, inside, line[inside], turn, along(coords, line)[inside])


def short_strokes(lines: NDArray[Any], width: NDArray[np.float64]) -> list[Spot]:
    """Open strokes that go nowhere farther than the tip is wide; dots that were meant have no length."""
    bounds = shapely.bounds(lines)
    size, length = np.hypot(*(bounds[:, 2:] - bounds[:, :2]).T), shapely.length(lines)
    short = np.flatnonzero((length > 0) & (size < width) & ~shapely.is_closed(lines))
    return [_spot(row, lines[row], float(size[row])) for row in short.tolist()]


def tight_bends(corners: Corners, width: NDArray[np.float64]) -> list[Spot]:
    """Bends that turn a line back within half a tip: corners to one side, each within a tip of the one before."""
    w = width[corners.line]
    joined = (corners.line[1:] == corners.line[:-1]) & (np.sign(corners.turn[1:]) == np.sign(corners.turn[:-1]))
    joined &= np.diff(corners.position) < np.pi / 2 * w[1:]
    spots = []
    for first, last in _chains(joined):
        rows = slice(first, last + 1)
        turned = np.abs(corners.turn[rows]).sum()
        arc = corners.position[last] - corners.position[first]
        # a flattened arc has its ends' corners beyond the first and last point: half a turn of each is of the arc
        of_arc = turned - (np.abs(corners.turn[first]) + np.abs(corners.turn[last])) / 2
        if last > first and BACK < turned < 2 * np.pi and arc < of_arc * w[first] / 2:
            part = shapely.linestrings(corners.coords[corners.point[first] : corners.point[last] + 1])
            spots.append(_spot(int(corners.line[first]), part, float(2 * arc / of_arc)))
    return spots


def zigzags(corners: Corners, width: NDArray[np.float64]) -> list[Spot]:
    """Runs of sharp corners to alternate sides, nearer to each other than the tip is wide."""
    w = width[corners.line]
    sharp = np.abs(corners.turn) > TOOTH
    joined = (corners.line[1:] == corners.line[:-1]) & (np.sign(corners.turn[1:]) != np.sign(corners.turn[:-1]))
    joined &= (np.diff(corners.position) < w[1:]) & sharp[1:] & sharp[:-1]
    spots = []
    for first, last in _chains(joined):
        if last - first + 1 < TEETH:
            continue
        part = shapely.linestrings(corners.coords[corners.point[first] : corners.point[last] + 1])
        legs = np.diff(corners.position[first : last + 1])
        spots.append(_spot(int(corners.line[first]), part, float(legs.max())))
    return spots


def _chains(joined: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last of each run of corners that are joined to the next."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], joined.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _spot(stroke: int, part: Any, reads_at: float) -> Spot:
    x0, y0, x1, y1 = part.bounds
    length = float(part.length)
    return Spot(
        kind="fine",
        at=((x0 + x1) / 2, (y0 + y1) / 2),
        strokes=np.array([stroke + 1]),
        length=length,
        size=float(np.hypot(x1 - x0, y1 - y0)),
        pieces=np.array([[length, reads_at]]),
        outline=part,
    )
