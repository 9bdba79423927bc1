"""How a drawing lies: the one answer to where its board is, which way round, and where the machine's zero is on it.

Programs, rehearsals, checks, pictures and sheets all ask it. What `OnBoard` and the job state is put together here
once: the panel, turned or not, program zero, park, reach, and the motion of a board that was taken off and put back.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.boxes import Box, Point, Size
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import Motion, OnBoard
from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import Job
from underdraw.panel.bed import axis_reach, bed_fit, corner_range, fits, reach
from underdraw.panel.geometry import SIDES, Panel, Side
from underdraw.panel.sections import Sections, plan, sections_of
from underdraw.words.quantities import length_in, size_in
from underdraw.words.units import unit_of

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed

SAME_MM = 1e-3  # board sizes are kept to 1e-4
REACH_SLACK_MM = 0.01  # what rounding may add up to
LYING = "lying"  # the fact that a stage gives which puts a drawing on its board
ZERO_NAMES = {
    "board": "the board's lower left corner",
    "face": "the face's lower left corner",
    "centre": "the middle of the board",
    "pin": "the first index pin",
}
PRIME_MM = 60.0, 40.0  # the scrap that markers are primed on beside a canvas on its frame
ZERO_OF_MOVED = "where it was set before the board was moved, and stays there"


@dataclass(frozen=True)
class Lying:
    """A drawing's board as it lies on the bed. Lengths in mm.

    hung: the panel as it will hang. panel: the same as it lies, turned 90° clockwise where `turned`. board: its size as
    it lies. holder: the name of the one to use, or None for the job's. zero, park: from the board's lower left corner,
    x right, y away from the operator. reach: the box that the spindle's axis can go to, from that corner, however the
    board lies on the bed; None: no bed is set. motion, marks, measured, section: see `OnBoard`.
    """

    job: Job
    hung: Panel
    turned: bool
    registry: "Installed" = field(repr=False, compare=False)
    holder: str | None = None
    motion: Motion | None = None
    marks: tuple[Point, ...] = ()
    measured: tuple[Point, ...] = ()
    section: int = 0

    @classmethod
    def of(cls, drawing: Drawing, registry: "Installed", holder: str | None = None) -> "Lying":
        """How a drawing lies. `holder`: the name of one to use instead of the job's.

        A drawing whose job sets no face is on a stretched canvas of its own sheet's size. Raises CannotDo for one whose
        job sets a face and that is not on its board, naming the stage that puts it there; InputError for sizes that
        cannot be, or that are not the job's.
        """
        job = drawing.job
        if job.canvas.face is None:
            job = replace(job, canvas=replace(job.canvas, face=drawing.sheet, mount="stretched"))
        elif drawing.lying is None:
            raise CannotDo(
                "the job sets a face, and the drawing is not on its board yet: its lines are where the artwork's page "
                f"has them\n  try: {_stage_that_gives(registry)} before this"
            )
        fact = drawing.lying or OnBoard()
        lying = cls(
            job, Panel.of(job), fact.turned, registry, holder, fact.motion, fact.marks, fact.measured, fact.section
        )
        if any(abs(a - b) > SAME_MM for a, b in zip(lying.board, drawing.sheet, strict=True)):
            unit = unit_of(job)
            raise InputError(
                f"the drawing is {size_in(drawing.sheet, unit)} and the job's board is {size_in(lying.board, unit)}: "
                "it was made for another job or other sizes; make it anew from the artwork"
            )
        return lying

    @classmethod
    def of_job(cls, job: Job, registry: "Installed") -> "Lying | None":
        """How a job's panel is going to lie: turned where the bed takes it in no other way; None where no face is set.

        Raises InputError for sizes that cannot be. A panel that fits neither way is taken as it hangs.
        """
        if job.canvas.face is None:
            return None
        hung = Panel.of(job)
        return cls(job, hung, must_turn(hung, holder_offset(job, registry)), registry)

    @cached_property
    def offset(self) -> Point:
        """Marker tip minus spindle axis, in machine axes. Raises InputError where the holder is not installed."""
        return holder_offset(self.job, self.registry, self.holder)

    @property
    def taken_off(self) -> Point:
        """What a program takes off: nothing where zero is set with the tip, else the holder's offset."""
        return self.offset if self.job.holder.zero_with == "axis" else (0.0, 0.0)

    @property
    def axis_beside(self) -> Point:
        """What to add to program coordinates for those of the spindle's axis, from program zero on the board."""
        return self.taken_off[0] - self.offset[0], self.taken_off[1] - self.offset[1]

    def tip_shifts(self, markers: Iterable[str]) -> NDArray[np.float64]:
        """(n, 2) mm in machine axes: each marker's tip, beside the first marker's in the same holder."""
        first, *others = self.job.markers
        own = {marker.name: marker.offset for marker in (*others[::-1], first)}
        return np.array([own.get(name, first.offset) for name in markers], dtype=np.float64).reshape(-1, 2)

    def tip_shifts_on_board(self, markers: Iterable[str]) -> NDArray[np.float64]:
        """(n, 2) the same along the board's own sides, y away from the operator, wherever it was moved to."""
        shifts = self.tip_shifts(markers)
        return shifts if self.motion is None else np.asarray(shifts @ turn_matrix(self.motion.angle_deg))

    @property
    def panel(self) -> Panel:
        """The panel as it lies on the bed."""
        return self.hung.turned() if self.turned else self.hung

    @property
    def board(self) -> Size:
        """The board's size as it lies."""
        return self.panel.board

    @property
    def zero(self) -> Point:
        """Program zero, from the board's lower left corner, y away from the operator."""
        kind, (w, h) = self.job.machine.zero, self.board
        if kind == "centre":
            return w / 2, h / 2
        if kind == "pin":
            return self.job.machine.pin
        if kind == "face":
            left, _, _, bottom = self.panel.face_box
            return left, h - bottom
        return 0.0, 0.0

    @property
    def prime_box(self) -> Box | None:
        """The scrap beside a canvas on its frame, from its lower left corner, y away; None where the job names none."""
        at = self.job.machine.prime_at
        return None if at is None or self.hung.wraps else (*at, at[0] + PRIME_MM[0], at[1] + PRIME_MM[1])

    @property
    def zero_on_board(self) -> Point:
        """Program zero in board coordinates, y down: on a board that was moved, where the machine has it."""
        x, y = (self.moved_back(np.zeros((1, 2))) + np.asarray(self.zero))[0].tolist()
        return x, self.board[1] - y

    @property
    def zero_name(self) -> str:
        """What program zero is on this canvas: `the board's lower left corner`; no place on it once it was moved."""
        if self.motion is not None:
            return ZERO_OF_MOVED
        name = ZERO_NAMES[self.job.machine.zero]
        if self.hung.wraps:
            return name
        return name.replace("face", "canvas").replace("board", "canvas")  # on its frame it is all face

    @property
    def park(self) -> Point:
        """Where markers are swapped, from the board's lower left corner, y away from the operator."""
        return self.job.machine.park

    @property
    def reach(self) -> Box | None:
        """Where the spindle's axis can go, from the board's lower left corner; None: no bed is set."""
        bed = self.job.machine.bed
        if bed is None:
            return None
        box, sections = list(axis_reach(self.panel, bed, self.offset)), self.sections
        if sections is not None:  # along the way it is moved, the board lies at one point alone
            box[sections.axis] = -sections.first
            box[sections.axis + 2] = bed[sections.axis] - sections.first
        return box[0], box[1], box[2], box[3]

    @cached_property
    def sections(self) -> Sections | None:
        """How the board is moved along, where it is longer than the bed; None: it is drawn in one go."""
        return None if self.panel.sections is None else sections_of(self.panel, self.offset)

    def for_section(self, section: int) -> "Lying":
        """How the board lies for one section: as it was measured, else moved along by just what is planned."""
        if self.sections is None or section < 1 or self.section == section:
            return self
        earlier = self.marks_before(section) if section > 1 else ()
        motion = Motion(0.0, self.sections.moved(section)) if section > 1 else None
        return replace(self, section=section, motion=motion, measured=earlier)

    @property
    def is_planned(self) -> bool:
        """Whether the board is taken to be moved along by just what is planned: nobody has measured it yet."""
        sections, motion = self.sections, self.motion
        return sections is not None and self.section > 1 and motion == Motion(0.0, sections.moved(self.section))

    def corner_on_bed(self, section: int) -> Point:
        """Where the board's lower left corner goes, from the travel's near left end: as near to it as it may be.

        So near that park and the scrap to prime on are in reach, too, where they are beside the board.
        For a section of a board longer than the bed, where that section has it. A panel that does not fit is at the
        very end.
        """
        sections, bed = self.sections, self.panel.bed or self.board
        if sections is None:
            corner = bed_fit(self.panel, bed, self.offset).corner
            if corner is None:
                return -self.panel.lying_box[0], -self.panel.lying_box[1]
            low, high = np.array(reach(bed, self.offset)).reshape(2, 2)
            beside = np.array([self.park, *([self.prime_box[:2], self.prime_box[2:]] if self.prime_box else [])])
            x, y = np.maximum(corner[:2], np.minimum(low - beside.min(axis=0), high - beside.max(axis=0))).tolist()
            return x, y
        x, y, *_ = corner_range(self.panel, bed, self.offset)
        by_x, by_y = sections.moved(max(section, 1))
        return (sections.first + by_x, y) if sections.axis == 0 else (x, sections.first + by_y)

    def marks_before(self, section: int) -> tuple[Point, ...]:
        """The marks that a section reaches and that are on the canvas before it is drawn: an earlier one draws them."""
        if self.sections is None or section < 2 or not self.marks:
            return ()
        low, high = self.sections.band(section - 1)
        along = self.along(np.array(self.marks))
        return tuple(mark for mark, at in zip(self.marks, along.tolist(), strict=True) if low < at < high)

    def along(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n,) how far board points (n, 2), y down, are along the way it is moved, from its left or lower end."""
        assert self.sections is not None
        return points[:, 0] if self.sections.axis == 0 else self.board[1] - points[:, 1]

    def to_program(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) board points, y down, as program coordinates, mm: of the tip, or of the axis (`zero_with`)."""
        flipped = np.stack([points[:, 0], self.board[1] - points[:, 1]], axis=1)
        return np.asarray(self.moved(flipped - np.asarray(self.zero)) - np.asarray(self.taken_off))

    def from_program(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) program coordinates, mm, as where the tip is, from the board's lower left corner.

        `to_program` undone, but y stays away from the operator.
        """
        return np.asarray(self.moved_back(points + np.asarray(self.taken_off)) + np.asarray(self.zero))

    def moved(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) program coordinates of the tip after the board's motion."""
        if self.motion is None:
            return points
        return np.asarray(points @ turn_matrix(self.motion.angle_deg).T + np.asarray(self.motion.shift_mm))

    def moved_back(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) `moved` undone."""
        if self.motion is None:
            return points
        return np.asarray((points - np.asarray(self.motion.shift_mm)) @ turn_matrix(self.motion.angle_deg))

    @property
    def park_in_program(self) -> Point:
        """Park as program coordinates: a place of the machine, which no board's motion moves."""
        (x, y), (zx, zy), (ox, oy) = self.park, self.zero, self.taken_off
        return x - zx - ox, y - zy - oy

    def hung_side(self, side: Side) -> Side:
        """The name, as the panel hangs, of the side that lies there on the bed.

        Turned 90° clockwise, the left side lies at the top, and the top at the right.
        """
        return SIDES[(SIDES.index(side) - 1) % 4] if self.turned else side

    def as_hung(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) board points as it lies, as points of the board as it hangs, both y down."""
        if not self.turned:
            return points
        return np.column_stack([points[:, 1], self.board[0] - points[:, 0]])

    def hung_drawing(self, drawing: Drawing) -> Drawing:
        """The drawing as it hangs: pictures of the finished panel show it so."""
        if not self.turned:
            return drawing
        assert drawing.lying is not None
        marks = self.as_hung(np.array(self.marks).reshape(-1, 2)).tolist()
        lying = replace(drawing.lying, turned=False, marks=tuple((x, y) for x, y in marks))
        return drawing.replace(coords=self.as_hung(drawing.coords), sheet=self.hung.board, lying=lying)

    def require_first_marker_plain(self) -> None:
        """Raise CannotDo where the first marker has an offset: the others' are measured from its tip."""
        first = self.job.markers[0]
        if first.offset != (0.0, 0.0):
            raise CannotDo(
                f"[[marker]] offset: {first.name!r} is the first marker, and the others' tips are measured from its "
                "own\n  try: leave it out there, and set [holder] offset",
                keys=("marker", "offset"),
            )

    def require_on_bed(self) -> None:
        """Raise CannotDo, with each reason and every remedy, where the bed does not take the panel."""
        require_on_bed(self.panel, self.offset)

    def require_in_reach(self) -> None:
        """Raise CannotDo where the axis cannot go to park, or to the pin where zero is set, however the board lies."""
        machine, reach, unit = self.job.machine, self.reach, self.hung.unit
        if reach is None or machine.bed is None:
            return
        self._require_zero_in_first_section()
        x0, y0, x1, y1 = reach
        park = (machine.park[0] - self.offset[0], machine.park[1] - self.offset[1])
        spots = [("park", machine.park, park, self.offset)]
        over = (self.axis_beside[0] + machine.pin[0], self.axis_beside[1] + machine.pin[1])
        tip = (-self.axis_beside[0], -self.axis_beside[1])
        spots += [("pin", machine.pin, over, tip)] if machine.zero == "pin" else []
        for key, written, (x, y), tip in spots:
            if x0 - REACH_SLACK_MM <= x <= x1 + REACH_SLACK_MM and y0 - REACH_SLACK_MM <= y <= y1 + REACH_SLACK_MM:
                continue
            near = size_in((x0 + tip[0], y0 + tip[1]), unit, "up")
            far = size_in((x1 + tip[0], y1 + tip[1]), unit, "down")
            raise CannotDo(
                f"[machine] {key}: {size_in(written, unit)} is off the bed of {size_in(machine.bed, unit)}, however "
                f"the board lies on it; use a point from {near} to {far} of the board's "
                "lower left corner",
                keys=("machine", key),
            )

    def name_of_measured(self, index: int) -> str:
        """What a point is called that the board was measured at: a mark by its number, any other in its turn."""
        point = self.measured[index]
        return f"mark {self.marks.index(point) + 1}" if point in self.marks else f"point {index + 1}"

    def beyond_reach(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n,) mm by which the axis cannot put the tip over board points (n, 2), y down; 0 or less: it can."""
        if self.reach is None:
            return np.full(len(points), -np.inf)
        spots = self.to_program(points) + np.asarray(self.axis_beside) + np.asarray(self.zero)
        room = np.asarray(self.reach)
        return np.asarray(np.maximum(room[:2] - spots, spots - room[2:]).max(axis=1))

    def require_drawing_in_reach(self, drawing: Drawing) -> None:
        """Raise CannotDo where the board has moved so far that the tip does not get to all of its strokes."""
        if not len(drawing.coords):
            return
        over = self.beyond_reach(drawing.coords)
        worst = int(over.argmax())
        if over[worst] > REACH_SLACK_MM:
            x, y = drawing.coords[worst].tolist()
            by = length_in(float(over[worst]), self.hung.unit, "up")
            raise CannotDo(
                f"as the board lies now, the line at {size_in((x, y), self.hung.unit)} (right and down from its upper "
                f"left corner) is {by} beyond the reach\n"
                "  try: move the board by that towards the middle of the bed, and measure it again"
            )

    def _require_zero_in_first_section(self) -> None:
        """Raise CannotDo where the tip cannot be put over program zero before a long board is moved along."""
        if self.sections is None:
            return
        along, (_, end) = self.zero[self.sections.axis], self.sections.reached(1)
        if along > end + REACH_SLACK_MM:
            unit = self.hung.unit
            raise CannotDo(
                f"[machine] zero: {self.zero_name} is {length_in(along, unit)} along the board, and the first section "
                f'reaches {length_in(end, unit, "down")} of it\n  try: zero = "board"',
                keys=("machine", "zero"),
            )


def placed(hung: Panel, offset: Point, *, may_turn: bool = True) -> bool:
    """Whether a panel is turned 90° to lie on its bed. Raises CannotDo where the bed takes it neither way."""
    turned = may_turn and must_turn(hung, offset)
    require_on_bed(hung.turned() if turned else hung, offset, may_turn)
    return turned


def must_turn(hung: Panel, offset: Point) -> bool:
    """Whether the bed takes a panel turned 90° and in no other way, or in fewer sections than as it hangs."""
    if hung.bed is None or fits(hung, hung.bed, offset):
        return False
    if fits(hung.turned(), hung.bed, offset):
        return True
    upright, level = sections_of(hung, offset), sections_of(hung.turned(), offset)
    return level is not None and (upright is None or level.count < upright.count)


def holder_offset(job: Job, registry: "Installed", holder: str | None = None) -> Point:
    """The marker tip's offset from the spindle axis, in machine axes: the job's own, else its holder's."""
    if job.holder.offset is not None:
        return job.holder.offset
    return registry.holder(holder or job.holder.use).offset


