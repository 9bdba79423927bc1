"""Heights of the tip over one stroke: lift, slow approach, press, and how long lowering and lifting take."""

from dataclasses import dataclass, replace

from underdraw.job.sections import Job, MarkerSection
from underdraw.machine.timing import rest_to_rest
from underdraw.plugins.parts import Holder

LEAST_CLEARANCE_MM = 0.2  # a canvas is flat to about that: common practice, no source


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
