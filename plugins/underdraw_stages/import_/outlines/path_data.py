"""Path data and basic shapes as curves: every segment is one cubic Bézier curve, lines and arcs as well.

The grammar is read here and not by svgelements: that raises on an error in the data, where the standard wants all up
to the last good segment drawn, and takes several times as long (tests/bench/test_import_speed.py prints it).
Sources: SVG 1.1 (2nd ed.), section 8.3 (grammar), F.2 (errors), F.6 (arcs).
"""

import math
import re
from array import array
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.affine import Matrix, transformed
from underdraw.drawing.boxes import Box
from underdraw.errors import CannotDo
from underdraw_stages.import_.file import limits
from underdraw_stages.import_.file.user_units import GAP, NUMBERS, ONE_NUMBER
from underdraw_stages.import_.outlines.flatten import flatten

ARC_STEP = math.pi / 8  # one cubic a 22.5° piece of an arc is off by 7e-8 of the radius: 0.07 µm at a metre
BOX_SHARE = 1e-5  # of an outline's size, how far a box measured on chords may be off

_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*+)")
_NUMBER = re.compile(ONE_NUMBER)
_ARC = re.compile("".join(f"{GAP}({item})" for item in (*3 * [ONE_NUMBER], "[01]", "[01]", ONE_NUMBER, ONE_NUMBER)))
_NO_CURVES, _NO_POINTS = np.empty((0, 4, 2)), np.empty((0, 2))
_NO_OFFSETS, _NO_VERTEX = np.zeros(1, dtype=np.int64), np.empty(0, dtype=np.bool_)
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


@dataclass(frozen=True, slots=True)
class Outline:
    """curves: (n, 4, 2) control points, user units. parts: (p + 1,) offsets into curves; a part of no curves is a dot.

    starts: (p, 2) where each part starts. closed: (p,) whether it ends in `Z`. vertex: (n,) whether a curve ends a
    segment of the artwork (pieces of an arc do not), for markers. `cut_short`: an error ended the data early.
    """

    curves: NDArray[np.float64]
    parts: NDArray[np.int64]
    starts: NDArray[np.float64]
    closed: NDArray[np.bool_]
    vertex: NDArray[np.bool_]
    cut_short: bool = False

    def __len__(self) -> int:
        return len(self.curves)

    def without_curves(self) -> "Outline":
        """What is asked of it once it is flattened: which parts are closed."""
        return Outline(_NO_CURVES, _NO_OFFSETS, _NO_POINTS, self.closed, _NO_VERTEX, self.cut_short)

    def box(self, matrix: Matrix) -> Box | None:
        """The box around it, moved through a matrix; None where there is nothing to measure."""
        if not len(self.starts):
            return None
        curves, starts = transformed(self.curves, matrix), transformed(self.starts, matrix)
        points = np.concatenate([curves.reshape(-1, 2), starts])
        if not np.isfinite(points).all():
            return None
        size = float(np.ptp(points, axis=0).max()) or 1.0
        coords = np.concatenate([curves[:, 0], curves[:, 3], starts])  # a curve stays within its points' hull
        if (points.min(axis=0) < coords.min(axis=0)).any() or (points.max(axis=0) > coords.max(axis=0)).any():
            coords, _ = flatten(curves, self.parts, starts, size * BOX_SHARE)
        (x0, y0), (x1, y1) = coords.min(axis=0), coords.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)


