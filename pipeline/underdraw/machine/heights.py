"""Heights of the tip over one stroke: lift, slow approach, press, and how long lowering and lifting take."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from underdraw.job.sections import Job, MarkerSection
from underdraw.machine.timing import rest_to_rest
from underdraw.plugins.parts import Holder

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed

MOST_NIB_MM = 1.0  # more would crush a nib, whatever an ink declares: from memory
LEAST_CLEARANCE_MM = 0.2  # a canvas is flat to about that: common practice, no source
LEAST_LIFT_MM = 0.5  # clear of such a canvas, with some to spare: from memory


@dataclass(frozen=True)
class Heights:
    """What the holder does in this job: mm, mm/s, s; the job's own values before the named holder's."""

    lift: float
    press: float
    clearance: float
    touch_speed: float
    settle: float
    sprung: bool = True
    nib_gives: Mapping[str, float] = field(default_factory=dict)  # of each marker, which a rigid holder may use up
    nib_press: float = 0.0  # what the job asks for all markers in a rigid holder
    swap_lift: float = 0.0  # of the tip where markers are changed; less than the lift: the lift

    hop: float | None = None  # a lower lift between strokes that lie `hop_within` mm from each other at most
    hop_within: float = 0.0

    @property
    def for_hop(self) -> "Heights":
        """The same where the marker is raised to the hop alone."""
        hop = self.lift if self.hop is None else self.hop
        return replace(self, lift=hop, clearance=min(self.clearance, hop))

    def hops(self, distance: ArrayLike) -> NDArray[np.bool_]:
        """Whether travel of so many mm from one stroke to the next, (...), is a hop."""
        return np.asarray((self.hop is not None) & (np.asarray(distance) <= self.hop_within))

    @property
    def swap_height(self) -> float:
        """Where the tip is, above the canvas, while a marker is changed."""
        return max(self.lift, self.swap_lift)

    @classmethod
    def of(cls, job: Job, holder: Holder, registry: "Installed | None" = None) -> "Heights":
        """The holder's heights, with the job's [holder] settings put before them.

        A rigid holder presses by 0, or, of a marker (`for_marker`), by no more than its nib gives, which the inks of a
        registry say; the slow approach begins no lower than
        `LEAST_CLEARANCE_MM`, and no higher than the lift.
        """
        section = job.holder
        press = section.press if section.press is not None else holder.press
        lift = section.lift if section.lift is not None else holder.lift
        clearance = section.clearance if section.clearance is not None else holder.clearance
        return cls(
            lift=lift,
            press=press if holder.sprung else 0.0,
            clearance=min(max(clearance, LEAST_CLEARANCE_MM), lift),
            touch_speed=section.touch_speed if section.touch_speed is not None else holder.touch_speed,
            settle=section.settle if section.settle is not None else holder.settle,
            sprung=holder.sprung,
            nib_gives={} if registry is None else _nibs(job, registry),
            nib_press=0.0 if holder.sprung else section.press or 0.0,
            swap_lift=section.swap_lift or 0.0,
            hop=None if section.hop is None else min(max(section.hop, LEAST_CLEARANCE_MM), lift),
            hop_within=section.hop_within,
        )

    def for_marker(self, marker: MarkerSection) -> "Heights":
        """The same with the marker's own settings: its own wait and press, in a rigid holder as its nib gives."""
        press = marker.press if marker.press is not None else self.press if self.sprung else self.nib_press
        if not self.sprung:
            press = min(press, self.nib_gives.get(marker.name, 0.0))
        return replace(self, press=press, settle=marker.settle if marker.settle is not None else self.settle)

    def down_seconds(self, rapid: float, acceleration: float) -> float:
        """From `lift` to the tip at `-press`: fast to the clearance, then slowly, then the wait before a stroke."""
        fast = rest_to_rest(self.lift - self.clearance, rapid, acceleration)
        slow = rest_to_rest(self.clearance + self.press, min(self.touch_speed, rapid), acceleration)
        return float(fast + slow) + self.settle

    def up_seconds(self, rapid: float, acceleration: float) -> float:
        """From `-press` to `lift`."""
        return float(rest_to_rest(self.lift + self.press, rapid, acceleration))


def _nibs(job: Job, registry: "Installed") -> dict[str, float]:
    """mm that each marker's nib gives, by marker."""
    return {marker.name: min(registry.ink(marker.ink).nib_gives, MOST_NIB_MM) for marker in job.markers}