def require_on_bed(panel: Panel, offset: Point = (0.0, 0.0), may_turn: bool = False) -> None:
    """Raise CannotDo, with each reason and every remedy, for a panel that does not fit its bed; may_turn: `bed_fit`."""
    if panel.bed is None:
        return
    lying = bed_fit(panel, panel.bed, offset, may_turn)
    if lying.fits or sections_of(panel, offset) is not None:
        return
    remedies = "".join(f"\n  try: {remedy.text}" for remedy in lying.remedies)
    remedies += in_sections(panel, offset, may_turn)
    remedies = remedies or "; only a larger bed takes it"
    raise CannotDo(f"the panel does not fit the bed: {'; '.join(lying.reasons)}{remedies}", keys=("machine", "bed"))


def in_sections(panel: Panel, offset: Point, may_turn: bool) -> str:
    """The remedy of drawing a panel in sections, where it can be; "" where it cannot."""
    assert panel.bed is not None
    ways = [panel, panel.turned()] if may_turn else [panel]
    plans = [found for way in ways if (found := plan(way, panel.bed, offset)) is not None]
    if not plans:
        return ""
    count = min(found.count for found in plans)
    asked = f", not {panel.sections}" if panel.sections not in (None, "auto") else ""
    return (
        f'\n  try: draw it in {count} sections, the board moved along between them: [machine] sections = "auto"{asked}'
    )


def turn_matrix(degrees: float) -> NDArray[np.float64]:
    """(2, 2) a turn, counter-clockwise where y is up, clockwise where it is down; exact for quarters.

    Points (n, 2) are turned by `points @ matrix.T`.
    """
    quarter, rest = divmod(degrees, 90.0)
    if rest == 0.0:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        c, s = float(np.cos(np.radians(degrees))), float(np.sin(np.radians(degrees)))
    return np.array([[c, -s], [s, c]])


def _stage_that_gives(registry: "Installed") -> str:
    """The installed stages that put a drawing on its board, by name."""
    names = [f"underdraw {stage.name}" for stage in registry.stages.values() if LYING in stage.gives]
    return " or ".join(names) or "install a stage that puts drawings on their board"
