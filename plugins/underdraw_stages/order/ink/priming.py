"""Lines that a marker draws before each of its loads, in the corner squares of the canvas, until its line is solid.

The squares fold away behind the frame, and are not painted. Lines go to and fro beside the registration mark, far
enough from one another to be seen.
"""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import offsets
from underdraw.errors import CannotDo
from underdraw.machine.loads import Load, loads_between
from underdraw.panel import MARK_MM, Lying
from underdraw.plugins.parts import Installed
from underdraw.words.quantities import length_in
from underdraw.words.units import unit_of

Array = NDArray[np.float64]

EDGE_MM = 2.0  # from the folds and the image's edge
BESIDE_MM = 1.0  # of that, what stays free beside a broad line
TIPS_APART = 3.0  # rows: so that a line that is not solid yet shows
LEAST_ROW_MM = 5.0
LAYER = "prime"


def primed(drawing: Drawing, registry: Installed) -> Drawing:
    """The same, each load of a marker that has `prime` begun with so much line; the same drawing where none has.

    Raises CannotDo for a canvas without corner squares or scrap, in sections, or where there is no room.
    """
    if not any(drawing.job.marker(name).prime for name in set(drawing.marker.tolist())):
        return drawing
    lying = Lying.of(drawing, registry)
    instead = "\n  try: leave `prime` out, and run the marker on scrap by hand"
    if not lying.panel.wraps and lying.prime_box is None:
        scrap = 'name a scrap beside it: [machine] prime_at = "-70 x 0 mm"'
        raise CannotDo(f"prime: a canvas on its frame has no corner that folds away\n  try: {scrap}{instead}")
    if lying.sections is not None:
        raise CannotDo(f"prime: a board that is drawn in sections is not primed on{instead}")
    corners = [Rows(square, marked=True) for square in lying.panel.corner_squares]
    if lying.prime_box is not None:
        x0, y0, x1, y1 = lying.prime_box
        corners = [Rows((x0, lying.board[1] - y1, x1, lying.board[1] - y0), marked=False)]
    lines: dict[int, Array] = {}
    for load in loads_between(drawing):
        if not load.marker.prime:
            continue
        line = next_line(corners, drawing, load)
        if line is None:
            length = length_in(load.marker.prime, unit_of(drawing.job))
            raise CannotDo(
                f"prime: there is no room for {length} of marker {load.marker.name!r} before load "
                f"{load.number}\n  try: a shorter `prime`{instead}"
            )
        lines[load.first - 1] = line
    return with_beginnings(drawing, lines)


def with_beginnings(drawing: Drawing, lines: dict[int, Array]) -> Drawing:
    """A drawing with a stroke along each of these lines before the stroke (from 0) that it is for, as that one is."""
    rows = np.sort(np.concatenate([np.arange(len(drawing)), np.array(list(lines), dtype=np.int64)]))
    added = np.append(rows[1:] == rows[:-1], False)
    longer = drawing.select(rows)
    strokes = [
        lines[row] if new else longer.part_coords(at)
        for at, (row, new) in enumerate(zip(rows.tolist(), added.tolist(), strict=True))
    ]
    layer = longer.layer.copy()
    layer[added] = LAYER
    return longer.replace(
        coords=np.concatenate(strokes), parts=offsets([len(stroke) for stroke in strokes]), layer=layer
    )


class Rows:
    """What is free of a corner square or of the scrap: rows from its upper edge down, clear of the mark."""

    def __init__(self, square: Box, marked: bool) -> None:
        self.square, self.marked = square, marked
        self.middle = (square[0] + square[2]) / 2, (square[1] + square[3]) / 2
        self.lowest, self.pitch = square[1], 0.0  # of the last line: where it ends, and how far apart its rows are

    def meander(self, length: float, tip: float) -> Array | None:
        """(n, 2) a line of that length and width to and fro below what is taken; None without room for it."""
        pitch, edge = TIPS_APART * tip, max(EDGE_MM, tip / 2 + BESIDE_MM)
        sides, bottom = (self.square[0] + edge, self.square[2] - edge), self.square[3] - edge
        if sides[1] - sides[0] < LEAST_ROW_MM:
            return None
        y = self.below_mark(self.lowest + max(self.pitch, pitch) if self.pitch else self.lowest + edge, edge)
        points, left, side = [(sides[0], y)], length, 1
        while left > 1e-9:
            x = points[-1][0]
            across = min(left, sides[1] - sides[0])
            points.append((x + across if side else x - across, y))
            left -= across
            below = self.below_mark(y + pitch, edge)
            if y > bottom or (left > 1e-9 and y + min(left, below - y) > bottom):
                return None
            if left > 1e-9:
                y += min(left, below - y)
                left -= y - points[-1][1]
                points.append((points[-1][0], y))
                side = 1 - side
        self.lowest, self.pitch = y, pitch
        return np.array(points)

    def below_mark(self, y: float, edge: float) -> float:
        """The same height, or the next one clear of the mark's."""
        if not self.marked:
            return y
        clear = MARK_MM / 2 + edge
        return self.middle[1] + clear if abs(y - self.middle[1]) < clear else y


def next_line(corners: list[Rows], drawing: Drawing, load: Load) -> Array | None:
    """Where a load's marker is primed: in the corner nearest to its first stroke that has room."""
    start = drawing.coords[drawing.parts[load.first - 1]]
    for corner in sorted(corners, key=lambda each: float(np.hypot(*(np.array(each.middle) - start)))):
        line = corner.meander(float(load.marker.prime or 0.0), load.marker.tip)
        if line is not None:
            return line
    return None
