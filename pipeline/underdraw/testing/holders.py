"""What any holder must keep: heights that clear the canvas, and an offset that reach and programs agree on."""

import math

import numpy as np

from underdraw.job.sections import LONGEST_DOWN_S, MOST_PRESS_MM, Job
from underdraw.machine.heights import LEAST_CLEARANCE_MM, LEAST_LIFT_MM
from underdraw.panel import Panel, bed_fit, holder_offset, reach
from underdraw.panel.lying import Lying
from underdraw.plugins.controller import Controller
from underdraw.plugins.parts import Holder
from underdraw.program import check_program
from underdraw.program.expected import Expected
from underdraw.testing.sample_drawings import BOARD, sample_job
from underdraw.testing.trial import check_name, fault, registry_with
from underdraw.testing.trial_program import TrialWriter
from underdraw.testing.whole_job import problems_of_a_whole_job

FARTHEST_MM = 300.0  # a tip farther from the spindle's axis than that is a slip of the unit
HIGHEST_MM = 200.0  # a lift beyond any small router's Z
FASTEST_MM_S = 500.0
BEYOND_MM = 1.0
CLOSE_MM = 1e-3


class HolderContract:
    """Subclass it as `Test…` and say which holder; nothing else is needed."""

    holder: Holder

    def test_it_is_declared_soundly(self) -> None:
        """A name, one line of help, numbers that are numbers, in millimetres and seconds."""
        holder = self.holder
        check_name(holder)
        if len(holder.offset) != 2:
            fault(holder, f"its offset {holder.offset!r} is no pair: right, and away from the operator")
        numbers = {
            "offset": max(map(abs, holder.offset)),
            "lift": holder.lift,
            "press": holder.press,
            "clearance": holder.clearance,
            "touch_speed": holder.touch_speed,
            "settle": holder.settle,
        }
        for name, value in numbers.items():
            if not isinstance(value, int | float) or not math.isfinite(value):
                fault(holder, f"its {name} {value!r} is no number")
            if value < 0:
                fault(holder, f"its {name} of {value:g} is below 0")
        if numbers["offset"] > FARTHEST_MM:
            fault(holder, f"its offset of {numbers['offset']:g} mm is beyond {FARTHEST_MM:g} mm; which unit was meant?")
        if holder.lift > HIGHEST_MM:
            fault(holder, f"its lift of {holder.lift:g} mm is beyond {HIGHEST_MM:g} mm; which unit was meant?")
        if holder.press > MOST_PRESS_MM:
            fault(holder, f"its press of {holder.press:g} mm is beyond {MOST_PRESS_MM:g} mm; which unit was meant?")
        if holder.settle > LONGEST_DOWN_S:
            fault(holder, f"its settle of {holder.settle:g} s is beyond {LONGEST_DOWN_S:g} s: the tip leaves a blot")
        if not 0 < holder.touch_speed <= FASTEST_MM_S:
            fault(holder, f"its touch_speed of {holder.touch_speed:g} mm/s is not between 0 and {FASTEST_MM_S:g} mm/s")

    def test_its_tip_clears_the_canvas_in_travel(self) -> None:
        """Lifted above the height where the slow approach begins, and that above the canvas."""
        holder = self.holder
        if holder.lift < LEAST_LIFT_MM:
            fault(
                holder,
                f"its lift is {holder.lift:g} mm: the tip would drag over the canvas in travel; "
                f"use {LEAST_LIFT_MM:g} mm or more",
            )
        if not LEAST_CLEARANCE_MM <= holder.clearance <= holder.lift:
            fault(
                holder,
                f"its clearance of {holder.clearance:g} mm is not between {LEAST_CLEARANCE_MM:g} mm and its lift of "
                f"{holder.lift:g} mm: the slow last approach begins there",
            )

    def test_only_a_spring_is_pressed_in(self) -> None:
        """In a rigid holder nothing gives: the tip only touches."""
        holder = self.holder
        if not holder.sprung and holder.press:
            fault(holder, f"is rigid and presses {holder.press:g} mm into the canvas; use press = 0")
        if holder.sprung and not holder.press:
            fault(holder, "is sprung and presses by 0 mm: its spring is never used; use a press above 0")

    def test_reach_and_offset_agree(self) -> None:
        """The largest board in reach fits its bed and is drawn without leaving it; on a bed a little less it is not."""
        holder = self.holder
        registry = registry_with("holders", holder)
        offset = holder_offset(self._job(BOARD), registry)
        if offset != tuple(map(float, holder.offset)):
            fault(holder, f"its offset {holder.offset!r} is taken for {offset!r}")
        bed = (BOARD[0] + abs(offset[0]), BOARD[1] + abs(offset[1]))
        x0, y0, x1, y1 = reach(bed, offset)
        if max(abs(x1 - x0 - BOARD[0]), abs(y1 - y0 - BOARD[1])) > CLOSE_MM:
            fault(holder, f"on a bed of {_size(bed)} its tip reaches {_size((x1 - x0, y1 - y0))}")
        job = self._job(bed)
        lying = bed_fit(Panel.of(job), bed, offset)
        if not lying.fits:
            fault(holder, f"a board of {_size(BOARD)} does not lie on a bed of {_size(bed)}: {lying.reasons[0]}")
        report = check_program(self._edges(offset), Expected.of(job, Lying.of_job(job, registry), registry))
        outside = [problem for problem in report.problems if problem.code == "outside-reach"]
        if outside:
            fault(holder, f"a board in reach on a bed of {_size(bed)} has a program that is not: {outside[0].text}")
        for short in ((bed[0] - BEYOND_MM, bed[1]), (bed[0], bed[1] - BEYOND_MM)):
            if bed_fit(Panel.of(self._job(short)), short, offset).fits:
                fault(holder, f"a bed of {_size(short)} is too short for its offset, and no message reports it")

    def test_the_tip_draws_where_the_drawing_says(self) -> None:
        """A program is the drawing less the offset, and read back it is the drawing."""
        holder = self.holder
        registry = registry_with("holders", holder)
        job = self._job((2000.0, 2000.0))
        expected = Expected.of(job, Lying.of_job(job, registry), registry)
        program = self._edges(holder_offset(job, registry))
        drawn = check_program(program, expected).drawn
        points = drawn.on_board
        found = (*points.min(axis=0), *points.max(axis=0))
        if np.abs(np.subtract(found, (0.0, 0.0, *BOARD))).max() > CLOSE_MM:
            fault(holder, f"a line round the board comes back at {found}")

    def test_a_whole_job_is_drawn_at_its_heights(self) -> None:
        """Lift, slow approach, press and wait, as the installed stage writes them and a reading of it finds them."""
        holder = self.holder
        for problem in problems_of_a_whole_job(
            registry_with("holders", holder), sample_job(holder={"use": holder.name})
        ):
            fault(holder, problem)

    def _edges(self, offset: tuple[float, float]) -> bytes:
        """A program of a line round the board, with the offset taken off."""
        width, height = BOARD
        edges = np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0)])
        writer = TrialWriter(Controller("plain", "the words of the standard"), "mm", park=(-offset[0], -offset[1]))
        writer.stroke(edges - np.asarray(offset))
        return writer.end().data

    def _job(self, bed: tuple[float, float]) -> Job:
        face = {"face": f"{BOARD[0]:g} x {BOARD[1]:g} mm", "mount": "stretched"}
        machine = {"bed": f"{bed[0]:.6f} x {bed[1]:.6f} mm"}
        return sample_job(canvas=face, machine=machine, holder={"use": self.holder.name, "zero_with": "axis"})


def _size(size: tuple[float, float]) -> str:
    return f"{size[0]:g} x {size[1]:g} mm"
