"""Ink as SVG: strokes in their colour and true tip width, a path for each load; artwork as it stands before `tidy`."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from underdraw import Drawing
from underdraw.drawing.ink_paths import PER_MM, ink_path
from underdraw.drawing.wire import escape
from underdraw.words.quantities import counted, distance
from underdraw.words.units import unit_of
from underdraw_stages.preview.page.canvas_page import contrast, n

PRIMED = "#fffdf8"  # the face, as primed canvas
PALE = 1.6  # an ink with less contrast than that on primed canvas gets a quiet edge, to be seen at all
EDGE = "#a89f8e"
SCALE = f"scale({1 / PER_MM:g})"


def ink_layer(drawing: Drawing, identity: str) -> str:
    """Everything drawn, as one group in board coordinates (mm) with this `id`."""
    paths = "".join(_strokes(drawing) if drawing.is_strokes else _artwork(drawing))
    return (
        f'<g id="{identity}" fill="none" stroke-linecap="round" stroke-linejoin="round" transform="{SCALE}">{paths}</g>'
    )


def runs(drawing: Drawing) -> list[tuple[int, int]]:
    """Strokes that share marker, load and looks, as (first, last + 1), in drawing order."""
    if not len(drawing):
        return []
    change = np.zeros(len(drawing), dtype=np.bool_)
    for column in (drawing.marker, drawing.load, drawing.stroke, drawing.stroke_width):
        change[1:] |= column[1:] != column[:-1]
    starts = [0, *np.flatnonzero(change).tolist(), len(drawing)]
    return list(pairwise(starts))


def looks(drawing: Drawing, row: int) -> tuple[str, float]:
    """A stroke's colour and tip in mm; the marker's own where the drawing says none."""
    section = drawing.job.marker(str(drawing.marker[row]))
    return str(drawing.stroke[row]) or section.looks, float(drawing.stroke_width[row]) or section.tip


def _strokes(drawing: Drawing) -> Iterator[str]:
    lengths, unit = np.concatenate([[0.0], np.cumsum(drawing.shape_lengths())]), unit_of(drawing.job)
    for first, last in runs(drawing):
        colour, tip = looks(drawing, first)
        data = ink_path(drawing, first, last)
        told = f"{drawing.marker[first]}, load {max(1, drawing.load[first])}: "
        told += f"{counted(last - first, 'stroke')} from {first + 1}, {distance(lengths[last] - lengths[first], unit)}"
        if is_pale(colour):
            yield f'<path d="{data}" stroke="{EDGE}" stroke-width="{n((tip + 0.5) * PER_MM)}"/>'
        told = escape(told, quote=False)
        yield f'<path d="{data}" stroke="{colour}" stroke-width="{n(tip * PER_MM)}"><title>{told}</title></path>'


def is_pale(colour: str) -> bool:
    """Whether an ink can hardly be seen on primed canvas."""
    return contrast(colour, PRIMED) < PALE


def _artwork(drawing: Drawing) -> Iterator[str]:
    """Shapes as the artwork shows them, in stacking order."""
    for row in range(len(drawing)):
        words = f' fill="{drawing.fill[row]}"' if drawing.fill[row] else ""
        words += ' fill-rule="evenodd"' if drawing.evenodd[row] else ""
        words += f' fill-opacity="{n(drawing.fill_opacity[row])}"' if drawing.fill_opacity[row] < 1 else ""
        words += f' stroke-opacity="{n(drawing.stroke_opacity[row])}"' if drawing.stroke_opacity[row] < 1 else ""
        if drawing.stroke[row]:
            words += f' stroke="{drawing.stroke[row]}" stroke-width="{n(drawing.stroke_width[row] * PER_MM)}"'
            words += f' stroke-linecap="{drawing.cap[row]}" stroke-linejoin="{drawing.join[row]}"'
        yield f'<path d="{ink_path(drawing, row, row + 1)}"{words}/>'
