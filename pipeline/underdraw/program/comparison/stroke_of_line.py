"""Which stroke of a drawing a line of its program is part of, and how far along the stroke that line begins."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import Motion
from underdraw.errors import CannotDo, InputError
from underdraw.panel.lying import Lying
from underdraw.program.expected import Expected
from underdraw.program.expected.drawn_range import runs_of
from underdraw.program.expected.noted_board import as_noted
from underdraw.program.report import check_program
from underdraw.words.quantities import counted

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed


SAME_DEG, SAME_MM = 2e-4, 0.02  # a program has four digits of the angle, and its own of the shift
SAME_SHARE = 1e-3  # of a stroke: what arcs and rounding may make of its length


def stroke_of_line(
    data: bytes, line: int, drawing: Drawing, registry: "Installed", controller: str | None = None
) -> tuple[int, float]:
    """The stroke (from 1) that a line (from 1) of a program draws, or the next one, and the share of it drawn before.

    The program may draw a part of the drawing, in any order within its loads. controller: another than the job's.
    Raises InputError for a line that the program does not have, CannotDo after the last stroke and for a program of
    another drawing, or of this one on a board that lay otherwise.
    """
    lines = data.count(b"\n") + (bool(data) and not data.endswith(b"\n"))
    if line > lines:
        raise InputError(f"line {line}: the program has {counted(lines, 'line') if lines else 'no lines'}")
    lying = Lying.of(drawing, registry)
    made = Expected.of(drawing.job, lying, registry, controller)
    _require_same_board(data, lying, made)
    runs = runs_of(data, drawing, made.dialect, "") if drawing.section.any() else None  # a program is of one section
    expected = made.drawing(drawing, runs)
    report = check_program(data, expected)
    drawn, moves = report.drawn, report.drawn.moves
    assert report.comparison is not None
    down = moves.down_at_start | moves.down_at_end
    rising = moves.down_at_start & ~moves.down_at_end
    later = np.flatnonzero((moves.line >= line) & down & ~rising)
    if not len(later):
        raise CannotDo(f"line {line}: no stroke is drawn from there on")
    index = int(later[0])
    program_stroke = int(drawn.stroke[index])
    number = int(report.comparison.of[program_stroke - 1])
    if not number:
        raise CannotDo(f"line {line}: what it draws is no stroke of this drawing; name the one that it was made of")
    same = (drawn.stroke == program_stroke) & moves.drawing
    left = float(drawn.lengths[same & (np.arange(len(moves)) >= index)].sum())
    drawn_whole = float(drawn.lengths[same].sum())
    whole = float(drawing.part_lengths()[number - 1])
    if drawn_whole > (1 - SAME_SHARE) * whole:
        whole = drawn_whole  # arcs are a little longer or shorter than their chords; else it draws the end alone
    return number, 1 - left / whole if whole > 0 else 0.0


def _require_same_board(data: bytes, lying: Lying, made: Expected) -> None:
    """Raise CannotDo where program and drawing are not of the same board, as it lay first or was measured since."""
    noted = as_noted(data, replace(lying, motion=None), made.dialect).motion
    if lying.sections is not None or noted == lying.motion:
        return
    if noted is None:
        raise CannotDo(
            "the program is for the board as it lay first, and the drawing for a board that was put back and measured\n"
            "  try: the drawing that the program was made of"
        )
    if lying.motion is None or not _alike(noted, lying.motion):
        raise CannotDo(
            "the program is for a board that was put back and measured, and the drawing is not of that measurement\n"
            "  try: the drawing that the measurement gave, which the program was made of"
        )


def _alike(one: Motion, other: Motion) -> bool:
    """Whether two motions are the same but for the digits of a program."""
    apart = max(abs(a - b) for a, b in zip(one.shift_mm, other.shift_mm, strict=True))
    return abs(one.angle_deg - other.angle_deg) < SAME_DEG and apart < SAME_MM
