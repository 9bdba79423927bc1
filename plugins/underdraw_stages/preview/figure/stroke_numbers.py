"""Numbers of strokes on the flat view: every k-th, so that no two labels touch, each with where it starts and goes."""

import math

import numpy as np
from numpy.typing import NDArray

from underdraw.page.callouts import pill, pill_size
from underdraw.page.canvas_page import LETTERS, PAPER, TINY, Page, n
from underdraw.page.labels import box_around, free_position
from underdraw.page.on_page import Box, OnPage
from underdraw.page.subject import Subject

STEPS = (1, 2, 5)  # and their tens: every k-th stroke has a number
MOST = 400  # labels on one page; more would hide the drawing
ARROW, HALF_WIDTH = 1.5, 0.5  # mm on the page, along and across
HEADING_MM = 1.0  # on the page: how far along a stroke its direction is taken from


def put_stroke_numbers(page: Page, placing: OnPage, subject: Subject) -> int:
    """Label every k-th stroke, k as small as leaves room for all of them; k, or 0 where nothing is numbered."""
    drawing = subject.drawing
    if not subject.loads or not len(drawing):
        return 0
    points = placing.all(drawing.coords)
    starts = points[drawing.parts[:-1]]
    for k in steps(len(drawing)):
        rows = np.arange(0, len(drawing), k)
        positions = all_positions(starts[rows], rows + 1, placing)
        if positions is not None:
            break
    else:
        return 0
    for row, (x, y) in zip(rows.tolist(), positions, strict=True):
        sx, sy = starts[row].tolist()
        page.add(f'<path d="M{n(sx)} {n(sy)}L{n(x)} {n(y)}" stroke="{PAPER}" stroke-width=".6"/>')
        page.add(f'<path d="M{n(sx)} {n(sy)}L{n(x)} {n(y)}" stroke="{LETTERS}" stroke-width=".15"/>')
        page.add(arrow(points[drawing.parts[row] : drawing.parts[row + 1]]))
    for row, (x, y) in zip(rows.tolist(), positions, strict=True):
        pill(page, x, y, str(row + 1), TINY)
    return k


def steps(count: int) -> list[int]:
    """Every k that leaves at most `MOST` labels, the smallest first.

    >>> steps(3000)[:3]
    [10, 20, 50]
    """
    every = [step * 10**power for power in range(7) for step in STEPS]
    return [k for k in every if math.ceil(count / k) <= MOST and (k == 1 or k < 2 * count)]


def all_positions(
    starts: NDArray[np.float64], numbers: NDArray[np.int64], placing: OnPage
) -> list[tuple[float, float]] | None:
    """The middle of each label beside its (k, 2) start on the page, none on another; None where one has no room."""
    inside = (placing.left + 0.5, placing.top + 0.5, placing.right - 0.5, placing.bottom - 0.5)
    taken: list[Box] = []
    found = []
    for (x, y), number in zip(starts.tolist(), numbers.tolist(), strict=True):
        size = pill_size(str(number), TINY)
        position = free_position(x, y, size, inside, taken)
        if position is None:
            return None
        taken.append(box_around(*position, size))
        found.append(position)
    return found


def arrow(points: NDArray[np.float64]) -> str:
    """A head at a stroke's start that points the way it is drawn, (n, 2) on the page; a ring for a dot."""
    (x, y), away = points[0].tolist(), np.hypot(*(points - points[0]).T)
    along = points[int(np.argmax(away >= HEADING_MM))] if (away >= HEADING_MM).any() else points[-1]
    heading = along - points[0]
    length = float(np.hypot(*heading))
    if not length:
        return f'<circle cx="{n(x)}" cy="{n(y)}" r=".6" fill="none" stroke="{LETTERS}" stroke-width=".25"/>'
    ux, uy = (heading / length).tolist()
    tip = f"{n(x + ARROW * ux)} {n(y + ARROW * uy)}"
    left = f"{n(x - HALF_WIDTH * uy)} {n(y + HALF_WIDTH * ux)}"
    right = f"{n(x + HALF_WIDTH * uy)} {n(y - HALF_WIDTH * ux)}"
    return f'<path d="M{tip}L{left}L{right}Z" fill="{LETTERS}" stroke="{PAPER}" stroke-width=".2"/>'
