"""Scale, turn and place the artwork on the board; refuse a panel that the bed cannot take."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.affine import Matrix
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import OnBoard
from underdraw.drawing.paint.gradients import moved_gradients
from underdraw.drawing.trimming import Trimmed, trim
from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import Job
from underdraw.panel import Box, Panel, Size, bed_fit, holder_offset, require_on_bed
from underdraw.panel.lying import placed, turn_matrix
from underdraw.plugins.parts import Context, Result
from underdraw.words.lengths import format_exactly
from underdraw.words.quantities import distance, length_in, size_in
from underdraw.words.units import unit_of
from underdraw_stages.fit import FitSettings
from underdraw_stages.fit.drawn_for import CANVAS, FACE, chosen_line, drawn_for
from underdraw_stages.fit.placing import Placing, placing, target_box, turned_bounds

LEAST_SCALING = 5e-4  # less cannot be measured on a canvas
SAME_PLACE_MM = 1e-3  # below any step of a router
LEAST_BAND_MM = 1.0  # a narrower band of bare face is covered by its neighbours' lines, or taken for the edge


def fit(drawing: Drawing, settings: FitSettings, context: Context) -> Result:
    """Place the artwork on the board of its job's panel.

    Raises CannotDo where the panel does not fit the bed or nothing is left of the artwork, InputError for impossible
    sizes.
    """
    refuse_second_fit(drawing)
    job = with_face(drawing)
    hung = Panel.of(job)
    turned = placed(hung, holder_offset(job, context.registry), may_turn=settings.auto_turn)
    page = page_size(drawing, settings.turn)
    kind = drawn_for(page, hung, settings.covers, context) if settings.turn % 90 == 0 else settings.covers or FACE
    on_face, put = place(with_markers(drawing), hung, settings, kind)
    cut = trim(on_face, [hung.image_box])  # what lies past the face is wrap's to keep or leave out
    corners = corners_of(drawing, "page") @ put.matrix.T + put.shift
    whole = page_shows(corners, hung, kind)
    past = tell_what_is_lost(cut, on_face, hung, whole, settings, context)
    lines = [chosen_line(page, hung, kind)] if settings.covers is None and kind != FACE else []
    lines += bare_bands(corners, hung, kind, settings.how)
    board = lay(cut.drawing, corners, kind, job, hung, turned)
    require_every_tip_in_reach(board, hung.turned() if turned else hung, holder_offset(job, context.registry))
    text = "\n".join([summary(put, hung, turned, board, past), *lines])
    return Result(board, figures(put, board, hung, turned, kind, cut), text)


def page_size(drawing: Drawing, turn: float) -> Size:
    """(width, height) in mm of the box around the artwork's page after its turn."""
    x0, y0, x1, y1 = turned_bounds(corners_of(drawing, "page"), turn_matrix(turn))
    return x1 - x0, y1 - y0


def refuse_second_fit(drawing: Drawing) -> None:
    """Raise InputError for a drawing that is on its board already: it would be scaled twice."""
    if drawing.lying is not None:
        raise InputError("this drawing was fitted already; give fit the drawing that import wrote")


def with_face(drawing: Drawing) -> Job:
    """The drawing's job, its face the artwork's page if the job sets none."""
    if drawing.job.canvas.face is not None:
        return drawing.job
    w, h = drawing.sheet
    unit = unit_of(drawing.job)
    return drawing.job.with_canvas(face=f"{format_exactly(w, unit)} x {format_exactly(h, unit)}")


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


