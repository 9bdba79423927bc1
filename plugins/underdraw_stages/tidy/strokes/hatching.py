"""Families of parallel, evenly spaced strokes that shade an area: found, reported, and left out if that is wished.

A stroke counts by its straight runs, so that a zigzag drawn in one go is found as well. Two runs are neighbours if
they are about parallel, lie side by side for most of the shorter one, and are near each other for their length.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.polylines import as_lines, cut_at
from underdraw_stages.tidy.strokes.polylines import GRID_MM, Lines

PARALLEL = np.deg2rad(5.0)  # how far two neighbours may turn from each other
CORNER = np.deg2rad(50.0)  # a sharper corner ends a straight run
STRAIGHT = 0.97  # chord over length of a run that counts as straight
WIDEST_MM = 6.0  # spacing beyond which parallel lines are a fence, not a shade
SLENDER = 3.0  # a run is longer than so many spacings
ASIDE = 0.6  # share of the shorter run that lies beside its neighbour
EVEN = 0.4  # spacings may differ from their family's median by this share
FEWEST = 6  # runs in a family
MOSTLY = 0.7  # a stroke with this share of its length in families goes whole, turns and all


@dataclass(frozen=True, eq=False)
class Family:
    """One hatched place: its box, how many runs, their spacing and length (mm), and the row of one of its shapes."""

    box: tuple[float, float, float, float]
    runs: int
    spacing: float
    length: float
    row: int


def find_hatching(lines: Lines, same: float) -> tuple[list[Family], Lines]:
    """Look for families among strokes' middles (edges of fills shade nothing).

    Runs within `same` mm of a longer one are its doubles, and are of its family if it has one. Returns the families,
    and the lines without those that belong to one with most of their length.
    """
    strokes = np.flatnonzero(~lines.of_fill)
    coords, line_index = shapely.get_coordinates(lines.geometry[strokes], return_index=True)
    if len(coords) < 2 * FEWEST:
        return [], lines
    runs, line_of_run = _straight_runs(coords, line_index)
    line_of_run = strokes[line_of_run]
    double, single = _doubles(runs, lines.marker[line_of_run], same)
    leading = np.setdiff1d(np.arange(len(runs)), double)
    a, b, gap = _neighbours(runs[leading], lines.marker[line_of_run[leading]])
    family = np.full(len(runs), -1, dtype=np.int64)
    family[leading] = _families(len(leading), a, b, gap)
    families = [
        _family(
            runs[family == number], gap[family[leading[a]] == number], int(lines.row[line_of_run[family == number][0]])
        )
        for number in range(family.max(initial=-1) + 1)
    ]
    np.maximum.at(family, double, family[single])
    within = np.bincount(line_of_run[family >= 0], shapely.length(runs[family >= 0]), minlength=len(lines))
    hatching = within > MOSTLY * shapely.length(lines.geometry)
    return families, lines.select(~hatching)


def _straight_runs(
    coords: NDArray[np.float64], line_index: NDArray[np.int64]
) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Lines cut at their corners; those pieces that are straight, and the line of each."""
    step = np.diff(coords, axis=0)
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.zeros(len(coords))
    turn[1:-1] = np.abs((np.diff(heading) + np.pi) % (2 * np.pi) - np.pi)
    piece_coords, piece_index, line_of_run = cut_at(coords, line_index, turn > CORNER)
    pieces = as_lines(piece_coords, piece_index)
    first, last = shapely.get_point(pieces, 0), shapely.get_point(pieces, -1)
    straight = shapely.distance(first, last) > STRAIGHT * shapely.length(pieces)
    return pieces[straight], line_of_run[straight]


