"""Whether a panel lies on the router's bed within the marker's reach, why not, and which change makes it.

The bed is the travel of the spindle's axis; the canvas lies on it whole, or the board alone, where the staple strip is
folded down the board's edge. A marker carried beside that axis reaches the
travel shifted by its offset, so what it can draw on the bed is shorter by the offset's size, on one side. Along each
axis the image needs its own length, a staple strip on one end, and on the other end the strip or the offset,
whichever is more.
"""

import contextlib
import math
from dataclasses import dataclass, replace

from underdraw.drawing.boxes import Box, Point, Size
from underdraw.errors import InputError
from underdraw.panel.geometry import Panel, kept
from underdraw.words.lengths import MM_PER_INCH, format_inches, format_length, parse_length

TOLERANCE_MM = 1e-3  # a micrometre: below any step of a router, above the rounding of sums
LEAST_RETURN_MM = MM_PER_INCH  # 1 in behind the frame for stretching and stapling: common practice, no source
AXES = ("wide", "tall")


@dataclass(frozen=True)
class Remedy:
    """One change that makes the panel fit: what to write or do, and the panel it gives (None: same panel)."""

    text: str
    panel: Panel | None = None


@dataclass(frozen=True)
class BedFit:
    """How a panel lies on a bed. `need` and `over` (mm, along x and y) count the holder's offset.

    `corner`: where the board's lower left corner may lie, as a box in bed coordinates (x right, y away from the
    operator, from the travel's near left end); None where nothing fits.
    """

    fits: bool
    bed: Size
    need: Size
    over: Size
    corner: Box | None
    reasons: tuple[str, ...] = ()
    remedies: tuple[Remedy, ...] = ()


def reach(bed: Size, offset: Point) -> Box:
    """The part of the bed that the marker's tip reaches, in bed coordinates.

    `offset`: tip minus spindle axis, in machine axes (x right, y away from the operator).
    """
    (w, h), (ox, oy) = bed, offset
    return max(0.0, ox), max(0.0, oy), w + min(0.0, ox), h + min(0.0, oy)


def needed(panel: Panel, offset: Point) -> Size:
    """The travel that a panel takes, along x and y, laid as it is."""
    strip = panel.strip_beside
    w, h = (image + strip + max(strip, abs(off)) for image, off in zip(panel.image, offset, strict=True))
    return w, h


def fits(panel: Panel, bed: Size, offset: Point = (0.0, 0.0)) -> bool:
    """Whether the whole canvas lies on the bed with the image in reach, laid as it is."""
    return all(need <= travel + TOLERANCE_MM for need, travel in zip(needed(panel, offset), bed, strict=True))


def bed_fit(panel: Panel, bed: Size, offset: Point = (0.0, 0.0), may_turn: bool = False) -> BedFit:
    """How a panel lies on a bed: with each reason where it does not, and every single change that makes it fit.

    may_turn: a panel that fits only turned 90° will be laid so without being asked. Then a change is a remedy where the
    panel fits either way, and the reasons are those of the way that misses by less.
    """
    need = needed(panel, offset)
    over = (max(0.0, need[0] - bed[0]), max(0.0, need[1] - bed[1]))
    if fits(panel, bed, offset):
        return BedFit(True, bed, need, (0.0, 0.0), corner_range(panel, bed, offset))
    turned = panel.turned()
    ways = (panel, turned) if may_turn and not fits(turned, bed, offset) else (panel,)
    nearest = min(ways, key=lambda way: missing(way, bed, offset))
    reasons = tuple(
        f"{'' if nearest is panel else 'turned 90°, '}{reason(nearest, bed, offset, axis)}"
        for axis, (short, travel) in enumerate(zip(needed(nearest, offset), bed, strict=True))
        if short > travel + TOLERANCE_MM
    )
    return BedFit(False, bed, need, over, None, reasons, remedies(panel, ways, bed, offset))


def missing(panel: Panel, bed: Size, offset: Point) -> float:
    """mm of travel that a panel lacks, along x and y together, laid as it is."""
    return sum(max(0.0, need - travel) for need, travel in zip(needed(panel, offset), bed, strict=True))