@dataclass(slots=True)
class Pen:
    """Collects segments; positions in user units."""

    x: float = 0.0
    y: float = 0.0
    start_x: float = 0.0
    start_y: float = 0.0
    down: bool = False  # a move came since the last close
    fresh: bool = False  # the subpath begun is not in the lists yet
    flat: "array[float]" = field(default_factory=lambda: array("d"))  # a list takes four times the memory
    vertex: list[bool] = field(default_factory=list)
    parts: list[int] = field(default_factory=list)
    starts: list[float] = field(default_factory=list)
    closed: list[bool] = field(default_factory=list)

    def move(self, x: float, y: float) -> None:
        self.x = self.start_x = x
        self.y = self.start_y = y
        self.down = self.fresh = True

    def _begin(self) -> None:
        self.parts.append(len(self.vertex))
        self.starts += (self.x, self.y)
        self.closed.append(False)
        self.fresh = False

    def cubic(self, x1: float, y1: float, x2: float, y2: float, x: float, y: float, vertex: bool = True) -> None:
        if self.fresh:
            self._begin()
        self.flat.extend((self.x, self.y, x1, y1, x2, y2, x, y))
        self.vertex.append(vertex)
        self.x, self.y = x, y

    def line(self, x: float, y: float) -> None:
        third_x, third_y = (x - self.x) / 3, (y - self.y) / 3
        self.cubic(self.x + third_x, self.y + third_y, x - third_x, y - third_y, x, y)

    def quadratic(self, x1: float, y1: float, x: float, y: float) -> None:
        """The same curve one degree higher."""
        from_x, from_y = self.x, self.y
        near_x, near_y = from_x + 2 / 3 * (x1 - from_x), from_y + 2 / 3 * (y1 - from_y)
        self.cubic(near_x, near_y, x + 2 / 3 * (x1 - x), y + 2 / 3 * (y1 - y), x, y)

    def arc(self, rx: float, ry: float, turn: float, large: bool, sweep: bool, x: float, y: float) -> None:
        """An elliptical arc to (x, y); `turn` in degrees. Source: SVG 1.1, F.6.5 and F.6.6."""
        from_x, from_y = self.x, self.y
        rx, ry = abs(rx), abs(ry)
        if from_x == x and from_y == y:
            return
        if rx == 0 or ry == 0 or not math.isfinite(rx * ry):
            self.line(x, y)
            return
        if not math.isfinite(turn):  # a number out of all measure: reported where shapes are flattened
            self.line(x, y)
            return
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        half_x, half_y = (from_x - x) / 2, (from_y - y) / 2
        x1, y1 = cos * half_x + sin * half_y, -sin * half_x + cos * half_y
        # in units of the radii, so that very large and very small ones keep their digits
        u, v = x1 / rx, y1 / ry
        over = u * u + v * v
        if not math.isfinite(over + turn):  # numbers out of all measure: reported where shapes are flattened
            self.line(x, y)
            return
        if over > 1:
            rx, ry = rx * math.sqrt(over), ry * math.sqrt(over)
            u, v = x1 / rx, y1 / ry
        inside = max(1 - u * u - v * v, 0.0) / (u * u + v * v) if over else 0.0
        factor = math.sqrt(inside) * (-1 if large == sweep else 1)
        centre_u, centre_v = factor * v, -factor * u
        first = math.atan2(v - centre_v, u - centre_u)
        span = math.atan2(-v - centre_v, -u - centre_u) - first
        if sweep and span < 0:
            span += 2 * math.pi
        elif not sweep and span > 0:
            span -= 2 * math.pi
        middle_x, middle_y = (from_x + x) / 2, (from_y + y) / 2
        centre_x = cos * rx * centre_u - sin * ry * centre_v + middle_x
        centre_y = sin * rx * centre_u + cos * ry * centre_v + middle_y
        pieces = max(1, math.ceil(abs(span) / ARC_STEP - 1e-9))
        step = span / pieces
        pull = 4 / 3 * math.tan(step / 4)  # of the tangents of a circle's piece

        def placed(a: float, b: float) -> tuple[float, float]:
            return cos * rx * a - sin * ry * b + centre_x, sin * rx * a + cos * ry * b + centre_y

        for piece in range(pieces):
            a, b = first + piece * step, first + (piece + 1) * step
            cos_a, sin_a, cos_b, sin_b = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
            last = piece == pieces - 1
            end = (x, y) if last else placed(cos_b, sin_b)
            self.cubic(
                *placed(cos_a - pull * sin_a, sin_a + pull * cos_a),
                *placed(cos_b + pull * sin_b, sin_b - pull * cos_b),
                *end,
                vertex=last,
            )

    def close(self) -> None:
        if self.fresh and not self.down:
            return  # `Z` after `Z`
        if self.fresh:
            self._begin()
        if (self.x, self.y) != (self.start_x, self.start_y):
            self.line(self.start_x, self.start_y)
        self.closed[-1] = True
        self.x, self.y = self.start_x, self.start_y
        self.fresh, self.down = True, False  # what follows without a move starts here

    def dot(self) -> None:
        """A part of no length, which a round or square cap shows."""
        if self.fresh:
            self._begin()

    def outline(self, cut_short: bool = False) -> Outline:
        return Outline(
            curves=np.array(self.flat, dtype=np.float64).reshape(-1, 4, 2),
            parts=np.array([*self.parts, len(self.vertex)], dtype=np.int64),
            starts=np.array(self.starts, dtype=np.float64).reshape(-1, 2),
            closed=np.array(self.closed, dtype=np.bool_),
            vertex=np.array(self.vertex, dtype=np.bool_),
            cut_short=cut_short,
        )


