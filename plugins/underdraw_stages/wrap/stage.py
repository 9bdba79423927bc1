"""Carry the drawing over the folds, side by side, and mark the folds and the board."""

from dataclasses import dataclass, replace

import numpy as np

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import MirrorFold
from underdraw.drawing.trimming import ShapeBatches, trim_batches
from underdraw.errors import CannotDo, InputError
from underdraw.panel import SIDES, Box, Lying, Mark, Panel, Side, band_marks, corner_marks
from underdraw.plugins.parts import Context, Result
from underdraw.words.quantities import counted, distance, length_in, size_in
from underdraw_stages.wrap import WrapSettings
from underdraw_stages.wrap.drawn_sides import Shortfall, shortfalls
from underdraw_stages.wrap.edges import Edges
from underdraw_stages.wrap.marks import as_drawing, fold_marks, registration_marks
from underdraw_stages.wrap.mirroring import mirror
from underdraw_stages.wrap.running_on import run_on
from underdraw_stages.wrap.side_frame import SideFrame

SIDES_ARE = {"mirror": "mirrored", "run-on": "run on", "plain": "plain", "drawn": "as drawn"}


@dataclass(frozen=True)
class PanelSide:
    """One side as it lies on the board, what it is to show, and its name as the panel will hang."""

    side: Side
    mode: str
    name: str
    frame: SideFrame


def wrap(drawing: Drawing, settings: WrapSettings, context: Context) -> Result:
    """Fill the sides as asked, leave the corners blank, and mark the folds and the board.

    Raises InputError for a drawing that is not on its board, CannotDo where a face is too small for what is asked.
    """
    lying = lying_of(drawing, context)
    panel = lying.panel
    if not panel.wraps:
        return Result(drawing, {"edges": "none"}, "nothing to wrap: the canvas is on its frame already")
    edges = edges_of(drawing, settings)
    sides = sides_of(lying, edges)
    refuse_narrow_face(panel, sides)
    batches = ShapeBatches.of(drawing)
    lost = keep_face_and_drawn_sides(batches, panel, sides)
    left_out = tell_what_is_left_out(lost, drawing, panel, context)
    short = tell_what_falls_short(batches, drawing, panel, sides, context)
    batches = run_on_sides(batches, sides, context)
    mirror_sides(batches, sides)
    leave_corners_blank(batches, panel, settings.corner_bleed)
    marks = marks_of(lying, context) if settings.marks else ()
    lines = [fold_marks(panel, drawing.job)] if settings.fold_marks else []
    figures = {
        "edges": Edges().plain(edges),
        "image_mm": list(panel.image),
        "fold_marks": len(lines[0].lines) if lines else 0,
        "marks_mm": [list(mark.at) for mark in marks],
        "falls_short_mm": short,
    }
    lines.append(registration_marks(marks, drawing))
    assert drawing.lying is not None
    wrapped = batches.drawing(on_top=as_drawing(lines, panel, drawing.job)).replace(
        lying=replace(drawing.lying, wrapped=True, marks=tuple(mark.at for mark in marks)),
        mirror_folds=mirror_folds(sides),
    )
    return Result(wrapped, figures, summary(panel, edges, marks, settings) + left_out)


def lying_of(drawing: Drawing, context: Context) -> Lying:
    """How the drawing lies. Raises InputError where it is on no board, or is wrapped already."""
    if drawing.lying is None:
        raise InputError("this drawing is not on its board yet; put fit before wrap")
    if drawing.lying.wrapped:
        raise InputError("this drawing is wrapped already; give wrap the drawing that fit wrote")
    return Lying.of(drawing, context.registry)


def marks_of(lying: Lying, context: Context) -> tuple[Mark, ...]:
    """In the corners, and where sections of a board meet that is longer than the bed."""
    panel, sections = lying.panel, lying.sections
    if sections is None:
        return corner_marks(panel)
    between = band_marks(panel, sections)
    if not between:
        context.warn(
            "the bleed has no room for marks where sections meet: measure other points there, with at in the readings; "
            "a bleed of 1/4 in or more ends this"
        )
    return (*corner_marks(panel), *between)


def edges_of(drawing: Drawing, settings: WrapSettings) -> tuple[str, str, str, str]:
    """What each side shows, as the panel hangs: as asked, or drawn where the artwork covers the sides, else plain."""
    if settings.edges is not None:
        return settings.edges
    drawn = drawing.lying is not None and drawing.lying.sides_drawn
    return ("drawn",) * 4 if drawn else ("plain",) * 4


def sides_of(lying: Lying, edges: tuple[str, str, str, str]) -> list[PanelSide]:
    """The four sides as they lie. `edges` names them as the panel will hang."""
    panel, modes = lying.panel, dict(zip(SIDES, edges, strict=True))
    return [
        PanelSide(side, modes[name], name, SideFrame.of(side, panel.face_box, panel.side_width))
        for side, name in ((side, lying.hung_side(side)) for side in SIDES)
    ]


def refuse_narrow_face(panel: Panel, sides: list[PanelSide]) -> None:
    """A side wider than the face has nothing to mirror in its outer part. Raises CannotDo."""
    for side in sides:
        band, face = side.frame.width, panel.flat_face[side.frame.axis]
        if side.mode == "mirror" and band > face:
            raise CannotDo(
                f"the {side.name} side is {say(band, panel)} with its bleed, and the face only {say(face, panel)}: "
                f"there is no band so wide to mirror; use --edges run-on or plain, or a shallower frame"
            )


