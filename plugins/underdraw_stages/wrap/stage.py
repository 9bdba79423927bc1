"""Carry the drawing over the folds, side by side, and mark the folds."""

from underdraw.drawing import Drawing
from underdraw.errors import CannotDo, InputError
from underdraw.lengths import format_length
from underdraw.panel import SIDES, Box, Panel, Side
from underdraw.parts import Context, Result
from underdraw.trim import Pile, trim_pile
from underdraw_stages.wrap import WrapSettings
from underdraw_stages.wrap.drawn_sides import Shortfall, shortfalls
from underdraw_stages.wrap.fold_marks import fold_marks
from underdraw_stages.wrap.mirroring import mirror
from underdraw_stages.wrap.running_on import run_on
from underdraw_stages.wrap.side_frame import SideFrame

Modes = dict[Side, str]


def wrap(drawing: Drawing, settings: WrapSettings, context: Context) -> Result:
    """Fill the sides as asked, leave the corners blank, and mark the folds.

    Raises InputError for a drawing that is not on its board, CannotDo where a face is too small for what is asked.
    """
    panel = panel_of(drawing)
    if not panel.wraps:
        return Result(drawing, {"edges": "none"}, "nothing to wrap: the canvas is on its frame already")
    modes = laid_modes(drawing, settings)
    refuse_narrow_face(panel, modes)
    pile = Pile.of(drawing)
    keep_face_and_drawn_sides(pile, panel, modes, context)
    short = tell_what_falls_short(pile, panel, modes, context)
    pile = run_on_sides(pile, panel, modes, context)
    mirror_sides(pile, panel, modes)
    leave_corners_blank(pile, panel, settings.corner_bleed)
    marks = fold_marks(panel, drawing.job) if settings.fold_marks else None
    told = {
        "image_mm": list(panel.image),
        "fold_marks": len(marks) if marks is not None else 0,
        "mirrored_at_mm": mirrored_at(panel, modes),
        "falls_short_mm": short,
    }
    return Result(pile.drawing(on_top=marks), told, summary(panel, settings))


def panel_of(drawing: Drawing) -> Panel:
    """The panel whose board the drawing lies on. Raises InputError where it lies on none, or is wrapped already."""
    if drawing.record_of("wrap") is not None:
        raise InputError("this drawing is wrapped already; give wrap the drawing that fit wrote")
    panel = Panel.of(drawing.job) if drawing.job.canvas.face is not None else None
    if panel is None or any(abs(own - due) > 1e-3 for own, due in zip(drawing.sheet, panel.board, strict=True)):
        raise InputError("this drawing is not on its board yet; put fit before wrap")
    return panel


def laid_modes(drawing: Drawing, settings: WrapSettings) -> Modes:
    """Each side's mode as the panel lies on the board: settings name the sides as it will hang."""
    hung = list(settings.edges)
    fitted = drawing.record_of("fit")
    if fitted is not None and fitted.figures.get("laid_turned"):
        hung = hung[-1:] + hung[:-1]  # a quarter clockwise: the left side lies at the top, the top at the right
    return dict(zip(SIDES, hung, strict=True))


def refuse_narrow_face(panel: Panel, modes: Modes) -> None:
    """A side wider than the face has nothing to mirror in its outer part."""
    for side, mode in modes.items():
        axis = 0 if side in ("left", "right") else 1
        band, face = panel.side_width[axis], panel.flat_face[axis]
        if mode == "mirror" and band > face:
            raise CannotDo(
                f"the {side} side is {say(band, panel)} with its bleed, and the face only {say(face, panel)}: there is "
                f"no band so wide to mirror; --edges run-on or plain, or a shallower frame, would do"
            )


