"""How well a tidied drawing agrees with what should be drawn: either looked for in the other, point by point."""

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from eye_reference import SAME_MM, TOUCH_MM, Wanted
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from segments import segments

from underdraw.drawing.drawing import Drawing

REACH_MM = 0.08  # a point is drawn where a line runs within this
STEP_MM = 0.1  # points along a line lie so far apart
TIPS = 3.0  # lines side by side for longer than so many tips are one
OWN = 3.0  # along a line: nearer than so many times `same` a point is no other stretch


@dataclass(frozen=True)
class Side:
    """Points along some lines, looked at from others: the share within reach, the farthest (mm) and where it is."""

    share: float
    farthest: float
    place: tuple[float, float]

    @classmethod
    def of(cls, at: NDArray[np.float64], gap: NDArray[np.float64]) -> "Side":
        """From (n, 2) points and how far (n,) each lies from what it is looked for in."""
        if not len(at):
            return cls(1.0, 0.0, (0.0, 0.0))
        far = int(gap.argmax())
        return cls(float((gap <= REACH_MM).mean()), float(gap[far]), (float(at[far, 0]), float(at[far, 1])))


def points_along(lines: list[Any]) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """(n, 2) points at even steps along lines, (n,) the line of each and how far along it lies (mm)."""
    length = shapely.length(np.array(lines, dtype=object)) if lines else np.empty(0)
    count = np.ceil(length / STEP_MM).astype(np.int64) + 1
    owner = np.repeat(np.arange(len(lines)), count)
    place = np.concatenate([np.empty(0), *(np.linspace(0, *pair) for pair in zip(length, count, strict=True))])
    at = shapely.line_interpolate_point(np.array(lines, dtype=object)[owner], place) if len(owner) else []
    return shapely.get_coordinates(at), owner, place


def gaps(at: NDArray[np.float64], lines: list[Any]) -> NDArray[np.float64]:
    """(n,) mm from each point to the nearest of the lines."""
    if not lines or not len(at):
        return np.full(len(at), np.inf)
    tree = shapely.STRtree(segments(lines))
    (point, _), gap = tree.query_nearest(shapely.points(at), return_distance=True, all_matches=False)
    found = np.full(len(at), np.inf)
    found[point] = gap
    return found


def on_one_of(at: NDArray[np.float64], lines: list[Any]) -> NDArray[np.bool_]:
    """(n,) whether each point lies on one of the lines."""
    found = np.zeros(len(at), dtype=np.bool_)
    if lines and len(at):
        found[shapely.STRtree(shapely.points(at)).query(lines, predicate="dwithin", distance=TOUCH_MM)[1]] = True
    return found


@functools.lru_cache(maxsize=8)  # the same is held against one drawing after another
def points_of(
    wanted: Wanted,
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.float64], NDArray[np.bool_]]:
    """Points along what is wanted as `points_along` gives them, and (n,) which of them must be drawn."""
    at, owner, place = points_along(wanted.chains)
    return at, owner, place, on_one_of(at, wanted.sure)


def not_drawn(wanted: Wanted, drawn: list[Any], tip: float, same: float) -> tuple[NDArray[Any], NDArray[Any]]:
    """(n, 2) points of what must be drawn, and (n,) mm from each to what was.

    No gap (0 mm) where another line beside is drawn in its place: a run may be missing only where for longer than
    three tips another stretch of line lies within `same` mm of it, and only there where that stretch is drawn.
    """
    at, owner, place, must = points_of(wanted)
    gap = gaps(at, drawn)
    if (gap > REACH_MM).any() and same > 0:
        one, other = cKDTree(at).query_pairs(same + STEP_MM / 4, output_type="ndarray").T
        beside = (owner[one] != owner[other]) | (np.abs(place[one] - place[other]) > OWN * same)
        one, other = np.concatenate([one[beside], other[beside]]), np.concatenate([other[beside], one[beside]])
        near = np.zeros(len(at), dtype=np.bool_)
        near[one] = True
        kept = np.zeros(len(at), dtype=np.bool_)
        kept[one[gap[other] <= REACH_MM]] = True
        gap[in_long_runs(near, owner, TIPS * tip) & kept] = 0.0
    return at[must], gap[must]


def in_long_runs(near: NDArray[np.bool_], owner: NDArray[np.int64], least: float) -> NDArray[np.bool_]:
    """(n,) which points are in runs of such points along one line that are longer than `least` mm."""
    fresh = np.concatenate([[True], (owner[1:] != owner[:-1]) | (near[1:] != near[:-1])])
    run = np.cumsum(fresh) - 1
    return near & (np.bincount(run)[run] * STEP_MM > least)


def agreement(tidied: Drawing, wanted: dict[str, Wanted], same: float = SAME_MM) -> tuple[Side, Side]:
    """What was drawn looked for in what may be drawn; what must be drawn looked for in what was."""
    drawn_at, drawn_gap, seen_at, seen_gap = ([np.empty((0, 2))], [np.empty(0)], [np.empty((0, 2))], [np.empty(0)])
    for name, drawn, due in by_marker(tidied, wanted):
        at = points_along(drawn)[0]
        drawn_at.append(at)
        drawn_gap.append(gaps(at, due.allowed))
        at, gap = not_drawn(due, drawn, tidied.job.marker(name).tip, same)
        seen_at.append(at)
        seen_gap.append(gap)
    return (
        Side.of(np.concatenate(drawn_at), np.concatenate(drawn_gap)),
        Side.of(np.concatenate(seen_at), np.concatenate(seen_gap)),
    )


def by_marker(tidied: Drawing, wanted: dict[str, Wanted]) -> list[tuple[str, list[Any], Wanted]]:
    """Each marker's name, the lines that were drawn with it, and what it was to draw."""
    names = sorted(set(tidied.marker.tolist()) | set(wanted))
    return [
        (
            name,
            [line for line in tidied.select(tidied.marker == name).part_lines() if line.length > 0],
            wanted.get(name, Wanted()),
        )
        for name in names
    ]
