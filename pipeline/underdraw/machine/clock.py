"""The clock of a whole drawing: when each stroke is drawn and each marker put in.

The model, which whoever times a program must share to agree with it:
- the clock starts with the marker lifted at park, and ends there; waits for a person (a marker swap) take no time;
- the tip stands still wherever it turns between sideways and up or down, wherever travel meets drawing, and in a wait;
- between two stands it keeps to its speed, to the acceleration, and at each point to what the corner there allows.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import Job
from underdraw.machine.heights import Heights
from underdraw.machine.timing import rest_to_rest, stroke_seconds
from underdraw.machine.travel import travel_legs

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed

Array = NDArray[np.float64]


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
    def of(cls, drawing: Drawing, registry: "Installed") -> "Schedule":
        """Time a drawing of strokes, with the inks and the holder that its job names."""
        job = drawing.job
        speed = np.array([drawing_speed(job, name, registry) for name in drawing.marker.tolist()], dtype=np.float64)
        heights = Heights.of(job, registry.holder(job.holder.use), registry)
        return cls.from_speeds(drawing, speed, heights)

    @classmethod
    def saved_by_hops(cls, drawing: Drawing, registry: "Installed") -> float:
        """s that the lower lift of short hops saves; 0 where the job sets none."""
        if drawing.job.holder.hop is None:
            return 0.0
        without = replace(drawing.job, holder=replace(drawing.job.holder, hop=None))
        return cls.of(drawing.replace(job=without), registry).total - cls.of(drawing, registry).total

    @classmethod
    def from_speeds(cls, drawing: Drawing, speed: Array, heights: Heights) -> "Schedule":
        """Time a drawing of strokes at these speeds, (s,) mm/s."""
        machine, count = drawing.job.machine, len(drawing)
        rapid, acceleration, upright = machine.rapid, machine.acceleration, machine.up_and_down
        if not count:
            return cls(np.empty(0), np.empty(0), np.empty(0, dtype=np.int64), np.empty(0), 0.0, 0.0)
        higher = heights.swap_height - heights.lift
        draw = stroke_seconds(drawing.coords, drawing.parts, np.minimum(speed, rapid), acceleration, machine.rounding)
        legs, swaps = travel_legs(drawing)
        apart = np.linalg.norm(np.diff(legs.points, axis=1)[:, 0], axis=1)
        travel = rest_to_rest(apart, rapid, acceleration)
        travel[legs.to_park] += float(rest_to_rest(higher, *upright))  # up there to change the marker
        before = np.zeros(count + 1)
        np.add.at(before, legs.before, travel)
        names, which = np.unique(drawing.marker.astype(str), return_inverse=True)
        own = [heights.for_marker(drawing.job.marker(str(name))) for name in names]
        down = np.array([each.down_seconds(*upright) for each in own])[which]
        up = np.array([each.up_seconds(*upright) for each in own])[which]
        inner = ~legs.to_park & ~np.isin(legs.before, swaps) & heights.hops(apart)
        hop = legs.before[inner]  # the strokes that are hopped to
        lower = [each.for_hop for each in own]
        down[hop] = np.array([each.down_seconds(*upright) for each in lower])[which[hop]]
        up[hop - 1] = np.array([each.up_seconds(*upright) for each in lower])[which[hop - 1]]
        from_there = replace(heights, lift=heights.swap_height).down_seconds(*upright)
        down[swaps] += from_there - heights.down_seconds(*upright)
        turn = before[:count] + down + draw + up
        end = np.cumsum(turn)
        touch = end - turn + before[:count] + down
        at_park = np.concatenate([[0.0], end])[swaps]
        back = np.zeros(count)
        back[legs.before[legs.to_park & (legs.before < count)]] = travel[legs.to_park & (legs.before < count)]
        return cls(touch, touch + draw, swaps, at_park + back[swaps], float(end[-1] + before[count]), legs.length)

    def on_clock(self, seconds: Sequence[float]) -> "Schedule":
        """The same with each load, from swap to swap, taking so many seconds: (k,) of them."""
        own = np.append(self.swap_times, self.total)
        other = np.concatenate([[0.0], np.cumsum(seconds)])
        touch, lift = (np.interp(times, own, other) for times in (self.touch, self.lift))
        return replace(self, touch=touch, lift=lift, swap_times=other[:-1], total=float(other[-1]))

    def stroke_at(self, seconds: float) -> int | None:
        """Which stroke (from 1) is being drawn at that time, or is the next to be; None after the last."""
        index = int(np.searchsorted(self.lift, seconds, side="right"))
        return index + 1 if index < len(self.lift) else None


def drawing_speed(job: Job, marker: str, registry: "Installed") -> float:
    """mm/s: the marker's own speed if the job sets one, else its ink's; never above the machine's rapid."""
    section = job.marker(marker)
    speed = section.speed if section.speed is not None else registry.ink(section.ink).speed
    return float(min(speed, job.machine.rapid))
