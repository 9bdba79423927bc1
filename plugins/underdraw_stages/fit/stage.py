"""Scale, turn and place the artwork on the board; refuse a panel that the bed cannot take."""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.trimming import Trimmed, trim
from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import Job
from underdraw.panel import Box, Panel, holder_offset, laid_panel, require_on_bed
from underdraw.plugins.parts import Context, Result
from underdraw.words.lengths import format_exactly, format_length
from underdraw.words.units import unit_of
from underdraw_stages.fit import FitSettings
from underdraw_stages.fit.placing import Placing, placing, target_box


def fit(drawing: Drawing, settings: FitSettings, context: Context) -> Result:
    """Place the artwork on the board of its job's panel.

    Raises CannotDo where the panel misses the bed or nothing is left of the artwork, InputError for impossible sizes.
    """
    refuse_second_fit(drawing)
    job = with_face(drawing)
    hung, laid = hung_and_laid(job, settings, context)
    placed, put = place(with_markers(drawing), hung, settings)
    cut = trim(placed, [hung.image_box])  # what lies past the face is wrap's to keep or leave out
    whole = page_on_face(drawing, put, hung)
    past = tell_what_is_lost(cut, placed, hung, whole, context)
    board = lay(cut.drawing, job, hung, laid)
    return Result(board, figures(put, hung, laid, cut, whole), summary(put, hung, laid, board, past))


def refuse_second_fit(drawing: Drawing) -> None:
    """Raise InputError for a drawing that is on its board already: it would be scaled twice."""
    if drawing.record_of("fit") is not None:
        raise InputError("this drawing was fitted already; give fit the drawing that import wrote")


def with_face(drawing: Drawing) -> Job:
    """The drawing's job, its face the artwork's page where it says none."""
    if drawing.job.canvas.face is not None:
        return drawing.job
    w, h = drawing.sheet
    unit = unit_of(drawing.job)
    return drawing.job.with_canvas(face=f"{format_exactly(w, unit)} x {format_exactly(h, unit)}")


def hung_and_laid(job: Job, settings: FitSettings, context: Context) -> tuple[Panel, Panel]:
    """The panel as it will hang, and as it lies on the bed. Raises CannotDo where it does not."""
    offset = holder_offset(job, context.registry)
    hung = Panel.of(job)
    laid = laid_panel(job, offset) if settings.auto_turn else hung
    require_on_bed(laid, offset, settings.auto_turn)
    return hung, laid


def with_markers(drawing: Drawing) -> Drawing:
    """The same drawing, each shape with the marker of its colour where it has none yet."""
    unset = drawing.marker == ""
    if not unset.any():
        return drawing
    colours = np.where(drawing.stroke != "", drawing.stroke, drawing.fill)
    chosen = {colour: drawing.job.marker_for(colour).name for colour in set(colours[unset])}
    marker = drawing.marker.copy()
    marker[unset] = [chosen[colour] for colour in colours[unset]]
    return drawing.replace(marker=marker)


def place(drawing: Drawing, panel: Panel, settings: FitSettings) -> tuple[Drawing, Placing]:
    """The artwork on the flat board, nothing cut yet, and how it was put there."""
    corners = corners_of(drawing, settings.of)
    target = target_box(panel, settings.covers, settings.margin)
    put = placing(panel, corners, settings.how, settings.turn, settings.align, target)
    coords = drawing.coords @ put.matrix.T + put.shift
    return drawing.replace(coords=coords, stroke_width=drawing.stroke_width * put.scale, sheet=panel.board), put


def corners_of(drawing: Drawing, of: str) -> NDArray[np.float64]:
    """(n, 2) points that span what is fitted: the page, or everything drawn. Raises CannotDo for an empty drawing."""
    if not len(drawing.coords):
        raise CannotDo("there is nothing to fit: the drawing has no lines")
    if of == "artwork":
        return drawing.coords
    w, h = drawing.sheet
    return np.array([(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)])


def tell_what_is_lost(cut: Trimmed, placed: Drawing, panel: Panel, whole: bool, context: Context) -> float:
    """Warn of lines beyond the board, longer than their marker's tip is wide; raise CannotDo where all is lost.

    whole: see `page_on_face`; what lay past the page was never seen: no alarm, its length in mm is handed back.
    """
    if not len(cut.drawing):
        raise CannotDo("all of the artwork lies outside the board; --of artwork --how contain would do")
    tips = {name: placed.job.marker(name).tip for name in set(placed.marker)}
    seen = cut.lost > np.array([tips[name] for name in placed.marker])
    if whole or not seen.any():
        return float(cut.lost[seen].sum())
    count = f"{seen.sum()} shapes" if seen.sum() > 1 else "one shape"
    context.warn(
        f"{say(float(cut.lost[seen].sum()), panel)} of line in {count} lies outside the board and is left out "
        f"({beyond(placed.select(seen), panel.image_box, panel)}); --how contain keeps all that is on the page"
    )
    return 0.0


def page_on_face(drawing: Drawing, put: Placing, panel: Panel) -> bool:
    """Whether the face shows all of the artwork's page, so that lines past its edge were past the page's, too."""
    corners = corners_of(drawing, "page") @ put.matrix.T + put.shift
    x0, y0, x1, y1 = panel.face_box
    return bool((corners >= np.subtract((x0, y0), 1e-3)).all() and (corners <= np.add((x1, y1), 1e-3)).all())


def beyond(drawing: Drawing, box: Box, panel: Panel) -> str:
    """How far the drawing reaches past each side of a box, the sides that it passes."""
    x0, y0, x1, y1 = drawing.bounds or box
    past = {"top": box[1] - y0, "right": x1 - box[2], "bottom": y1 - box[3], "left": box[0] - x0}
    return ", ".join(f"{side} by {say(far, panel)}" for side, far in past.items() if far > 1e-3)


def lay(drawing: Drawing, job: Job, hung: Panel, laid: Panel) -> Drawing:
    """The drawing on the board as it lies on the bed: turned a quarter clockwise where the panel is."""
    if laid == hung:
        return drawing.replace(job=job, sheet=hung.board)
    coords = np.column_stack([hung.board[1] - drawing.coords[:, 1], drawing.coords[:, 0]])
    w, h = (format_exactly(side, laid.unit) for side in laid.face)
    along = " x ".join(f"{share * 100!r} %" for share in laid.stretch)
    return drawing.replace(coords=coords, job=job.with_canvas(face=f"{w} x {h}", stretch=along), sheet=laid.board)


def figures(put: Placing, hung: Panel, laid: Panel, cut: Trimmed, whole: bool) -> dict[str, object]:
    """What the history keeps."""
    return {
        "scale": put.scale,
        "laid_turned": laid != hung,
        "page_on_face": whole,
        "face_mm": list(laid.face),
        "board_mm": list(laid.board),
        "lost_mm": float(cut.lost.sum()),
    }


def summary(put: Placing, hung: Panel, laid: Panel, board: Drawing, lost: float) -> str:
    """What a person reads."""
    turned = "; the panel lies a quarter round (clockwise) on the bed" if laid != hung else ""
    w, h = board.sheet
    past = f"; {say(lost, hung)} of line past the artwork's page is left out" if lost else ""
    return f"scaled by {put.scale:.4g} on a {board_word(hung)} of {say(w, hung)} x {say(h, hung)}{turned}{past}"


def board_word(panel: Panel) -> str:
    """What the drawing lies on: a canvas that is on its frame has no board under it."""
    return "board" if panel.wraps else "stretched canvas"


def say(mm: float, panel: Panel) -> str:
    """A length in the unit that the job's sizes are written in."""
    return format_length(mm, panel.unit)
