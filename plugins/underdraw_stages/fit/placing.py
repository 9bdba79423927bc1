"""Where artwork lands on the finished panel: one scale, one turn, one shift."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.errors import CannotDo
from underdraw.panel import Box, Panel, Size
from underdraw.panel.lying import turn_matrix
from underdraw.words.lengths import format_length
from underdraw_stages.fit.drawn_for import sizes


@dataclass(frozen=True)
class Placing:
    """`matrix` (2, 2) and `shift` (2,) take artwork points to the flat board; `scale` is that on the finished panel."""

    matrix: NDArray[np.float64]
    shift: NDArray[np.float64]
    scale: float


def target_box(panel: Panel, covers: str, margin: float) -> Box:
    """What the artwork is fitted to, finished mm from the face's top left corner. Raises CannotDo if none is left.

    covers: `face`, `image` or `canvas`, see `drawn_for`.
    """
    w, h = panel.face
    beyond = (sizes(panel)[covers][0] - w) / 2
    box = (-beyond + margin, -beyond + margin, w + beyond - margin, h + beyond - margin)
    if box[0] >= box[2] or box[1] >= box[3]:
        most = min(w, h) / 2 + beyond
        raise CannotDo(
            f"a margin of {format_length(margin, panel.unit)} leaves nothing of the {covers}; "
            f"use less than {format_length(most, panel.unit, 'down')}"
        )
    return box


def turned_bounds(corners: NDArray[np.float64], turn: NDArray[np.float64]) -> Box:
    """x0, y0, x1, y1 of points (n, 2) after a turn."""
    points = corners @ turn.T
    return (*map(float, points.min(axis=0)), *map(float, points.max(axis=0)))  # type: ignore[return-value]


def scale_for(how: str, size: Size, room: Size) -> float:
    """How many times larger the artwork becomes; an artwork without width or height is scaled by the other one."""
    ratios = [there / own for own, there in zip(size, room, strict=True) if own > 0]
    if how == "actual" or not ratios:
        return 1.0
    return min(ratios) if how == "contain" else max(ratios)


def placing(panel: Panel, corners: NDArray[np.float64], how: str, degrees: float, align: str, target: Box) -> Placing:
    """How artwork goes onto the flat board: what `corners` (n, 2) span is turned, scaled and put in the target box.

    The board takes stretch into account: what is to end at a length is drawn that much shorter.
    """
    turn = turn_matrix(degrees)
    x0, y0, x1, y1 = turned_bounds(corners, turn)
    room = (target[2] - target[0], target[3] - target[1])
    scale = scale_for(how, (x1 - x0, y1 - y0), room)
    free = (room[0] - scale * (x1 - x0), room[1] - scale * (y1 - y0))
    left = 0.0 if "left" in align else 1.0 if "right" in align else 0.5
    top = 0.0 if "top" in align else 1.0 if "bottom" in align else 0.5
    origin = np.array([target[0] + left * free[0] - scale * x0, target[1] + top * free[1] - scale * y0])
    flat = np.array([own / made for own, made in zip(panel.flat_face, panel.face, strict=True)])
    corner = np.array(panel.face_box[:2])
    return Placing(flat[:, None] * (scale * turn), corner + flat * origin, scale)