def place(drawing: Drawing, panel: Panel, settings: FitSettings, kind: str) -> tuple[Drawing, Placing]:
    """The artwork on the flat board, nothing cut yet, and how it was put there."""
    corners = corners_of(drawing, settings.of)
    target = target_box(panel, kind, settings.margin)
    put = placing(panel, corners, settings.how, settings.turn, settings.align, target)
    coords = drawing.coords @ put.matrix.T + put.shift
    (a, c), (b, d) = put.matrix.tolist()
    paint = moved_paint(drawing, (a, b, c, d, *put.shift.tolist()))
    widths = {"stroke_width": drawing.stroke_width * put.scale, "blur": drawing.blur * put.scale}
    return drawing.replace(coords=coords, sheet=panel.board, **widths, **paint), put


def moved_paint(drawing: Drawing, matrix: Matrix) -> dict[str, Any]:
    """The gradients of a drawing, moved with its shapes; fields for `replace`. What was kept of other shapes goes."""
    return {
        "fill_gradient": moved_gradients(drawing.fill_gradient, matrix),
        "stroke_gradient": moved_gradients(drawing.stroke_gradient, matrix),
        "ground": drawing.ground and drawing.ground.moved(matrix),
        "artwork": None,
        "faint": None,
    }


def corners_of(drawing: Drawing, of: str) -> NDArray[np.float64]:
    """(n, 2) points that span what is fitted: the page, or everything drawn. Raises CannotDo for an empty drawing."""
    if not len(drawing.coords):
        raise CannotDo("there is nothing to fit: the drawing has no lines")
    if of == "artwork":
        return drawing.coords
    w, h = drawing.sheet
    return np.array([(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)])


def require_every_tip_in_reach(board: Drawing, lies: Panel, offset: tuple[float, float]) -> None:
    """Raise CannotDo where a marker whose tip is beside the first one's cannot reach all of a panel that lies so."""
    if lies.bed is None:
        return
    corners = []
    for name in sorted(set(board.marker)):
        own = board.job.marker(name).offset
        tip = (offset[0] + own[0], offset[1] + own[1])
        found = bed_fit(lies, lies.bed, tip)
        if not found.fits and bed_fit(lies, lies.bed, offset).fits:
            raise CannotDo(
                f"marker {name!r} does not reach all of the image on this bed: by its own offset of "
                f"{size_in(own, lies.unit)} it ends {length_in(max(found.over), lies.unit, 'up')} short"
                "\n  try: a smaller offset in [[marker]], or a larger bed",
                keys=("marker", "offset"),
            )
        require_on_bed(lies, tip)
        corners.append(found.corner)
    held = np.array([corner for corner in corners if corner is not None]).reshape(-1, 4)
    if len(held) and (held[:, :2].max(axis=0) > held[:, 2:].min(axis=0) + SAME_PLACE_MM).any():
        raise CannotDo(
            "the markers' offsets differ so much that nowhere on the bed all of the image is in reach of each"
            "\n  try: smaller offsets in [[marker]]",
            keys=("marker", "offset"),
        )


def tell_what_is_lost(
    cut: Trimmed, placed: Drawing, panel: Panel, whole: bool, settings: FitSettings, context: Context
) -> float:
    """Warn of lines beyond the board, longer than their marker's tip is wide; raise CannotDo where all is lost.

    whole: see `page_shows`; what lay past the page was never seen: no alarm, its length in mm is handed back.
    """
    if not len(cut.drawing):
        raise CannotDo("all of the artwork lies outside the board\n  try: --of artwork --how contain")
    tips = {name: placed.job.marker(name).tip for name in set(placed.marker)}
    seen = cut.lost > np.array([tips[name] for name in placed.marker])
    if whole or not seen.any():
        return float(cut.lost[seen].sum())
    count = f"{seen.sum()} shapes" if seen.sum() > 1 else "one shape"
    remedy = "--of artwork keeps all that is drawn" if settings.how == "contain" else "--how contain keeps all of it"
    length = distance(float(cut.lost[seen].sum()), panel.unit)
    context.warn(
        f"{length} of line in {count} lies outside the board and is left out "
        f"({beyond(placed.select(seen), panel.image_box, panel)}); {remedy}"
    )
    return 0.0


