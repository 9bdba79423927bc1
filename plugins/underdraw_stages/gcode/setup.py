"""What a program is written with: controller, holder, heights, speeds, and where the board lies for the machine."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from underdraw import Context, Controller, Drawing, Holder
from underdraw.errors import CannotDo
from underdraw.job.sections import Job
from underdraw.machine.clock import drawing_speed
from underdraw.machine.heights import LEAST_CLEARANCE_MM, LEAST_LIFT_MM, Heights
from underdraw.machine.holder_overrides import override_warning
from underdraw.panel import Lying
from underdraw.words.lengths import MM_PER_INCH, format_length
from underdraw_stages.gcode import GcodeSettings

LEAST_TOLERANCE_STEPS = 3.5  # ends and centres are off by up to one step each way, and an arc between them by more
UNITS_MM = {"mm": 1.0, "in": MM_PER_INCH}


@dataclass(frozen=True)
class Setup:
    """Everything about machine, holder and place, in mm, mm/s and s.

    lying: how the board lies, program zero and park. speeds: by marker.
    """

    job: Job
    controller: Controller
    holder: Holder
    heights: Heights
    units: str
    lying: Lying
    speeds: dict[str, float]

    @property
    def unit_mm(self) -> float:
        """mm a unit of the program."""
        return UNITS_MM[self.units]

    @property
    def own_heights(self) -> bool:
        """Whether the controller lifts the marker by words of its own, which know no other height."""
        return any("Z" in meaning.upper() for meaning in self.controller.meanings.values())

    @property
    def decimals(self) -> int:
        """Digits after the point of coordinates."""
        return self.controller.decimals[self.units]

    @property
    def coarsest_mm(self) -> float:
        """See `coarsest_step`."""
        return coarsest_step(self.controller)

    def in_program(self, points: NDArray[np.float64], shifts: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) board points (y down) in the program's units and axes, rounded as they will be written.

        shifts: (n, 2) or (1, 2) mm, of the tips that are to be there: see `Lying.tip_shifts`.
        """
        places = self.lying.to_program(points) - shifts
        return np.asarray(np.round(places / self.unit_mm, self.decimals) + 0.0)

    @property
    def marks(self) -> list[tuple[int, float, float]]:
        """The registration marks in reach: number, and program coordinates of the first marker's tip over it."""
        lying = self.lying
        points = np.array(lying.marks, dtype=np.float64).reshape(-1, 2)
        spots = self.in_program(points, np.zeros((1, 2))).tolist()
        reached = np.ones(len(points), dtype=np.bool_)
        if lying.sections is not None and lying.section:
            low, high = lying.sections.reached(lying.section)
            reached = (lying.along(points) > low) & (lying.along(points) < high)
        return [(int(index) + 1, *spots[index]) for index in np.flatnonzero(reached)]

    def length(self, mm: float) -> float:
        """A length in the program's units, rounded as it will be written."""
        return round(mm / self.unit_mm, self.decimals)

    def per_minute(self, speed: float) -> float:
        """mm/s as a feed, rounded down so that it is never faster than asked, and never 0."""
        step = 10.0**-self.controller.feed_decimals
        return max(math.floor(speed * 60 / self.unit_mm / step + 1e-6), 1) * step


def set_up(drawing: Drawing, settings: GcodeSettings, context: Context) -> Setup:
    """Settle all that the job, the settings and the installed parts say. Raises InputError, CannotDo."""
    lying = Lying.of(drawing, context.registry, settings.holder)
    job = drawing.job
    if settings.holder is not None:
        job = replace(job, holder=replace(job.holder, use=settings.holder))
        warn_of_another_holder(job, drawing.job, context)
    controller = context.registry.controller(settings.controller)
    if settings.units not in controller.decimals:
        known = " or ".join(controller.decimals)
        raise CannotDo(f"controller {controller.name!r} does not write programs in {settings.units}; use {known}")
    if settings.optional_stops and not controller.optional_stops:
        raise CannotDo(f"controller {controller.name!r} has no optional stop (M1)\n  try: without --optional-stops")
    _require_fine_enough(controller, settings.units, settings.tolerance)
    holder = context.registry.holder(job.holder.use)
    heights = _heights(job, controller, holder, settings.units, context)
    lying.require_first_marker_plain()
    lying.require_on_bed()
    lying.require_in_reach()
    speeds = {name: drawing_speed(job, name, context.registry) for name in sorted(set(drawing.marker.tolist()))}
    return Setup(
        job=job,
        controller=controller,
        holder=holder,
        heights=heights,
        units=settings.units,
        lying=lying,
        speeds=speeds,
    )


