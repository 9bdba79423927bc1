"""Where each region's number goes: in the region if it has room, else beside it with a leader; over no line or number.

A number in its region is at its pole of inaccessibility, the middle of the largest circle in it (D. Garcia-Castellanos,
U. Lombardo, 'Poles of inaccessibility', Scottish Geographical Journal 123, 2007, from memory), and within that circle.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.boxes import Point
from underdraw.drawing.ragged import Floats, Ints, Mask
from underdraw.page.on_page import Box, OnPage
from underdraw.page.text_width import text_width
from underdraw_stages.paint.map.crossed_cells import CrossedCells
from underdraw_stages.paint.paint_plan import PaintPlan

LARGEST, SMALLEST = 3.6, 2.0  # font size of numbers, in mm on the page
CAPITAL = 0.73  # height of a figure, of the font size
AIR = 0.25  # mm between a number and the nearest line
AWAY = (1.5, 3.0, 5.0, 7.5, 10.5, 14.0, 18.0, 23.0)  # mm from the pole to a number with a leader, tried in turn
WAYS = 20
MOST_TRIES = 600  # numbers with leaders that are tried: one page has room for fewer
FULL = 30  # that found no room, one after the other: then the page is full


@dataclass(frozen=True)
class RegionNumber:
    """One number on the page: its middle and font size in mm; for one beside its region, where the leader ends."""

    number: int
    x: float
    y: float
    size: float
    pole: Point | None = None

    @property
    def half(self) -> Point:
        """Half its width and height."""
        return half_size(self.number, self.size)

    @property
    def box(self) -> Box:
        """What it covers."""
        wide, high = self.half
        return self.x - wide, self.y - high, self.x + wide, self.y + high

    @property
    def leader(self) -> list[Point]:
        """From the edge of the number to its region; nothing for one within its region."""
        return [] if self.pole is None else [leader_start((self.x, self.y), self.half, self.pole), self.pole]


def half_size(number: int, size: float) -> Point:
    """Half the width and height of a number in bold."""
    return text_width(str(number), size, bold=True) / 2, CAPITAL * size / 2


def leader_start(middle: Point, half: Point, pole: Point) -> Point:
    """Where a line from a number's middle to its region leaves the number's box, with a little air."""
    dx, dy = pole[0] - middle[0], pole[1] - middle[1]
    share = min((half[0] + AIR) / max(abs(dx), 1e-9), (half[1] + AIR) / max(abs(dy), 1e-9), 1.0)
    return middle[0] + share * dx, middle[1] + share * dy


def grown(boxes: Floats) -> Floats:
    """(n, 4) boxes with air all round."""
    return boxes + AIR * np.array([-1.0, -1.0, 1.0, 1.0])


def overlapping(boxes: Floats, others: Floats) -> Mask:
    """(n, m) which of (n, 4) boxes touch which of (m, 4) others."""
    x0, y0, x1, y1 = boxes.T[:, :, None]
    return np.asarray((x1 >= others[:, 0]) & (others[:, 2] >= x0) & (y1 >= others[:, 1]) & (others[:, 3] >= y0))


@dataclass
class Taken:
    """What numbers with leaders must keep clear of: lines of the map, and numbers and leaders that are there."""

    lines: shapely.STRtree
    crossed: CrossedCells
    inside: Box
    boxes: list[Box] = field(default_factory=list)
    leaders: list[Any] = field(default_factory=list)

    @classmethod
    def by(cls, lines: NDArray[Any], hatched: NDArray[Any], inside: Box) -> "Taken":
        """Lines and hatched Polygons on the page; what is asked for must be inside a box of it."""
        drawn = np.concatenate([lines, hatched])
        return cls(
            shapely.STRtree(np.concatenate([short_lines(lines), hatched])), CrossedCells.of(drawn, inside), inside
        )

    def add(self, number: RegionNumber) -> None:
        """Keep clear of this one from now on."""
        self.boxes.append(number.box)
        if number.pole is not None:
            self.leaders.append(shapely.LineString(number.leader))

    def free(self, boxes: Floats, starts: Floats, pole: Point) -> Ints:
        """Which of (c, 4) boxes are free, with (c, 2) starts of their leaders to the pole."""
        low, high = self.inside[:2], self.inside[2:]
        airy, there = grown(boxes), np.array(self.boxes).reshape(-1, 4)
        within: Mask = np.asarray((boxes[:, :2] >= low).all(axis=1) & (boxes[:, 2:] <= high).all(axis=1))
        free = np.flatnonzero(within & ~self.crossed.crossed(airy))  # the quick looks come first: most end there
        free = free[~overlapping(airy[free], there).any(axis=1)]
        areas = shapely.box(*airy[free].T)
        clear = np.ones(len(free), dtype=np.bool_)
        clear[self.lines.query(areas, predicate="intersects")[0]] = False
        free, areas = free[clear], areas[clear]
        if not len(free):
            return free
        leaders = shapely.linestrings(np.stack([starts[free], np.broadcast_to(pole, (len(free), 2))], axis=1))
        reach = shapely.total_bounds(np.concatenate([areas, leaders]))[None]
        in_reach = grown(there[overlapping(grown(reach), there)[0]])
        crossed = shapely.intersects(leaders[:, None], shapely.box(*in_reach.T)).any(axis=1)
        others = np.array(self.leaders, dtype=object)
        others = others[overlapping(reach, shapely.bounds(others).reshape(-1, 4))[0]]
        for own in (areas, leaders):
            crossed |= shapely.intersects(own[:, None], others).any(axis=1)
        return np.asarray(free[~crossed])


def place_numbers(
    plan: PaintPlan, lines: NDArray[Any], hatched: NDArray[Any], placing: OnPage, inside: Box
) -> tuple[list[RegionNumber], int]:
    """Numbers for the plan's regions, on the page; and how many have no room.

    lines, hatched: what is drawn, on the page already. inside: the box of the page that numbers may be in.
    """
    circles = shapely.maximum_inscribed_circle(plan.area, tolerance=min(0.3, 0.1 * placing.reduction))
    ends = placing.all(shapely.get_coordinates(circles)).reshape(-1, 2, 2)
    pole, radius = ends[:, 0], np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    in_reach = 2 * radius * placing.reduction > plan.tool  # else the region is hatched all over
    rooms = zip(plan.number.tolist(), pole.tolist(), np.where(in_reach, radius, 0.0).tolist(), strict=True)
    within = [_within(number, at, room) for number, at, room in rooms]
    taken = Taken.by(lines, hatched, inside)
    placed = [each for each in within if each is not None]
    for each in placed:
        taken.add(each)
    outside = [at for at, each in enumerate(within) if each is None]
    in_vain = 0
    for at in sorted(outside, key=lambda at: -radius[at])[:MOST_TRIES]:
        found = _beside(int(plan.number[at]), (float(pole[at, 0]), float(pole[at, 1])), taken)
        in_vain = in_vain + 1 if found is None else 0
        if in_vain == FULL:
            break
        if found is not None:
            placed.append(found)
            taken.add(found)
    return placed, len(plan.area) - len(placed)


def short_lines(lines: NDArray[Any]) -> NDArray[Any]:
    """The lines one by one from point to point: found sooner by where they are."""
    points, line = shapely.get_coordinates(lines, return_index=True)
    steps = np.flatnonzero(line[1:] == line[:-1])
    return np.asarray(shapely.linestrings(np.stack([points[steps], points[steps + 1]], axis=1)))


def _within(number: int, pole: list[float], room: float) -> RegionNumber | None:
    wide, high = half_size(number, 1.0)
    size = min(LARGEST, (room - AIR) / float(np.hypot(wide, high)))
    return RegionNumber(number, pole[0], pole[1], size) if size >= SMALLEST else None


def _beside(number: int, pole: Point, taken: Taken) -> RegionNumber | None:
    """The nearest free position."""
    half = half_size(number, SMALLEST)
    turn = np.arange(WAYS) * 2 * np.pi / WAYS
    away = np.repeat(AWAY, WAYS)
    way = np.tile(np.stack([np.cos(turn), np.sin(turn)], axis=1), (len(AWAY), 1))
    middle = np.array(pole) + way * (away[:, None] + half)
    dx, dy = np.abs(way.T) * (away[:, None] + half).T
    share = np.minimum(np.minimum((half[0] + AIR) / np.maximum(dx, 1e-9), (half[1] + AIR) / np.maximum(dy, 1e-9)), 1.0)
    starts = middle + share[:, None] * (np.array(pole) - middle)
    free = taken.free(np.concatenate([middle - half, middle + half], axis=1), starts, pole)
    if not len(free):
        return None
    x, y = middle[free[0]].tolist()
    return RegionNumber(number, x, y, SMALLEST, pole)