def corner_range(panel: Panel, bed: Size, offset: Point) -> Box:
    """Where the board's lower left corner may lie on the bed, canvas on it whole and image in reach."""
    strip = panel.strip_beside
    low, high = [], []
    for image, travel, off in zip(panel.image, bed, offset, strict=True):
        low.append(max(strip, off))
        high.append(max(low[-1], min(travel - strip, travel + min(0.0, off)) - image))
    return kept(low[0]), kept(low[1]), kept(high[0]), kept(high[1])


def axis_reach(panel: Panel, bed: Size, offset: Point) -> Box:
    """Where the spindle's axis can go, from the board's lower left corner, however the board lies on the bed."""
    x0, y0, x1, y1 = corner_range(panel, bed, offset)
    return -x1, -y1, bed[0] - x0, bed[1] - y0


def reason(panel: Panel, bed: Size, offset: Point, axis: int) -> str:
    """Why a panel does not lie on the bed along one axis."""
    travel, canvas = bed[axis], panel.image[axis] + 2 * panel.strip_beside
    what = ("canvas" if panel.strip == "flat" else "board") if panel.wraps else "stretched canvas"
    if canvas > travel + TOLERANCE_MM:
        return (
            f"the {what} is {say(canvas, panel)} {AXES[axis]} and the bed {say(travel, panel)}: "
            f"{say(canvas - travel, panel)} too {AXES[axis]}"
        )
    strip = f" beside its {say(panel.staple, panel)} staple strip" if panel.strip_beside else ""
    left, over = travel - abs(offset[axis]), needed(panel, offset)[axis] - travel
    if left <= TOLERANCE_MM:
        return (
            f"the holder's offset of {say(offset[axis], panel)} is as much as the bed's {say(travel, panel)} or more: "
            "the marker reaches nothing of it"
        )
    return (
        f"the holder's offset of {say(offset[axis], panel)} leaves a reach of {say(left, panel)}, and the image is "
        f"{say(panel.image[axis], panel)} {AXES[axis]}{strip}: {say(over, panel)} too {AXES[axis]}"
    )


def remedies(panel: Panel, ways: tuple[Panel, ...], bed: Size, offset: Point) -> tuple[Remedy, ...]:
    """Every single change that makes a panel fit, each tried as it is written; the least trouble first.

    ways: the panel as it is, and turned 90° where it would be laid so if only that fits.
    """
    found = [
        turn(panel) if len(ways) == 1 else None,
        strip_down(panel),
        *(shorter(panel, name, ways, bed, offset) for name in ("bleed", "depth", "staple")),
        smaller_face(panel, ways, bed, offset),
        stretched_first(panel),
    ]
    good = [remedy for remedy in found if remedy and remedy.panel and fits_some_way(remedy.panel, ways, bed, offset)]
    if offset != (0.0, 0.0) and fits_some_way(panel, ways, bed):
        good.append(Remedy("a holder with a smaller offset"))
    return tuple(good)


def fits_some_way(panel: Panel, ways: tuple[Panel, ...], bed: Size, offset: Point = (0.0, 0.0)) -> bool:
    """Whether a changed panel lies on the bed in one of as many ways as the first one may be laid."""
    return fits(panel, bed, offset) or (len(ways) > 1 and fits(panel.turned(), bed, offset))


def turn(panel: Panel) -> Remedy:
    """Turn the panel 90°."""
    w, h = (plain(side, panel) for side in panel.face[::-1])
    return Remedy(
        f'turn it 90°: [canvas] face = "{w} x {h}"',
        replace(panel, face=(parse_length(w), parse_length(h)), stretch=panel.stretch[::-1]),
    )


def strip_down(panel: Panel) -> Remedy | None:
    """Fold the staple strip down before the board goes onto the bed."""
    if not panel.strip_beside:
        return None
    return Remedy(
        'fold the staple strip down and staple it to the board\'s edge: [canvas] strip = "down"',
        panel.with_sizes(strip="down"),
    )