def keep_face_and_drawn_sides(batches: ShapeBatches, panel: Panel, sides: list[PanelSide]) -> float:
    """Trim to what is kept as it came, the face and the sides it was drawn for; gives back mm of line left out.

    Raises CannotDo where nothing is left.
    """
    drawn = {side.side for side in sides if side.mode == "drawn"}
    (x0, y0, x1, y1), (w, h) = panel.face_box, panel.image
    box: Box = (
        0.0 if "left" in drawn else x0,
        0.0 if "top" in drawn else y0,
        w if "right" in drawn else x1,
        h if "bottom" in drawn else y1,
    )
    lost = float(sum(gone.sum() for _, gone in trim_batches(batches, [box])))
    if not any(remaining.any() for remaining in batches.remaining):
        raise CannotDo("nothing of the drawing lies on the face; use another place for it in fit, or --edges drawn")
    return lost


def tell_what_is_left_out(lost: float, drawing: Drawing, panel: Panel, context: Context) -> str:
    """Words for the summary where the lines were past the artwork's page, which nobody saw; else a warning."""
    if lost <= max(marker.tip for marker in drawing.job.markers):
        return ""
    warning = f"left out {distance(lost, panel.unit)} of line past the face's edge; --edges drawn keeps it"
    if page_is_on(panel.face_box, drawing):
        return f"\n  {warning}"
    context.warn(warning)
    return ""


def page_is_on(box: Box, drawing: Drawing) -> bool:
    """Whether all of the artwork's page is within a box, so that lines past the box were past the page's edge, too."""
    page = drawing.lying.page if drawing.lying is not None else ()
    (x0, y0, x1, y1), slack = box, 1e-3
    return bool(page) and all(x0 - slack <= x <= x1 + slack and y0 - slack <= y <= y1 + slack for x, y in page)


def tell_what_falls_short(
    batches: ShapeBatches, drawing: Drawing, panel: Panel, sides: list[PanelSide], context: Context
) -> dict[str, list[list[float]]]:
    """Warn where lines that reach the page's edge end before the image's: {side: [[from, to along it, by], …]}, mm."""
    stretches: dict[str, list[list[float]]] = {}
    drawn = [side for side in sides if side.mode == "drawn"]
    kept = batches.drawing() if drawn else None
    page = np.array(drawing.lying.page if drawing.lying is not None else ()).reshape(-1, 2)
    for side in drawn:
        assert kept is not None
        found = shortfalls(kept, page, side.frame)
        if found:
            start = side.frame.low
            stretches[side.name] = [
                [round(item.low - start, 3), round(item.high - start, 3), item.by] for item in found
            ]
            where = "; ".join(place(item, side.frame, panel) for item in found)
            context.warn(
                f"the {side.name} side: lines end at the page's edge, short of the image's: {where}; "
                "fit --how cover reaches the image's edge"
            )
    return stretches


def place(short: Shortfall, frame: SideFrame, panel: Panel) -> str:
    """Where a side's lines do not reach and by how much, in words; along it from the face's left or upper end."""
    whole = short.low <= frame.low and short.high >= frame.high
    where = (
        "all along" if whole else f"from {say(short.low - frame.low, panel)} to {say(short.high - frame.low, panel)}"
    )
    return f"{where} by {say(short.by, panel)}"


def run_on_sides(batches: ShapeBatches, sides: list[PanelSide], context: Context) -> ShapeBatches:
    """The sides whose lines run on, filled. Warns where no line reaches them."""
    chosen = [side for side in sides if side.mode == "run-on"]
    if not chosen:
        return batches
    extended, ends = run_on(batches.drawing(), [side.frame for side in chosen])
    blank = [side.name for side, count in zip(chosen, ends, strict=True) if not count]
    if blank:
        context.warn(
            f"no line reaches the face's edge at {', '.join(blank)}, so nothing runs on there; "
            f"use fit --how cover, or --edges mirror"
        )
    return ShapeBatches.of(extended)


def mirror_sides(batches: ShapeBatches, sides: list[PanelSide]) -> None:
    """Fill the sides that mirror: left and right first, then top and bottom, so that the corners meet."""
    for side in sorted(sides, key=lambda side: side.frame.axis):
        if side.mode == "mirror":
            mirror(batches, side.frame)


def mirror_folds(sides: list[PanelSide]) -> tuple[MirrorFold, ...]:
    """The folds that mirror. Strokes there hide nothing across the fold."""
    return tuple(
        MirrorFold("x" if side.frame.axis == 0 else "y", side.frame.at) for side in sides if side.mode == "mirror"
    )


def leave_corners_blank(batches: ShapeBatches, panel: Panel, corner_bleed: float) -> None:
    """Trim what lies in the corner squares, but for a margin beside the sides."""
    (x0, y0, x1, y1), (w, h), (sx, sy) = panel.face_box, panel.image, panel.side_width
    along_x, along_y = min(corner_bleed, sx), min(corner_bleed, sy)
    level: Box = (0.0, y0 - along_y, w, y1 + along_y)
    upright: Box = (x0 - along_x, 0.0, x1 + along_x, h)
    trim_batches(batches, [level, upright])


def summary(panel: Panel, edges: tuple[str, str, str, str], marks: tuple[Mark, ...], settings: WrapSettings) -> str:
    """What a person reads."""
    chosen = Edges().plain(edges)
    bare = settings.edges is None and chosen == "plain"
    sides = "stay bare (--edges mirror or run-on carries the drawing round)" if bare else SIDES_ARE.get(chosen, chosen)
    where = "in the corners, which fold away" if len(marks) == 4 else "in corners and bleed, out of sight later"
    crosses = f"\n  {counted(len(marks), 'registration mark')} {where}" if marks else ""
    return f"sides {sides}, image {size_in(panel.image, panel.unit)}{crosses}"


def say(mm: float, panel: Panel) -> str:
    """A length in the unit that the job's sizes are written in."""
    return length_in(mm, panel.unit)
