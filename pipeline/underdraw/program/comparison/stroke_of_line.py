"""Which stroke of a drawing a line of its program is part of, and how far along the stroke that line begins."""

from typing import TYPE_CHECKING

import numpy as np
import shapely

from underdraw.drawing.drawing import Drawing
from underdraw.errors import CannotDo, InputError
from underdraw.panel.lying import Lying
from underdraw.program.drawn import Drawn
from underdraw.program.expected import Expected
from underdraw.program.expected.drawn_range import record_of, runs_of
from underdraw.program.expected.program_notes import require_same_board
from underdraw.program.expected.strokes import Strokes
from underdraw.program.report import check_program
from underdraw.words.quantities import counted, length_in
from underdraw.words.units import unit_of

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed


SAME_SHARE = 1e-3  # of a stroke: what arcs and rounding may make of its length
MOST_AWAY_MM = 1.1  # from its stroke: the coarsest program strays by 1 mm


def stroke_of_line(
    data: bytes, line: int, drawing: Drawing, registry: "Installed", controller: str | None = None, file: str = ""
) -> tuple[int, float]:
    """The stroke (from 1) that a line (from 1) of a program draws, or the next one, and the share of it drawn before.

    The program may draw a part of the drawing, in any order within its loads. controller: another than the one that the
    drawing has on record for a program of that `file` name, else the job's.
    Raises InputError for a line that the program does not have, CannotDo after the last stroke and for a program of
    another drawing, or of this one on a board that lay otherwise.
    """
    lines = data.count(b"\n") + (bool(data) and not data.endswith(b"\n"))
    if line > lines:
        raise InputError(f"line {line}: the program has {counted(lines, 'line') if lines else 'no lines'}")
    lying, record = Lying.of(drawing, registry), record_of(drawing, file)
    made = Expected.of(drawing.job, lying, registry, controller or (None if record is None else record.controller))
    require_same_board(data, lying, made.dialect)
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
    assert expected.strokes is not None
    away = _farthest(drawn, program_stroke, expected.strokes, number)
    if away > MOST_AWAY_MM:
        far = length_in(away, unit_of(drawing.job))
        raise CannotDo(
            f"line {line}: what it draws lies {far} from stroke {number} of this drawing\n"
            "  try: the drawing that the program was made of"
        )
    same = (drawn.stroke == program_stroke) & moves.drawing
    left = float(drawn.lengths[same & (np.arange(len(moves)) >= index)].sum())
    drawn_whole = float(drawn.lengths[same].sum())
    whole = float(drawing.part_lengths()[number - 1])
    if drawn_whole > (1 - SAME_SHARE) * whole:
        whole = drawn_whole  # arcs are a little longer or shorter than their chords; else it draws the end alone
    return number, 1 - left / whole if whole > 0 else 0.0


def _farthest(drawn: Drawn, program_stroke: int, strokes: Strokes, number: int) -> float:
    """mm from any point of a program's stroke to the drawing's stroke of that number; 0 for one without length."""
    _, bounds, moves = drawn.lines
    pieces = np.flatnonzero(drawn.stroke[moves] == program_stroke)
    row = int(np.flatnonzero(strokes.numbers == number)[0])
    line = strokes.coords[strokes.parts[row] : strokes.parts[row + 1]]
    if not len(pieces) or len(line) < 2:
        return 0.0
    points = np.concatenate([drawn.on_board[bounds[at] : bounds[at + 1]] for at in pieces.tolist()])
    return float(shapely.distance(shapely.points(points), shapely.LineString(line)).max())