def _doubles(runs: NDArray[Any], marker: NDArray[np.int64], same: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Runs that lie within `same` mm of a longer one all along (or of an earlier one as long), and those ones."""
    within = max(same, GRID_MM)
    double, single = shapely.STRtree(runs).query(shapely.get_point(runs, 0), predicate="dwithin", distance=within)
    length = shapely.length(runs)
    yields = (length[double] < length[single]) | ((length[double] == length[single]) & (double > single))
    yields &= marker[double] == marker[single]
    double, single = double[yields], single[yields]
    beside = shapely.dwithin(shapely.get_point(runs[double], -1), runs[single], within)
    return double[beside], single[beside]


def _neighbours(
    runs: NDArray[Any], marker: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Pairs of runs (a < b) that are each other's nearest parallel neighbour on one side, and the mm between them."""
    start = shapely.get_coordinates(shapely.get_point(runs, 0))
    chord = shapely.get_coordinates(shapely.get_point(runs, -1)) - start
    length = np.hypot(*chord.T)
    unit = chord / length[:, None]
    unit *= np.where((unit[:, 0] < 0) | ((unit[:, 0] == 0) & (unit[:, 1] < 0)), -1.0, 1.0)[:, None]
    middle = start + chord / 2
    reach = np.minimum(WIDEST_MM, length / SLENDER)
    bounds = shapely.bounds(runs)
    grown = shapely.box(*(bounds + reach[:, None] * np.array([-1.0, -1.0, 1.0, 1.0])).T)
    a, b = shapely.STRtree(runs).query(grown)
    differ = (a != b) & (marker[a] == marker[b])
    a, b = a[differ], b[differ]
    sine = np.abs(unit[a, 0] * unit[b, 1] - unit[a, 1] * unit[b, 0])
    between = middle[b] - middle[a]
    across = unit[a, 0] * between[:, 1] - unit[a, 1] * between[:, 0]
    shared = (length[a] + length[b]) / 2 - np.abs((between * unit[a]).sum(axis=1))
    gap = np.abs(across)
    good = (sine < np.sin(PARALLEL)) & (shared > ASIDE * np.minimum(length[a], length[b]))
    good &= (gap < reach[a]) & (gap < reach[b]) & (gap > 0)
    a, b, gap, side = a[good], b[good], gap[good], across[good] > 0
    order = np.lexsort((b, gap, side, a))
    a, b, gap, side = a[order], b[order], gap[order], side[order]
    nearest = np.concatenate([[True], (a[1:] != a[:-1]) | (side[1:] != side[:-1])]) if len(a) else np.zeros(0, np.bool_)
    a, b, gap = a[nearest], b[nearest], gap[nearest]
    mutual = np.isin(a * len(runs) + b, b * len(runs) + a) & (a < b)
    return a[mutual], b[mutual], gap[mutual]


def _families(count: int, a: NDArray[np.int64], b: NDArray[np.int64], gap: NDArray[np.float64]) -> NDArray[np.int64]:
    """(count,) the family of each run, from 0, or -1: neighbours in a row, evenly spaced, enough of them."""
    beside: dict[int, list[tuple[int, float]]] = {}
    for one, other, spacing in zip(a.tolist(), b.tolist(), gap.tolist(), strict=True):
        beside.setdefault(one, []).append((other, spacing))
        beside.setdefault(other, []).append((one, spacing))
    family = np.full(count, -1, dtype=np.int64)
    number, seen = 0, set[int]()
    for first in sorted(beside):
        if first in seen:
            continue
        seen.add(first)
        members, queue, gaps = [first], [first], list[float]()
        while queue:
            run = queue.pop()
            for other, spacing in beside[run]:
                if other not in seen and (not gaps or abs(spacing - np.median(gaps[-FEWEST:])) <= EVEN * spacing):
                    seen.add(other)
                    members.append(other)
                    queue.append(other)
                    gaps.append(spacing)
        if len(members) >= FEWEST:
            family[members] = number
            number += 1
    return family


def _family(runs: NDArray[Any], gap: NDArray[np.float64], row: int) -> Family:
    x0, y0, x1, y1 = map(float, shapely.total_bounds(runs))
    return Family((x0, y0, x1, y1), len(runs), float(np.median(gap)), float(shapely.length(runs).sum()), row)
