"""A panel that is longer than the bed one way, drawn in sections: the board is moved along between them.

Program zero stays where it is on the machine, and the board moves: towards the operator, or to the left. Each section
reaches a stretch of the board, and two neighbours share a band that both can reach: there strokes are cut, and there
are the marks that the board is found again by.
"""

import math
from dataclasses import dataclass

from underdraw.drawing.boxes import Point, Size
from underdraw.job.sections import SectionCount
from underdraw.panel.geometry import Panel, kept
from underdraw.panel.marks import Mark, mark_size

# How far off a board may end up that is moved by hand, and the marks' measurement corrects (common practice, no source)
SLIDE_MM = 10.0
SKEW_DEGREES = 2.0
LEAST_BAND_MM = 100.0  # that two sections share: room for marks so far apart that they show a turn
MOST_SECTIONS = SectionCount.MOST
MARK_CLEARANCE_MM = 10.0  # from a mark's middle to the end of what a section reaches
TOLERANCE_MM = 1e-3


@dataclass(frozen=True)
class Sections:
    """How a board is moved along. Lengths in mm; along the board from its left or lower end, as it lies.

    axis: along which, 0 x and 1 y. count: how many sections. first: where the board's end lies on the bed in the first
    one, from the travel's near left end. step: how far it is moved from one to the next. length: what each reaches.
    near: the near left end of what the tip reaches on the bed, less what a board may be off by.
    """

    axis: int
    count: int
    first: float
    step: float
    near: float
    length: float

    def reached(self, section: int) -> tuple[float, float]:
        """Where along the board a section's reach begins and ends; sections are counted from 1."""
        begin = self.near - self.first + (section - 1) * self.step
        return kept(begin), kept(begin + self.length)

    def band(self, section: int) -> tuple[float, float]:
        """What a section and the next both reach."""
        return self.reached(section + 1)[0], self.reached(section)[1]

    def moved(self, section: int) -> Point:
        """How far the board has been moved since the first section, x right, y away from the operator."""
        by = -kept((section - 1) * self.step)
        return (by, 0.0) if self.axis == 0 else (0.0, by)


def sections_of(panel: Panel, offset: Point) -> Sections | None:
    """How a panel is drawn in sections, as it lies; None where its bed takes it in one go, or in no way at all.

    Also None where no bed is set, or sections are not asked for.
    """
    if panel.bed is None or panel.sections is None:
        return None
    return plan(panel, panel.bed, offset, panel.sections)


def plan(panel: Panel, bed: Size, offset: Point, asked: int | str = "auto") -> Sections | None:
    """The same for a bed; `auto`: in as few as it takes."""
    strip = panel.strip_beside
    needs = [image + strip + max(strip, abs(off)) for image, off in zip(panel.image, offset, strict=True)]
    long = [axis for axis in (0, 1) if needs[axis] > bed[axis] + TOLERANCE_MM]
    if len(long) != 1:
        return None
    (axis,) = long
    counts = range(2, MOST_SECTIONS + 1) if asked == "auto" else [int(asked)]
    return next((made for count in counts if (made := _divided(panel, bed, offset, axis, count)) is not None), None)


def _divided(panel: Panel, bed: Size, offset: Point, axis: int, count: int) -> Sections | None:
    """So many sections along an axis; None where neighbours would share too little, or nothing is reached at all."""
    strip = panel.strip_beside
    off, travel, image = offset[axis], bed[axis], panel.image[axis]
    slack = SLIDE_MM + math.tan(math.radians(SKEW_DEGREES)) * panel.image[1 - axis]
    near, far = max(0.0, off) + slack, travel + min(0.0, off) - slack
    first, last = max(strip, near), min(travel - strip, far) - image
    length = far - near
    if count < 2 or length <= 0 or first <= last:
        return None
    step = (first - last) / (count - 1)
    if length - step < LEAST_BAND_MM:
        return None
    return Sections(axis, count, kept(first), kept(step), kept(near), kept(length))


def band_marks(panel: Panel, sections: Sections) -> tuple[Mark, ...]:
    """Marks in the bleed of both long edges, near both ends of each band: drawn in one section, measured in the next.

    None where the bleed has no room for a cross.
    """
    axis = sections.axis
    size = mark_size(panel.flat_bleed[1 - axis])
    if not size:
        return ()
    inwards = panel.flat_bleed[1 - axis] / 2
    marks = []
    for section in range(1, sections.count):
        low, high = sections.band(section)
        for along in (low + MARK_CLEARANCE_MM, high - MARK_CLEARANCE_MM):
            for across in (inwards, panel.image[1 - axis] - inwards):
                spot = (along, across) if axis == 0 else (across, panel.image[1] - along)
                marks.append(Mark((kept(spot[0]), kept(spot[1])), size))
    return tuple(marks)
