"""Drawings as `fit` leaves them on a board, and `wrap` done on them."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw import Drawing, Panel
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.wrap import WrapSettings
from underdraw_stages.wrap.stage import wrap

CANVAS = {"face": "300 x 400 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm"}
Lines = NDArray[np.float64]


def board(
    *lines: Any, canvas: dict[str, str] | None = None, turned: bool = False, **looks: Any
) -> tuple[Drawing, Panel]:
    """A drawing of shapes of one line each, in face coordinates (mm from the face's top left)."""
    job = job_from_data({"canvas": {**CANVAS, **(canvas or {})}}, "moths")
    panel = Panel.of(job)
    corner = np.array(panel.face_box[:2])
    placed = [[np.asarray(line, dtype=float) + corner] for line in lines]
    given = {"stroke": "#1b1b3a", "stroke_width": 0.7, "marker": "outline", **looks}
    if turned:  # the job's face is the panel's as it hangs
        job = job.with_canvas(face=f"{panel.face[1]} x {panel.face[0]} mm")
    return Drawing.build(placed, panel.board, job, **given).replace(lying=OnBoard(turned=turned)), panel


def wrapped(drawing: Drawing, edges: str | None, **said: object) -> tuple[Drawing, dict[str, Any], list[str]]:
    """The drawing wrapped, its figures, and what was warned of; without marks unless asked for."""
    bench = TrialContext(Registry())
    asked = {} if edges is None else {"edges": edges}
    settings = read_settings(
        WrapSettings, {**asked, "fold_marks": False, "marks": False, "corner_bleed": "0 mm", **said}
    )
    result = wrap(drawing, settings, bench)
    return result.drawing, result.figures, bench.warnings


def tendrils(seed: int, count: int = 60, size: tuple[float, float] = (300.0, 400.0)) -> list[Lines]:
    """Curling open lines over the face, many of them cut off by its edges as `fit --how cover` leaves them."""
    rng = np.random.default_rng(seed)
    lines = []
    for _ in range(count):
        angle = rng.uniform(0, 2 * np.pi) + np.cumsum(rng.normal(0, 0.25, 40))
        line = rng.uniform((0, 0), size) + np.cumsum(4 * np.column_stack([np.cos(angle), np.sin(angle)]), axis=0)
        inside = ((line >= 0) & (line <= size)).all(axis=1)
        stop = int(np.argmin(inside)) if not inside.all() else len(line)
        if stop < 2:
            continue
        kept = line[:stop]
        if stop < len(line):  # on to the very edge
            step = line[stop] - kept[-1]
            with np.errstate(divide="ignore"):
                shares = np.where(step > 0, (size - kept[-1]) / step, np.where(step < 0, -kept[-1] / step, np.inf))
            end = kept[-1] + shares.min() * step
            axis = int(np.argmin(shares))
            end[axis] = np.array(size)[axis] if step[axis] > 0 else 0.0
            kept = np.vstack([kept, end])
        lines.append(kept)
    return lines


def in_corner_squares(drawing: Drawing, panel: Panel, margin: float = 0.0) -> float:
    """Length of line that lies in the corner squares, farther than a margin from the sides, by shapely."""
    import shapely

    x0, y0, x1, y1 = panel.face_box
    image = shapely.box(*panel.image_box)
    level = shapely.box(0, y0 - margin, panel.image[0], y1 + margin)
    upright = shapely.box(x0 - margin, 0, x1 + margin, panel.image[1])
    corners = image.difference(shapely.union_all([level, upright]).buffer(2e-4, join_style="mitre"))
    return float(shapely.length(shapely.intersection(drawing.shape_lines(), corners)).sum())


def crossings(drawing: Drawing, panel: Panel) -> tuple[int, float]:
    """How many parts cross a fold with a point on it, and the largest step between the pieces there (mm).

    A part that reaches the fold from the face must go on from the very same point: one that stops there counts as a
    gap as wide as to the nearest part on the side.
    """
    widest, met = 0.0, 0
    for axis, at in ((0, panel.face_box[0]), (0, panel.face_box[2]), (1, panel.face_box[1]), (1, panel.face_box[3])):
        face_ends, side_ends = [], []
        for part in range(len(drawing.parts) - 1):
            line = drawing.part_coords(part)
            out = (line[:, axis] - at) * (1 if at > panel.board[axis] / 2 else -1)
            side = np.sign(np.where(np.abs(out) < 1e-9, 0.0, out))
            change = np.flatnonzero(side[1:-1] == 0) + 1
            met += int(((side[change - 1] * side[change + 1]) < 0).sum())
            closed = (line[0] == line[-1]).all()  # on a side it may be the mirror of a line that turns back at the fold
            for end, inner in ((0, 1), (-1, -2)):
                beside_face = panel.face_box[1 - axis] < line[end, 1 - axis] < panel.face_box[3 - axis]
                if beside_face and abs(out[end]) < 1e-4 and side[inner] != 0 and not (closed and side[inner] < 0):
                    (face_ends if side[inner] < 0 else side_ends).append(line[end])
        if face_ends and side_ends:
            apart = np.linalg.norm(np.array(face_ends)[:, None] - np.array(side_ends)[None], axis=2)
            widest = max(widest, float(apart.min(axis=1).max()))
        elif face_ends:
            widest = np.inf
    return met, widest