def page_shows(corners: NDArray[np.float64], panel: Panel, kind: str) -> bool:
    """Whether all of the page shows on what it was drawn for, so that lines past its edge were past the page's, too.

    corners: (4, 2) of the page in board coordinates. Staple strips drawn on a page of the canvas's size are never seen.
    """
    if kind == CANVAS:
        return True
    x0, y0, x1, y1 = panel.face_box if kind == FACE else panel.image_box
    return bool((corners >= np.subtract((x0, y0), 1e-3)).all() and (corners <= np.add((x1, y1), 1e-3)).all())


def bare_bands(corners: NDArray[np.float64], panel: Panel, kind: str, how: str) -> list[str]:
    """One line on the parts of the face that the page leaves bare, where it does by more than a tip can hide."""
    if kind != FACE:
        return []
    x0, y0, x1, y1 = panel.face_box
    (left, top), (right, bottom) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    bands = {"top": top - y0, "right": x1 - right, "bottom": y1 - bottom, "left": left - x0}
    wide = {side: band for side, band in bands.items() if band > LEAST_BAND_MM}
    if not wide:
        return []
    where = ", ".join(f"{side} {say(band, panel)}" for side, band in wide.items())
    more = "; --how cover fills the face" if how != "cover" else ""
    return [f"bands of the face stay bare: {where}{more}"]


def beyond(drawing: Drawing, box: Box, panel: Panel) -> str:
    """How far the drawing reaches past each side of a box, the sides that it passes."""
    x0, y0, x1, y1 = drawing.bounds or box
    past = {"top": box[1] - y0, "right": x1 - box[2], "bottom": y1 - box[3], "left": box[0] - x0}
    return ", ".join(f"{side} by {say(far, panel)}" for side, far in past.items() if far > 1e-3)


def lay(drawing: Drawing, page: NDArray[np.float64], kind: str, job: Job, hung: Panel, turned: bool) -> Drawing:
    """The drawing on the board as it lies on the bed: turned 90° clockwise where the panel is."""
    coords, sheet, paint = drawing.coords, hung.board, {}
    if turned:
        paint = moved_paint(drawing, (0.0, 1.0, -1.0, 0.0, hung.board[1], 0.0))
        coords, page = (np.column_stack([hung.board[1] - points[:, 1], points[:, 0]]) for points in (coords, page))
        sheet = hung.board[::-1]
    corners = tuple((float(x), float(y)) for x, y in np.round(page, 4).tolist())
    lying = OnBoard(turned=turned, page=corners, sides_drawn=kind != FACE)
    return drawing.replace(coords=coords, job=job, sheet=sheet, lying=lying, **paint)


def figures(put: Placing, board: Drawing, hung: Panel, turned: bool, kind: str, cut: Trimmed) -> dict[str, object]:
    """What the history keeps."""
    return {
        "scale": put.scale,
        "turned": turned,
        "covers": kind,
        "face_mm": list(hung.face),
        "board_mm": list(board.sheet),
        "lost_mm": float(cut.lost.sum()),
    }


def summary(put: Placing, hung: Panel, turned: bool, board: Drawing, lost: float) -> str:
    """What a person reads."""
    scale = "at its own size" if abs(put.scale - 1) < LEAST_SCALING else f"scaled × {put.scale:.3g}"
    how = "; the panel is turned 90° clockwise on the bed" if turned else ""
    past = f"\n  left out {distance(lost, hung.unit)} of line past the artwork's page" if lost else ""
    return f"{scale} on a {board_word(hung)} of {size_in(board.sheet, hung.unit)}{how}{past}"


def board_word(panel: Panel) -> str:
    """What the drawing lies on: a canvas that is on its frame has no board under it."""
    return "board" if panel.wraps else "stretched canvas"


def say(mm: float, panel: Panel) -> str:
    """A length in the unit that the job's sizes are written in."""
    return length_in(mm, panel.unit)