def read_path_data(text: str) -> Outline:
    """The outline that `d` draws: all of it, or up to the last good segment before an error (SVG 1.1, F.2)."""
    pen = Pen()
    begins = _COMMAND.search(text)
    if begins is None or text[: begins.start()].strip():
        return pen.outline(cut_short=bool(text.strip()) and text.strip() != "none")
    good = begins[1] in "Mm"
    smooth: tuple[str, float, float] = ("", 0.0, 0.0)  # kind of the last curve, and its last control point
    for match in _COMMAND.finditer(text) if good else ():
        command, written = match[1], match[2]
        kind, relative = command.upper(), command.islower()
        if kind == "Z":
            pen.close()
            smooth = ("", 0.0, 0.0)
            good = not written.strip()
        elif kind == "A":
            good = _draw_arcs(pen, written, relative)
            smooth = ("", 0.0, 0.0)
        else:
            readable = NUMBERS.match(written)
            end = readable.end() if readable else 0
            values = list(map(float, _NUMBER.findall(written, 0, end)))
            spare = len(values) % _TAKES[kind]
            if len(pen.vertex) + len(values) // _TAKES[kind] > limits.MOST_CURVES:
                raise CannotDo(f"a path has more than {limits.MOST_CURVES:,} curves; simplify the artwork")
            smooth = _draw(pen, kind, relative, values[: len(values) - spare], smooth)
            good = not spare and bool(values) and not written[end:].strip()
        if not good:
            break
    return pen.outline(cut_short=not good)


def _draw_arcs(pen: Pen, written: str, relative: bool) -> bool:
    """Draw arcs from their packed numbers and flags; False where an error ends them."""
    end = drawn = 0
    while match := _ARC.match(written, end):
        rx, ry, turn, large, sweep, x, y = match.groups()
        base_x, base_y = (pen.x, pen.y) if relative else (0.0, 0.0)
        pen.arc(float(rx), float(ry), float(turn), large == "1", sweep == "1", base_x + float(x), base_y + float(y))
        end, drawn = match.end(), drawn + 1
    return drawn > 0 and not written[end:].strip()


def _draw(
    pen: Pen, kind: str, relative: bool, values: list[float], smooth: tuple[str, float, float]
) -> tuple[str, float, float]:
    """Draw one command's segments (any but arcs); returns the kind and last control point for a smooth one after it."""
    for at in range(0, len(values), _TAKES[kind]):
        x, y = (pen.x, pen.y) if relative else (0.0, 0.0)
        if kind == "C":
            x1, y1, x2, y2, x3, y3 = values[at : at + 6]
            pen.cubic(x + x1, y + y1, x + x2, y + y2, x + x3, y + y3)
            smooth = ("C", x + x2, y + y2)
        elif kind == "L" or (kind == "M" and at):  # more pairs after a move are lines
            pen.line(x + values[at], y + values[at + 1])
        elif kind == "M":
            pen.move(x + values[at], y + values[at + 1])
        elif kind == "H":
            pen.line(x + values[at], pen.y)
        elif kind == "V":
            pen.line(pen.x, y + values[at])
        elif kind == "S":
            x2, y2, x3, y3 = values[at : at + 4]
            x1, y1 = (2 * pen.x - smooth[1], 2 * pen.y - smooth[2]) if smooth[0] == "C" else (pen.x, pen.y)
            pen.cubic(x1, y1, x + x2, y + y2, x + x3, y + y3)
            smooth = ("C", x + x2, y + y2)
        elif kind == "Q":
            x1, y1, x2, y2 = values[at : at + 4]
            pen.quadratic(x + x1, y + y1, x + x2, y + y2)
            smooth = ("Q", x + x1, y + y1)
        elif kind == "T":
            x1, y1 = (2 * pen.x - smooth[1], 2 * pen.y - smooth[2]) if smooth[0] == "Q" else (pen.x, pen.y)
            pen.quadratic(x1, y1, x + values[at], y + values[at + 1])
            smooth = ("Q", x1, y1)
    return smooth if kind in "CSQT" else ("", 0.0, 0.0)
