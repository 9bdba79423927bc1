"""Ink as SVG: strokes in their colour and true tip width, a path each; artwork as it stands before `tidy`."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import COLUMNS, Drawing
from underdraw.drawing.ink_paths import PER_MM, ink_path, ink_paths
from underdraw.drawing.paint.gradient_elements import gradient_elements, gradient_ids
from underdraw.drawing.paint.gradients import Gradient
from underdraw.drawing.wire import escape
from underdraw.machine.clock import Schedule
from underdraw.page.canvas_page import contrast, n
from underdraw.words.plain_text import isolated
from underdraw.words.quantities import clock, distance
from underdraw.words.units import unit_of

PRIMED = "#fffdf8"  # the face, as primed canvas
PALE = 1.6  # an ink with less contrast than that on primed canvas gets a quiet edge, to be seen at all
EDGE = "#a89f8e"
SCALE = f"scale({1 / PER_MM:g})"


def ink_layer(
    drawing: Drawing, identity: str, schedule: Schedule | None = None, shown: NDArray[np.bool_] | None = None
) -> str:
    """Everything drawn, as one group in board coordinates (mm) with this `id`.

    schedule: when, for titles. shown: (s,) which strokes; None: all.
    """
    paths = "".join(_strokes(drawing, schedule, shown) if drawing.is_strokes else _artwork(drawing, identity))
    return (
        f'<g id="{identity}" fill="none" stroke-linecap="round" stroke-linejoin="round" transform="{SCALE}">{paths}</g>'
    )


def runs(drawing: Drawing) -> list[tuple[int, int]]:
    """Strokes that share marker, load, section and looks, as (first, last + 1), in drawing order."""
    if not len(drawing):
        return []
    change = np.zeros(len(drawing), dtype=np.bool_)
    for column in (drawing.marker, drawing.load, drawing.section, drawing.stroke, drawing.stroke_width):
        change[1:] |= column[1:] != column[:-1]
    starts = [0, *np.flatnonzero(change).tolist(), len(drawing)]
    return list(pairwise(starts))


def looks(drawing: Drawing, row: int) -> tuple[str, float]:
    """A stroke's colour and tip in mm; the marker's own if the drawing sets none."""
    section = drawing.job.marker(str(drawing.marker[row]))
    return str(drawing.stroke[row]) or section.looks, float(drawing.stroke_width[row]) or section.line_width


def stroke_titles(drawing: Drawing, schedule: Schedule | None) -> list[str]:
    """(s,) what a browser shows over each stroke: number, marker, time and length."""
    unit = unit_of(drawing.job)
    lengths = drawing.shape_lengths().tolist()
    times = schedule.touch.tolist() if schedule is not None else [None] * len(drawing)
    return [
        escape(
            f"stroke {row + 1}, {isolated(str(drawing.marker[row]))}"
            + (f", at {clock(time)}" if time is not None else "")
            + f", {distance(length, unit)}",
            quote=False,
        )
        for row, (length, time) in enumerate(zip(lengths, times, strict=True))
    ]


def _strokes(drawing: Drawing, schedule: Schedule | None, shown: NDArray[np.bool_] | None = None) -> Iterator[str]:
    data, titles = ink_paths(drawing), stroke_titles(drawing, schedule)
    for first, last in runs(drawing):
        if shown is not None and not shown[first]:
            continue
        colour, tip = looks(drawing, first)
        if is_pale(colour):
            edge = ink_path(drawing, first, last)
            yield f'<path d="{edge}" stroke="{EDGE}" stroke-width="{n((tip + 0.5) * PER_MM)}"/>'
        yield f'<g stroke="{colour}" stroke-width="{n(tip * PER_MM)}">'
        yield from (f'<path d="{data[row]}"><title>{titles[row]}</title></path>' for row in range(first, last))
        yield "</g>"


def is_pale(colour: str) -> bool:
    """Whether an ink can hardly be seen on primed canvas."""
    return contrast(colour, PRIMED) < PALE


def _artwork(drawing: Drawing, identity: str) -> Iterator[str]:
    """Shapes as the artwork shows them, in stacking order."""
    ids = gradient_ids((drawing.fill_gradient, drawing.stroke_gradient), prefix=f"{identity}-paint")
    if ids:
        yield f"<defs>{''.join(gradient_elements(ids, (PER_MM, 0.0, 0.0, PER_MM, 0.0, 0.0)))}</defs>"
    for row in range(len(drawing)):
        fill, stroke = drawing.fill[row], drawing.stroke[row]
        words = f' fill="{_paint(fill, drawing.fill_gradient[row], ids)}"' if fill else ""
        words += ' fill-rule="evenodd"' if drawing.evenodd[row] else ""
        words += f' fill-opacity="{n(drawing.fill_opacity[row])}"' if drawing.fill_opacity[row] < 1 else ""
        words += f' stroke-opacity="{n(drawing.stroke_opacity[row])}"' if drawing.stroke_opacity[row] < 1 else ""
        if stroke:
            words += f' stroke="{_paint(stroke, drawing.stroke_gradient[row], ids)}"'
            words += f' stroke-width="{n(drawing.stroke_width[row] * PER_MM)}"'
            words += f' stroke-linecap="{drawing.cap[row]}" stroke-linejoin="{drawing.join[row]}"'
            if drawing.miter_limit[row] != COLUMNS["miter_limit"].default:
                words += f' stroke-miterlimit="{n(drawing.miter_limit[row])}"'
        yield f'<path d="{ink_path(drawing, row, row + 1)}"{words}/>'


def _paint(colour: str, gradient: Gradient | None, ids: dict[Gradient, str]) -> str:
    return colour if gradient is None else f"url(#{ids[gradient]}) {colour}"
