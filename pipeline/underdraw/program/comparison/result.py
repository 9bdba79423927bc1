"""The comparison of a program with a drawing, and what of it is a problem."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw.program.comparison.nearest import measured
from underdraw.program.comparison.pairs import matched
from underdraw.program.drawn import Drawn
from underdraw.program.expected.strokes import Strokes
from underdraw.program.problems import Faults

Index = NDArray[np.int64]


@dataclass
class Comparison:
    """Lengths in mm; deviation: the farthest that any drawn point lies from the drawing.

    missing: by stroke number. extra: by program stroke (from 1). strayed, unmet: by program stroke and by stroke
    number, how far one is off where that is too short to have a length. of: (k,) which stroke each program stroke
    draws, by number; 0 where that is none or several.
    """

    deviation: float = 0.0
    missing: dict[int, float] = field(default_factory=dict)
    extra: dict[int, float] = field(default_factory=dict)
    strayed: dict[int, float] = field(default_factory=dict)
    unmet: dict[int, float] = field(default_factory=dict)
    of: Index = field(default_factory=lambda: np.empty(0, dtype=np.int64))

    @property
    def missing_mm(self) -> float:
        """Length of the drawing that the program leaves out."""
        return float(sum(self.missing.values()))

    @property
    def extra_mm(self) -> float:
        """Length that the program draws and the drawing does not hold."""
        return float(sum(self.extra.values()))


def compare(drawn: Drawn, strokes: Strokes, tolerance: float, tip: float = 0.0) -> Comparison:
    """Hold what a program draws against strokes, both from the board's lower left corner.

    tolerance: mm. tip: mm that a dot counts for where one is missing or extra.
    """
    made = drawn_strokes(drawn)
    result = Comparison(of=np.zeros(drawn.strokes, dtype=np.int64))
    pairs = matched(made, strokes, tolerance)
    result.of[made.numbers[pairs.rows[:, 0]] - 1] = strokes.numbers[pairs.rows[:, 1]]
    result.deviation = float(pairs.off.max(initial=0.0))
    for row in np.flatnonzero(pairs.again).tolist():
        result.extra[int(made.numbers[pairs.rows[row, 0]])] = float(pairs.again[row])
    left_made = np.setdiff1d(np.arange(len(made)), pairs.rows[:, 0])
    left_asked = np.setdiff1d(np.arange(len(strokes)), pairs.rows[:, 1])
    if len(left_made) or len(left_asked):
        left = measured(made.select(left_made), strokes.select(left_asked), strokes, tolerance, tip)
        result.deviation = max(result.deviation, left.deviation)
        result.missing, result.unmet, result.strayed = left.missing, left.unmet, left.strayed
        result.extra |= left.extra
        for number, stroke in left.of.items():
            result.of[number - 1] = stroke
    return result


def tell(comparison: Comparison, drawn: Drawn, tolerance: float, faults: Faults) -> None:
    """Put what is missing, extra or off among the faults."""
    for number, length in sorted(comparison.missing.items()):
        faults.add("missing", 0, f"stroke {number}: {faults.length(length)} of it is not drawn", number)
    for number, distance in sorted(comparison.unmet.items()):
        text = f"stroke {number}: the line ends or passes {_off(distance, tolerance, faults)}"
        faults.add("off", 0, text, number)
    for number, length in sorted(comparison.extra.items()):
        text = f"draws {faults.length(length)} that is not in the drawing"
        faults.add("extra", drawn.first_line(number), text, number)
    for number, distance in sorted(comparison.strayed.items()):
        faults.add("off", drawn.first_line(number), f"draws {_off(distance, tolerance, faults)}", number)


def _off(distance: float, tolerance: float, faults: Faults) -> str:
    return f"{faults.length(distance, 3)} off the drawing; {faults.length(tolerance, 3)} is allowed"


def marker_of_strokes(comparison: Comparison | None, strokes: Strokes | None) -> NDArray[Any] | None:
    """(k,) the marker of each program stroke, "" where that is not known; None without a comparison."""
    if comparison is None or strokes is None or strokes.markers is None:
        return None
    marker_by_number = np.full(int(strokes.numbers.max(initial=0)) + 1, "", dtype=object)
    marker_by_number[strokes.numbers] = strokes.markers
    return np.asarray(marker_by_number[comparison.of])


def drawn_strokes(drawn: Drawn) -> Strokes:
    """The program's strokes as polylines, a dot as one of no length; numbers count from 1."""
    coords, bounds, at = drawn.lines
    points = drawn.on_board
    stroke_of_move = drawn.stroke[at]
    first = np.ones(len(at), dtype=np.bool_)
    first[1:] = stroke_of_move[1:] != stroke_of_move[:-1]
    keep = np.ones(len(coords), dtype=np.bool_)
    keep[bounds[:-1][~first]] = False  # the point that two moves of a stroke share
    of_point = np.repeat(stroke_of_move, np.diff(bounds))[keep]
    dots, touches = drawn.dots
    every = np.concatenate([of_point, np.repeat(drawn.stroke[touches], 2)])
    order = np.argsort(every, kind="stable")
    all_points = np.vstack([points[keep], np.repeat(dots, 2, axis=0)])[order]
    numbers, counts = np.unique(every, return_counts=True)
    return Strokes(all_points, offsets(counts), numbers.astype(np.int64))
