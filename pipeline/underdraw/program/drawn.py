"""What a program draws: its moves as strokes and lines on the canvas, and when each is drawn."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from underdraw.machine.timing import move_seconds, rest_to_rest
from underdraw.program.arcs import arc_extremes, arc_points
from underdraw.program.expected import Expected
from underdraw.program.moves import CLOCKWISE, RAPID, Moves, move_lengths

Array = NDArray[np.float64]
SAG_MM = 0.001  # how far the chords that stand for an arc may lie from it
STEP_MM = 1.0  # how long those chords may be: points that a comparison looks at lie on the arc itself


@dataclass
class Drawn:
    """A program's moves, seen as drawing. Strokes are numbered from 1 in the order of the program."""

    moves: Moves
    expected: Expected

    @cached_property
    def stroke(self) -> NDArray[np.int64]:
        """(m,) which stroke each move belongs to: the count of lowerings so far; 0 before the first."""
        down = self.moves.down_at_end | self.moves.down_at_start
        before = np.concatenate([[False], self.moves.down_at_end[:-1]]) if len(down) else down
        return np.cumsum(down & ~before)

    @cached_property
    def strokes(self) -> int:
        """How many times the marker is lowered."""
        return int(self.stroke[-1]) if len(self.stroke) else 0

    @cached_property
    def lifts(self) -> int:
        """How many times the marker is raised."""
        return int((self.moves.down_at_start & ~self.moves.down_at_end).sum())

    @cached_property
    def lengths(self) -> Array:
        """(m,) mm along each move."""
        return move_lengths(self.moves)

    @cached_property
    def drawn_mm(self) -> float:
        """Length of everything drawn."""
        return float(self.lengths[self.moves.drawing].sum())

    @cached_property
    def travel_mm(self) -> float:
        """Length of everything moved sideways with the marker lifted."""
        return float(self.lengths[self.moves.sideways & ~self.moves.drawing].sum())

    @cached_property
    def arcs(self) -> int:
        """How many drawn moves are arcs."""
        return int((self.moves.drawing & (self.moves.kind >= CLOCKWISE)).sum())

    @cached_property
    def lines(self) -> tuple[Array, NDArray[np.int64], NDArray[np.int64]]:
        """All that is drawn as polylines in program coordinates, tip's and controlled point's alike.

        (n, 2) points, (d + 1,) offsets, (d,) which move each polyline is of.
        """
        moves = self.moves
        unknown = np.isnan(moves.start[:, :2]).any(axis=1) | np.isnan(moves.end[:, :2]).any(axis=1)
        at = np.flatnonzero(moves.drawing & ~unknown)
        arc = moves.kind[at] >= CLOCKWISE
        curved = at[arc]
        counts = np.full(len(at), 2)
        points, bounds = arc_points(
            moves.start[curved, :2],
            moves.end[curved, :2],
            moves.centre[curved],
            moves.kind[curved] == CLOCKWISE,
            SAG_MM,
            STEP_MM,
        )
        counts[arc] = np.diff(bounds)
        offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        coords = np.empty((offsets[-1], 2))
        straight = ~arc
        coords[offsets[:-1][straight]] = moves.start[at[straight], :2]
        coords[offsets[1:][straight] - 1] = moves.end[at[straight], :2]
        coords[np.repeat(arc, counts)] = points
        return coords, offsets, at

    @cached_property
    def on_board(self) -> Array:
        """(n, 2) the points of `lines` where the tip draws them, from the board's lower left corner."""
        return self.expected.on_board(self.lines[0])

    @cached_property
    def dots(self) -> tuple[Array, NDArray[np.int64]]:
        """Strokes that only touch: (k, 2) tip positions from the board's lower left corner, and their first moves."""
        if not self.strokes:
            return np.empty((0, 2)), np.empty(0, dtype=np.int64)
        moves = self.moves
        length = np.bincount(self.stroke[moves.drawing], minlength=self.strokes + 1)
        lowering = np.flatnonzero(np.diff(self.stroke, prepend=0) > 0)
        touches = lowering[length[1:] == 0]
        touches = touches[~np.isnan(moves.end[touches, :2]).any(axis=1)]
        return self.expected.on_board(moves.end[touches, :2]), touches

    @cached_property
    def bounds(self) -> tuple[float, float, float, float] | None:
        """(x0, y0, x1, y1) of what is drawn, in program coordinates; None if nothing is."""
        moves, at = self.moves, self.lines[2][self.moves.kind[self.lines[2]] >= CLOCKWISE]
        bulges = arc_extremes(moves.start[at, :2], moves.end[at, :2], moves.centre[at], moves.kind[at] == CLOCKWISE)
        points = np.vstack([self.lines[0], bulges, moves.end[self.dots[1], :2]])
        if not len(points):
            return None
        return (*map(float, points.min(axis=0)), *map(float, points.max(axis=0)))  # type: ignore[return-value]

    @cached_property
    def seconds(self) -> Array:
        """(m,) s that each move takes, the waits before it left out.

        The tip stands between moves of which one goes up or down, where travel meets drawing, and at each wait.
        """
        moves, machine, count = self.moves, self.expected.machine, len(self.moves)
        if not count:
            return np.empty(0)
        rapid = moves.kind == RAPID
        speed = np.where(rapid, machine.rapid, np.minimum(np.nan_to_num(moves.feed, nan=machine.rapid), machine.rapid))
        speed = np.where(speed > 0, speed, machine.rapid)
        enter, leave, radius = self._headings()
        upright = moves.start[:, 2] != moves.end[:, 2]
        stands = np.ones(count, dtype=np.bool_)
        stands[1:] = upright[1:] | upright[:-1] | (rapid[1:] != rapid[:-1]) | (moves.wait[1:] > 0) | moves.pause[1:]
        moving = self.lengths > 0
        taken = np.zeros(count)
        stop_before = np.maximum.accumulate(np.where(stands, np.arange(count), -1))
        previous = np.concatenate([[-1], np.maximum.accumulate(np.where(moving, np.arange(count), -1))[:-1]])
        rests = stop_before > previous  # a stand since the last move that went anywhere
        taken[moving] = move_seconds(
            self.lengths[moving],
            speed[moving],
            enter[moving],
            leave[moving],
            rests[moving],
            acceleration=machine.acceleration,
            corner=machine.rounding,
            radius=radius[moving],
        )
        vertical = np.flatnonzero(upright & ~moves.sideways & moving)
        fastest, acceleration = machine.up_and_down
        taken[vertical] = rest_to_rest(self.lengths[vertical], np.minimum(speed[vertical], fastest), acceleration)
        return taken

    def _headings(self) -> tuple[Array, Array, Array]:
        """(m, 3) unit vectors at each move's start and end, and (m,) radii, infinite of straight moves."""
        moves = self.moves
        step = np.nan_to_num(moves.end - moves.start)
        length = np.linalg.norm(step, axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):
            straight = np.nan_to_num(step / length[:, None])
        enter, leave = straight.copy(), straight.copy()
        radius = np.full(len(moves), np.inf)
        arc = np.flatnonzero(moves.kind >= CLOCKWISE)
        if len(arc):
            side = np.where(moves.kind[arc] == CLOCKWISE, 1.0, -1.0)
            for place, heading in ((moves.start, enter), (moves.end, leave)):
                spoke = place[arc, :2] - moves.centre[arc]
                reach = np.maximum(np.hypot(*spoke.T), 1e-12)
                heading[arc] = 0.0
                heading[arc, 0] = side * spoke[:, 1] / reach
                heading[arc, 1] = -side * spoke[:, 0] / reach
            radius[arc] = np.hypot(*(moves.start[arc, :2] - moves.centre[arc]).T)
        return enter, leave, radius

    @cached_property
    def clock(self) -> Array:
        """(m,) s from the start to the end of each move, waits for the operator left out."""
        return np.cumsum(self.seconds + self.moves.wait)

    @property
    def total_seconds(self) -> float:
        """s from the start to the end of the program."""
        return float(self.clock[-1]) if len(self.clock) else 0.0

    @cached_property
    def load_seconds(self) -> list[float]:
        """s between pauses."""
        spent = np.bincount(np.cumsum(self.moves.pause), weights=self.seconds + self.moves.wait)
        return [float(seconds) for seconds in spent]

    @cached_property
    def loads(self) -> list[dict[str, float]]:
        """Between pauses: `seconds`, `strokes` and `drawn_mm` of each."""
        load = np.cumsum(self.moves.pause)
        drawn = np.bincount(load, weights=np.where(self.moves.drawing, self.lengths, 0.0))
        lowered = np.bincount(load, weights=np.diff(self.stroke, prepend=0))
        return [
            {"seconds": round(float(s), 2), "strokes": int(n), "drawn_mm": round(float(mm), 3)}
            for s, n, mm in zip(self.load_seconds, lowered, drawn, strict=True)
        ]

    def first_line(self, stroke: int) -> int:
        """The line in which a stroke (from 1) is begun; 0 where there is none such."""
        first = int(np.searchsorted(self.stroke, stroke))
        return int(self.moves.line[first]) if first < len(self.moves) else 0

    def move_at(self, seconds: float) -> int | None:
        """Which move is under way at that time; None after the end."""
        index = int(np.searchsorted(self.clock, seconds, side="right"))
        return index if index < len(self.clock) else None

    def stroke_at(self, seconds: float) -> tuple[int, int] | None:
        """The stroke (from 1) being drawn at that time, or the next to be, and its first line; None after the last."""
        index = self.move_at(seconds)
        if index is None:
            return None
        touching = np.flatnonzero((self.moves.down_at_end | self.moves.down_at_start)[index:])
        raising = self.moves.down_at_start & ~self.moves.down_at_end
        touching = touching[~raising[index:][touching]]
        if not len(touching):
            return None
        number = int(self.stroke[index + touching[0]])
        first = int(np.flatnonzero(self.stroke == number)[0])
        return number, int(self.moves.line[first])