def keep_face_and_drawn_sides(pile: Pile, panel: Panel, modes: Modes, context: Context) -> None:
    """Trim to what is kept as it came: the face, and the sides it was drawn for. Warns of lines left out."""
    x0, y0, x1, y1 = panel.face_box
    w, h = panel.image
    box: Box = (
        0.0 if modes["left"] == "drawn" else x0,
        0.0 if modes["top"] == "drawn" else y0,
        w if modes["right"] == "drawn" else x1,
        h if modes["bottom"] == "drawn" else y1,
    )
    lost = float(sum(gone.sum() for _, gone in trim_pile(pile, [box])))
    if lost > max(marker.tip for marker in pile.heaps[0].base.drawing.job.markers):
        context.warn(
            f"{say(lost, panel)} of line lies past the face's edge and is left out; --edges drawn would keep it"
        )


def tell_what_falls_short(pile: Pile, panel: Panel, modes: Modes, context: Context) -> dict[str, list[list[float]]]:
    """Warn where artwork drawn for a side ends before the image's edge: {side: [[from, to along it, by], …]} in mm."""
    drawn = [side for side, mode in modes.items() if mode == "drawn"]
    kept = pile.drawing() if drawn else None
    told: dict[str, list[list[float]]] = {}
    for side in drawn:
        assert kept is not None
        frame = SideFrame.of(side, panel.face_box, panel.side_width)
        found = shortfalls(kept, frame)
        if found:
            told[side] = [[round(item.low - frame.low, 3), round(item.high - frame.low, 3), item.by] for item in found]
            context.warn(
                f"the {side} side falls short of the image's edge: {'; '.join(place(s, frame, panel) for s in found)}"
            )
    return told


def place(short: Shortfall, frame: SideFrame, panel: Panel) -> str:
    """Where a side falls short and by how much, in words; along it from the face's left or upper end."""
    whole = short.low <= frame.low and short.high >= frame.high
    where = (
        "all along" if whole else f"from {say(short.low - frame.low, panel)} to {say(short.high - frame.low, panel)}"
    )
    return f"{where} by {say(short.by, panel)}"


def run_on_sides(pile: Pile, panel: Panel, modes: Modes, context: Context) -> Pile:
    """The sides whose lines run on, filled. Warns where no line reaches them."""
    sides = [side for side, mode in modes.items() if mode == "run-on"]
    if not sides:
        return pile
    extended, ends = run_on(pile.drawing(), [SideFrame.of(side, panel.face_box, panel.side_width) for side in sides])
    if not ends:
        context.warn(
            f"no line reaches the face's edge at {', '.join(sides)}, so nothing runs on there; "
            f"fit --how cover, or --edges mirror, would do"
        )
    return Pile.of(extended)


def mirror_sides(pile: Pile, panel: Panel, modes: Modes) -> None:
    """Fill the sides that mirror: left and right first, then top and bottom, so that the corners meet."""
    for side in ("left", "right", "top", "bottom"):
        if modes[side] == "mirror":
            mirror(pile, SideFrame.of(side, panel.face_box, panel.side_width))


def mirrored_at(panel: Panel, modes: Modes) -> list[tuple[str, float]]:
    """The folds that mirror: the axis across each, and where it is. Strokes there hide nothing across the fold."""
    frames = {side: SideFrame.of(side, panel.face_box, panel.side_width) for side in SIDES}
    return [("xy"[frames[side].axis], frames[side].at) for side in SIDES if modes[side] == "mirror"]


def leave_corners_blank(pile: Pile, panel: Panel, corner_bleed: float) -> None:
    """Trim what lies in the corner squares, but for a margin beside the sides."""
    (x0, y0, x1, y1), (w, h), (sx, sy) = panel.face_box, panel.image, panel.side_width
    along_x, along_y = min(corner_bleed, sx), min(corner_bleed, sy)
    level: Box = (0.0, y0 - along_y, w, y1 + along_y)
    upright: Box = (x0 - along_x, 0.0, x1 + along_x, h)
    trim_pile(pile, [level, upright])


def summary(panel: Panel, settings: WrapSettings) -> str:
    """What a person reads."""
    w, h = panel.image
    edges = WrapSettings.__dataclass_fields__["edges"].metadata[""].kind.plain(settings.edges)
    return f"sides {edges}, on an image of {say(w, panel)} x {say(h, panel)}"


def say(mm: float, panel: Panel) -> str:
    """A length in the unit that the job's sizes are written in."""
    return format_length(mm, panel.unit)