def warn_of_another_holder(job: Job, file_job: Job, context: Context) -> None:
    """Warn where a holder chosen for this program alone has values of its own that the job goes before.

    Of the holder that the job names, whoever read the job has warned.
    """
    text = override_warning(job, context.registry) if job.holder.use != file_job.holder.use else None
    if text is not None:
        context.warn(text)


def coarsest_step(controller: Controller) -> float:
    """mm: the smallest step of a controller's programs, in the unit where it is largest.

    Moves are fitted for that one, so that inch and metric programs draw the same.
    """
    return max(10.0**-digits * UNITS_MM[unit] for unit, digits in controller.decimals.items() if unit in UNITS_MM)


def _require_fine_enough(controller: Controller, units: str, tolerance: float) -> None:
    """Raise CannotDo for a tolerance that the rounding of a program's numbers uses up."""
    least = LEAST_TOLERANCE_STEPS * 10.0 ** -controller.decimals[units] * UNITS_MM[units]
    if tolerance < least:
        fine = 10_000 if units == "in" else 1_000  # parts of the unit in which a tolerance is reported, rounded up
        would = math.ceil(least / UNITS_MM[units] * fine) / fine
        raise CannotDo(
            f"a tolerance of {tolerance / UNITS_MM[units]:.4g} {units} is less than the rounding of controller "
            f"{controller.name!r} allows; use {would:g} {units}"
        )


def _heights(job: Job, controller: Controller, holder: Holder, units: str, context: Context) -> Heights:
    """The holder's heights; a rigid one presses by no more than a marker's nib gives. Raises CannotDo."""
    heights = Heights.of(job, holder, context.registry)
    for marker in [] if holder.sprung else job.markers:
        asked = marker.press if marker.press is not None else job.holder.press or 0.0
        gives = heights.for_marker(marker).press
        if asked > gives:
            ink = context.registry.ink(marker.ink).name
            gives_words = f"by no more than {format_length(gives, 'mm')}" if gives else "by nothing"
            context.warn(
                f"holder {holder.name!r} is rigid and {ink} ink's nib gives {gives_words}: marker {marker.name!r} is "
                f"pressed in by {format_length(gives, 'mm')}; set press to that in its [[marker]]"
            )
    if heights.lift < LEAST_LIFT_MM:
        read, least = format_length(heights.lift, units), format_length(LEAST_LIFT_MM, units, "up")
        raise CannotDo(
            f"[holder] lift: at {read} the tip would drag over a canvas that is not quite flat; use {least} or more",
            keys=("holder", "lift"),
        )
    hop = job.holder.hop
    if hop is not None and hop > heights.lift:
        read, most = format_length(hop, units), format_length(heights.lift, units, "down")
        raise CannotDo(f"[holder] hop: {read} is more than the lift of {most}; use less", keys=("holder", "hop"))
    if hop is not None and any("Z" in meaning.upper() for meaning in controller.meanings.values()):
        context.warn(f"controller {controller.name!r} knows one height alone: [holder] hop is left out")
    swap = job.holder.swap_lift
    if swap is not None and swap < heights.lift:
        read, least = format_length(swap, units), format_length(heights.lift, units, "up")
        raise CannotDo(
            f"[holder] swap_lift: {read} is less than the lift of {least}; use {least} or more",
            keys=("holder", "swap_lift"),
        )
    top = job.machine.height
    if top is not None and heights.swap_height > top:
        raised, most = format_length(heights.swap_height, units), format_length(top, units, "down")
        raise CannotDo(
            f"[machine] height: the tip is to rise {raised} above the canvas, and the machine ends at {most}; use a "
            "lower lift or swap_lift in [holder]",
            keys=("machine", "height"),
        )
    clearance = job.holder.clearance
    if clearance is not None and clearance < LEAST_CLEARANCE_MM:
        least = format_length(LEAST_CLEARANCE_MM, units, "up")
        context.warn(f"the slow approach begins at {least}: lower, and a rapid would strike the canvas")
    if not controller.dwells and any(heights.for_marker(marker).settle > 0 for marker in job.markers):
        context.warn(f"controller {controller.name!r} has no dwell: the wait with the tip down is left out")
    return heights


def warn_of_inks(setup: Setup, markers: list[str], context: Context) -> None:
    """Say which inks want a spring that this holder has not, and which are likely to fade before they are done."""
    for name in markers:
        ink = context.registry.ink(setup.job.marker(name).ink)
        if ink.wants_spring and not setup.holder.sprung:
            context.warn(
                f"marker {name!r}: {ink.name} ink wants a sprung holder ({ink.source}), and {setup.holder.name!r} is "
                "rigid; its line may break off or its tip wear where the canvas is not flat"
            )
