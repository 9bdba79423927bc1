"""When each stroke is drawn and how long it takes: the one clock of estimates, previews and the program check.

The model, which whoever times a program must share to agree with it:
- the clock starts with the marker lifted at park, and ends there; waits for a person (a marker swap) take no time;
- the tip stands still wherever it turns between sideways and up or down, wherever travel meets drawing, and in a wait;
- between two stands it keeps to its speed, to the acceleration, and at each point to what the corner there allows.
"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from underdraw.drawing import Drawing
from underdraw.job import Job, MarkerSection
from underdraw.parts import Holder

if TYPE_CHECKING:
    from underdraw.registry import Registry

Array = NDArray[np.float64]
LEAST_CLEARANCE_MM = 0.2  # a canvas is flat to about that: common practice, no source
STANDS = 0.0  # mm²/s²: the square of the speed of a tip at rest


def rest_to_rest(distance: ArrayLike, speed: ArrayLike, acceleration: float) -> Array:
    """Seconds for moves from rest to rest (any dynamics text): d/v + v/a if d ≥ v²/a, else 2·√(d/a).

    distance: mm, any shape. speed: mm/s, of the same shape or one for all.

    >>> rest_to_rest([0.0, 3.0, 100.0], 50.0, 300.0).round(4).tolist()
    [0.0, 0.2, 2.1667]
    """
    length, top = np.broadcast_arrays(np.asarray(distance, dtype=np.float64), np.asarray(speed, dtype=np.float64))
    long = length / top + top / acceleration
    return np.where(length >= top**2 / acceleration, long, 2 * np.sqrt(length / acceleration))


def corner_speed_squared(enter: Array, leave: Array, acceleration: float, corner: float) -> Array:
    """(n,) mm²/s²: how fast, squared, a corner may be passed when the tip may leave the path by `corner` mm.

    enter, leave: (n, 2 or 3) unit vectors of the path before and after. Geometry of the circle tangent to both legs:
    v² = a·δ·sin(φ/2)/(1 − sin(φ/2)) with φ the corner's interior angle; infinite straight on, 0 in a reversal.
    """
    along = np.clip(np.einsum("ij,ij->i", enter, leave), -1.0, 1.0)
    sine = np.sqrt((1 + along) / 2)  # sin(φ/2), the interior angle φ being π less the turn
    with np.errstate(divide="ignore"):
        return np.asarray(acceleration * corner * sine / (1 - sine))


def move_seconds(
    length: Array,
    speed: Array,
    enter: Array,
    leave: Array,
    stands: NDArray[np.bool_],
    *,
    acceleration: float,
    corner: float,
    radius: Array | None = None,
) -> Array:
    """(n,) seconds of each of n moves, one after the other: lines or arcs, in the plane or in space.

    length: (n,) mm. speed: (n,) mm/s at most. enter, leave: (n, 2 or 3) unit vectors at a move's start and end (equal
    for a line; anything for a move of no length). stands: (n,) whether the tip is at rest before the move; it also is
    before the first and after the last. acceleration: mm/s². corner: mm, see `corner_speed_squared`.
    radius: (n,) mm, of a move that is an arc, infinite for a line: √(a·r) is its greatest speed.
    """
    if not len(length):
        return np.empty(0)
    top = np.asarray(speed, dtype=np.float64) ** 2
    if radius is not None:
        top = np.minimum(top, acceleration * radius)
    limit = np.full(len(length) + 1, STANDS)  # greatest speed squared at each end of a move
    limit[1:-1] = np.minimum(top[:-1], top[1:])
    limit[1:-1] = np.minimum(limit[1:-1], corner_speed_squared(leave[:-1], enter[1:], acceleration, corner))
    limit[:-1][stands] = STANDS
    reached = _within_acceleration(limit, np.asarray(length, dtype=np.float64), acceleration)
    return _ramp_seconds(reached[:-1], reached[1:], top, np.asarray(length, dtype=np.float64), acceleration)


def _within_acceleration(limit: Array, length: Array, acceleration: float) -> Array:
    """(n + 1,) the speeds squared that can be had, speeding up from each point and slowing down to each.

    v² grows by at most 2·a·d over d, so the least over all earlier points j of limit[j] + 2·a·(s − s[j]) is what
    speeding up allows; likewise backwards: two running minima in place of a loop.
    """
    gained = 2 * acceleration * np.concatenate([[0.0], np.cumsum(length)])
    forward = np.minimum.accumulate(limit - gained) + gained
    backward = np.minimum.accumulate((limit + gained)[::-1])[::-1] - gained
    return np.maximum(np.minimum(np.minimum(forward, backward), limit), 0.0)


def _ramp_seconds(first: Array, last: Array, top: Array, length: Array, acceleration: float) -> Array:
    """(n,) seconds of moves with speeds squared `first` and `last` at their ends and at most `top` between."""
    peak = np.minimum((first + last) / 2 + acceleration * length, top)  # where speeding up meets slowing down
    highest = np.sqrt(peak)
    ramps = (2 * highest - np.sqrt(first) - np.sqrt(last)) / acceleration
    steady = length - (2 * peak - first - last) / (2 * acceleration)
    with np.errstate(divide="ignore", invalid="ignore"):
        cruise = np.where(highest > 0, np.maximum(steady, 0.0) / highest, 0.0)
    return np.asarray(np.where(length > 0, np.maximum(ramps, 0.0) + cruise, 0.0))


def stroke_seconds(coords: Array, parts: NDArray[np.int64], speed: Array, acceleration: float, corner: float) -> Array:
    """(p,) seconds to draw each part of a ragged array of polylines at its speed, from rest to rest.

    coords: (n, 2) mm. parts: (p + 1,) offsets. speed: (p,) mm/s. A curve that became short chords is taken as the
    curve: nowhere faster than √(a·r), r the circle through a point and its neighbours.
    """
    if len(coords) < 2:
        return np.zeros(len(parts) - 1)
    step = np.diff(coords, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    within = np.ones(len(step), dtype=np.bool_)
    within[parts[1:-1][(parts[1:-1] > 0) & (parts[1:-1] < len(coords))] - 1] = False  # not from one part to the next
    length = np.where(within, length, 0.0)
    owner = np.searchsorted(parts, np.arange(len(step)), side="right") - 1
    keep = length > 0
    step, length, owner, place = step[keep], length[keep], owner[keep], np.flatnonzero(keep)
    heading = step / length[:, None]
    stands = np.ones(len(step), dtype=np.bool_)
    stands[1:] = owner[1:] != owner[:-1]
    top = np.minimum(speed[owner], np.sqrt(acceleration * _radius_beside(heading, length, stands)))
    seconds = move_seconds(length, top, heading, heading, stands, acceleration=acceleration, corner=corner)
    total = np.concatenate([[0.0], np.cumsum(seconds)])
    first = np.searchsorted(place, parts)
    return np.asarray(total[first[1:]] - total[first[:-1]])


def _radius_beside(heading: Array, length: Array, stands: NDArray[np.bool_]) -> Array:
    """(n,) mm: for each chord the larger of the circles through its ends and a neighbour; infinite on a straight.

    The larger, so that one sharp corner beside a chord (which `corner_speed_squared` sees to) does not slow the chord.
    """
    if len(length) < 2:
        return np.full(len(length), np.inf)
    across = np.abs(heading[:-1, 0] * heading[1:, 1] - heading[:-1, 1] * heading[1:, 0])
    reach = np.hypot(*(heading[:-1] * length[:-1, None] + heading[1:] * length[1:, None]).T)
    with np.errstate(divide="ignore"):
        radius = np.where(across > 1e-12, reach / (2 * np.maximum(across, 1e-300)), np.inf)  # law of sines
    radius[stands[1:]] = np.inf
    beside = np.full(len(length), np.inf)
    beside[1:-1] = np.maximum(radius[:-1], radius[1:])
    return beside


@dataclass(frozen=True)
class Heights:
    """What the holder does in this job: mm, mm/s, s; the job's own values before the named holder's."""

    lift: float
    press: float
    clearance: float
    touch_speed: float
    settle: float
    sprung: bool = True
    swap_lift: float = 0.0  # of the tip where markers are changed; less than the lift: the lift

    @property
    def swap_height(self) -> float:
        """Where the tip is, above the canvas, while a marker is changed."""
        return max(self.lift, self.swap_lift)

    @classmethod
    def of(cls, job: Job, holder: Holder) -> "Heights":
        """The holder's heights, with what the job's [holder] says put before them.

        A rigid holder presses by 0, since nothing would give; the slow approach begins no lower than
        `LEAST_CLEARANCE_MM`, and no higher than the lift.
        """
        said = job.holder
        press = said.press if said.press is not None else holder.press
        lift = said.lift if said.lift is not None else holder.lift
        clearance = said.clearance if said.clearance is not None else holder.clearance
        return cls(
            lift=lift,
            press=press if holder.sprung else 0.0,
            clearance=min(max(clearance, LEAST_CLEARANCE_MM), lift),
            touch_speed=said.touch_speed if said.touch_speed is not None else holder.touch_speed,
            settle=said.settle if said.settle is not None else holder.settle,
            sprung=holder.sprung,
            swap_lift=said.swap_lift or 0.0,
        )

    def for_marker(self, marker: MarkerSection) -> "Heights":
        """The same with what the marker says for itself: its own wait, and its own press in a sprung holder."""
        press = marker.press if marker.press is not None and self.sprung else self.press
        return replace(self, press=press, settle=marker.settle if marker.settle is not None else self.settle)

    def down_seconds(self, rapid: float, acceleration: float) -> float:
        """From `lift` to the tip at `-press`: fast to the clearance, then slowly, then the wait before a stroke."""
        fast = rest_to_rest(self.lift - self.clearance, rapid, acceleration)
        slow = rest_to_rest(self.clearance + self.press, min(self.touch_speed, rapid), acceleration)
        return float(fast + slow) + self.settle

    def up_seconds(self, rapid: float, acceleration: float) -> float:
        """From `-press` to `lift`."""
        return float(rest_to_rest(self.lift + self.press, rapid, acceleration))


@dataclass(frozen=True)
class Schedule:
    """The clock of a whole drawing, in s from the start at park; strokes in drawing order.

    touch, lift: (s,) when the tip is down on a stroke and when it starts to rise from it. swap_strokes: (k,) the
    strokes (from 0) that a marker is put in before, the first stroke among them; swap_times: (k,) when it happens.
    travel_mm: with the marker lifted, from park, between strokes, to park and back at each swap, and back.
    """

    touch: Array
    lift: Array
    swap_strokes: NDArray[np.int64]
    swap_times: Array
    total: float
    travel_mm: float

    @classmethod
    def of(cls, drawing: Drawing, registry: "Registry") -> "Schedule":
        """Time a drawing of strokes, with the inks and the holder that its job names."""
        job = drawing.job
        speed = np.array([drawing_speed(job, name, registry) for name in drawing.marker.tolist()], dtype=np.float64)
        heights = Heights.of(job, registry.holder(job.holder.use))
        return cls.from_speeds(drawing, speed, heights)

    @classmethod
    def from_speeds(cls, drawing: Drawing, speed: Array, heights: Heights) -> "Schedule":
        """Time a drawing of strokes at these speeds, (s,) mm/s."""
        machine, count = drawing.job.machine, len(drawing)
        rapid, acceleration = machine.rapid, machine.acceleration
        if not count:
            return cls(np.empty(0), np.empty(0), np.empty(0, dtype=np.int64), np.empty(0), 0.0, 0.0)
        higher = heights.swap_height - heights.lift
        draw = stroke_seconds(drawing.coords, drawing.parts, np.minimum(speed, rapid), acceleration, machine.corner)
        legs, swaps = travel_legs(drawing)
        travel = rest_to_rest(np.linalg.norm(np.diff(legs.points, axis=1)[:, 0], axis=1), rapid, acceleration)
        travel[legs.to_park] += float(rest_to_rest(higher, rapid, acceleration))  # up there to change the marker
        before = np.zeros(count + 1)
        np.add.at(before, legs.before, travel)
        names, which = np.unique(drawing.marker.astype(str), return_inverse=True)
        own = [heights.for_marker(drawing.job.marker(str(name))) for name in names]
        down = np.array([each.down_seconds(rapid, acceleration) for each in own])[which]
        up = np.array([each.up_seconds(rapid, acceleration) for each in own])[which]
        from_there = replace(heights, lift=heights.swap_height).down_seconds(rapid, acceleration)
        down[swaps] += from_there - heights.down_seconds(rapid, acceleration)
        turn = before[:count] + down + draw + up
        end = np.cumsum(turn)
        touch = end - turn + before[:count] + down
        at_park = np.concatenate([[0.0], end])[swaps]
        back = np.zeros(count)
        back[legs.before[legs.to_park & (legs.before < count)]] = travel[legs.to_park & (legs.before < count)]
        return cls(touch, touch + draw, swaps, at_park + back[swaps], float(end[-1] + before[count]), legs.length)

    def stroke_at(self, seconds: float) -> int | None:
        """Which stroke (from 1) is being drawn at that time, or is the next to be; None after the last."""
        index = int(np.searchsorted(self.lift, seconds, side="right"))
        return index + 1 if index < len(self.lift) else None


@dataclass(frozen=True)
class Legs:
    """Travel, leg by leg: points (t, 2, 2) board mm; before (t,) which stroke (from 0; s: none) it leads up to."""

    points: Array
    before: NDArray[np.int64]
    to_park: NDArray[np.bool_]

    @property
    def length(self) -> float:
        """mm of all legs."""
        return float(np.linalg.norm(np.diff(self.points, axis=1)[:, 0], axis=1).sum())


def travel_legs(drawing: Drawing) -> tuple[Legs, NDArray[np.int64]]:
    """The legs of travel of a drawing of strokes, and the strokes (from 0) that a marker is put in before.

    From park to the first stroke, from stroke to stroke, by way of park where a marker is swapped, and back to park.
    """
    count = len(drawing)
    swaps = swap_strokes(drawing)
    park = park_point(drawing)
    if not count:
        return Legs(np.empty((0, 2, 2)), np.empty(0, dtype=np.int64), np.empty(0, dtype=np.bool_)), swaps
    first, last = drawing.coords[drawing.parts[:-1]], drawing.coords[drawing.parts[1:] - 1]
    inner = np.setdiff1d(np.arange(1, count), swaps)  # straight from the stroke before
    home = np.append(swaps[swaps > 0], count)  # back to park, for a swap or for good
    points = np.concatenate([
        np.stack([last[inner - 1], first[inner]], axis=1),
        np.stack([last[home - 1], np.broadcast_to(park, (len(home), 2))], axis=1),
        np.stack([np.broadcast_to(park, (len(swaps), 2)), first[swaps]], axis=1),
    ])  # fmt: skip
    before = np.concatenate([inner, home, swaps])
    to_park = np.repeat([False, True, False], [len(inner), len(home), len(swaps)])
    order = np.lexsort((~to_park, before))
    return Legs(points[order], before[order], to_park[order]), swaps


def swap_strokes(drawing: Drawing) -> NDArray[np.int64]:
    """(k,) the strokes (from 0) before which a marker is put in: the first, and wherever marker or load changes."""
    if not len(drawing):
        return np.empty(0, dtype=np.int64)
    marker, load = drawing.marker, drawing.load
    changed = (marker[1:] != marker[:-1]) | (load[1:] != load[:-1])
    return np.concatenate([[0], np.flatnonzero(changed) + 1]).astype(np.int64)


def park_point(drawing: Drawing) -> Array:
    """(2,) the park position in board coordinates (y down): the job states it from the board's lower left corner."""
    x, y = drawing.job.machine.park
    return np.array([x, drawing.sheet[1] - y])


def drawing_speed(job: Job, marker: str, registry: Any) -> float:
    """mm/s: the marker's own speed where the job says one, else its ink's; never above the machine's rapid."""
    section = job.marker(marker)
    speed = section.speed if section.speed is not None else registry.ink(section.ink).speed
    return float(min(speed, job.machine.rapid))