def shorter(panel: Panel, name: str, ways: tuple[Panel, ...], bed: Size, offset: Point) -> Remedy | None:
    """Take what is over from bleed, depth or staple strip, half on each side; None where too little would be left."""
    if not panel.wraps or (name == "staple" and not panel.strip_beside):
        return None
    most = max(longest_left(way, name, bed, offset) for way in ways)
    least = 0.0 if name == "bleed" else step(panel)
    value = plain(down(most, panel), panel)
    left = parse_length(value)
    if left < least or left >= getattr(panel, name):
        return None
    if name != "depth" and panel.return_mm - getattr(panel, name) + left < min(LEAST_RETURN_MM, panel.return_mm):
        return None  # too little behind the frame to stretch and staple
    words = {"bleed": "less bleed", "depth": "a shallower frame", "staple": "a narrower staple strip"}[name]
    return Remedy(f'{words}: [canvas] {name} = "{value}"', panel.with_sizes(**{name: left}))


def longest_left(panel: Panel, name: str, bed: Size, offset: Point) -> float:
    """The most that a size may be with the panel laid as it is; below 0 where not even none of it fits."""
    if name == "staple":
        room = [travel - image for travel, image in zip(bed, panel.image, strict=True)]
        return min(min(left / 2, left - abs(off)) for left, off in zip(room, offset, strict=True))
    over = [max(0.0, need - travel) for need, travel in zip(needed(panel, offset), bed, strict=True)]
    return float(getattr(panel, name) - max(part * grow / 2 for part, grow in zip(over, panel.scale, strict=True)))


def smaller_face(panel: Panel, ways: tuple[Panel, ...], bed: Size, offset: Point) -> Remedy | None:
    """Cut the face down to what lies on the bed, so that the most of it is left."""
    found = []
    for most in largest_faces(panel, bed, offset)[: len(ways)]:
        w, h = (
            plain(down(limit, panel) if side > limit else side, panel)
            for side, limit in zip(panel.face, most, strict=True)
        )
        face = (parse_length(w), parse_length(h))
        with contextlib.suppress(InputError):
            found.append(Remedy(f'a smaller face: [canvas] face = "{w} x {h}"', panel.with_sizes(face=face)))
    found = [remedy for remedy in found if remedy.panel and fits_some_way(remedy.panel, ways, bed, offset)]
    return max(found, key=lambda remedy: math.prod(remedy.panel.face) if remedy.panel else 0.0, default=None)


def stretched_first(panel: Panel) -> Remedy | None:
    """Stretch the canvas before it is drawn, and draw the face alone."""
    if not panel.wraps:
        return None
    return Remedy(
        'draw the face alone on canvas already on its frame: [canvas] mount = "stretched"',
        panel.with_sizes(mount="stretched"),
    )


def largest_faces(panel: Panel, bed: Size, offset: Point = (0.0, 0.0)) -> tuple[Size, Size]:
    """The largest face whose whole canvas lies on the bed: as its sides stand, and for a panel turned 90°.

    The second is given as the finished panel hangs, so it is wide where the first is tall. A side of 0 or less: none.
    """
    return largest_face(panel, bed, offset), largest_face(panel.turned(), bed, offset)[::-1]


def largest_face(panel: Panel, bed: Size, offset: Point) -> Size:
    """The largest face, laid as its sides stand; what does not depend on the face is the panel's."""
    strip = panel.strip_beside
    sides = []
    for travel, off, side, grow in zip(bed, offset, panel.side_width, panel.scale, strict=True):
        flat = travel - strip - max(strip, abs(off)) - 2 * side
        sides.append(max(0.0, math.floor(flat * grow * 1e4 + 1e-3) / 1e4))
    return sides[0], sides[1]


def step(panel: Panel) -> float:
    """The steps in which a size is proposed: 1/16 in or 0.5 mm."""
    return MM_PER_INCH / 16 if panel.unit == "in" else 0.5


def down(mm: float, panel: Panel) -> float:
    """A length rounded down to a step that a person can measure."""
    return math.floor(mm / step(panel) + 1e-6) * step(panel)


def plain(mm: float, panel: Panel) -> str:
    """A length as a job can read it: inches as a fraction where it is one; never more than it is."""
    if panel.unit == "in" and abs(mm / step(panel) - round(mm / step(panel))) < 1e-6:
        return format_inches(mm)
    return format_length(mm, panel.unit, "down")


def say(mm: float, panel: Panel) -> str:
    """A length for a message, in the unit the sizes were written in."""
    return format_length(mm, panel.unit)
