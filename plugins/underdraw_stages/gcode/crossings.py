"""Keep-outs on the bed: strokes and park that lie in one are refused, and travel goes over them or round."""

import numpy as np

from underdraw.errors import CannotDo
from underdraw.machine.keep_outs import KeepOuts
from underdraw.words.lengths import format_length
from underdraw_stages.gcode.chosen import Chosen
from underdraw_stages.gcode.setup import Setup

MOST_NAMED = 5  # strokes in a refusal; the others are counted
OUTSIDE_MM = 0.01  # rounding on the wire is less


def refuse_crossings(chosen: Chosen, setup: Setup, tolerance: float) -> None:
    """Raise CannotDo where a stroke, drawn to within `tolerance` mm, or park lies in a keep-out."""
    keep_outs = KeepOuts.of(setup.job.machine.keep_out, setup.lying)
    if not len(keep_outs):
        return
    drawing = chosen.drawing
    points = setup.lying.to_program(drawing.coords)
    last = np.zeros(len(points), dtype=np.bool_)
    last[drawing.parts[1:] - 1] = True
    start, end = points, np.where(last[:, None], points, np.roll(points, -1, axis=0))
    box = keep_outs.crossed(start, end, np.zeros(len(points)), tolerance)
    for index, name in enumerate(keep_outs.names):
        rows = np.unique(np.searchsorted(drawing.parts, np.flatnonzero(box == index), side="right") - 1)
        if len(rows):
            numbers = chosen.numbers[rows]
            named = ", ".join(str(number) for number in numbers[:MOST_NAMED].tolist())
            more = f" and {len(numbers) - MOST_NAMED} more" if len(numbers) > MOST_NAMED else ""
            which = f"stroke {named} crosses" if len(numbers) == 1 else f"strokes {named}{more} cross"
            raise CannotDo(
                f"{which} keep-out {name!r}: the marker would strike it\n  try: move what is there, and set its at in "
                "[[machine.keep_out]] anew",
                keys=("machine", "keep_out"),
            )
    markers = list(dict.fromkeys(drawing.marker.tolist()))
    tips = np.array([setup.lying.park_in_program]) + setup.lying.tip_shifts(markers)
    found = keep_outs.crossed(tips, tips, np.full(len(tips), setup.heights.swap_height)).tolist()
    for marker, box in zip(markers, found, strict=True):
        if box < 0:
            continue
        least = format_length(float(keep_outs.heights[box]), setup.units, "up")
        tip = f": the tip of marker {marker!r}" if len(set(found)) > 1 else ""
        raise CannotDo(
            f"[machine] park{tip} is in keep-out {keep_outs.names[box]!r}, which {least} is clear of\n"
            "  try: another park",
            keys=("machine", "park"),
        )


def refuse_outside(chosen: Chosen, setup: Setup) -> None:
    """Raise CannotDo where a stroke lies beyond the image: no stage that places artwork puts one there."""
    drawing, (wide, tall), scrap = chosen.drawing, setup.lying.board, setup.lying.prime_box
    boxes = [(0.0, 0.0, wide, tall)]
    if scrap is not None:
        boxes.append((scrap[0], tall - scrap[3], scrap[2], tall - scrap[1]))
    beyond = np.minimum.reduce([
        np.maximum(np.array(box[:2]) - drawing.coords, drawing.coords - np.array(box[2:])).max(axis=1) for box in boxes
    ])  # fmt: skip
    at = int(beyond.argmax()) if len(beyond) else 0
    if len(beyond) and beyond[at] > OUTSIDE_MM:
        stroke = int(chosen.numbers[np.searchsorted(drawing.parts, at, side="right") - 1])
        far = format_length(float(beyond[at]), setup.units, "up")
        raise CannotDo(
            f"stroke {stroke} of the drawing lies {far} outside the image\n"
            "  try: the drawing that `order` wrote; a step of your own after it may have moved its lines"
        )


class Travel:
    """Where the marker is in the program's units, and its way from there past the keep-outs.

    may_rise: whether the lift may go higher; where it may not, the way goes round.
    """

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.keep_outs = KeepOuts.of(setup.job.machine.keep_out, setup.lying)
        top = setup.job.machine.height
        self.may_rise = not setup.own_heights
        self.top = np.inf if top is None else top
        self.at: tuple[float, float] | None = None

    @property
    def highest(self) -> float:
        """mm: the greatest clear height that the machine can rise to; 0 where there is none."""
        heights = self.keep_outs.heights
        return float(max(heights[heights <= self.top], default=0.0)) if self.may_rise else 0.0

    def is_free(self, x: float, y: float, height: float, marker: str) -> bool:
        """Whether no keep-out lies on the straight way to a point, at a height, in the program's units."""
        if self.at is None or not len(self.keep_outs):
            return True
        unit, shift = self.setup.unit_mm, self.setup.lying.tip_shifts([marker])[0]
        start, end = np.array([self.at]) * unit + shift, np.array([(x, y)]) * unit + shift
        return bool(self.keep_outs.crossed(start, end, np.array([height * unit]))[0] < 0)

    def way(self, x: float, y: float, height: float, marker: str) -> tuple[float | None, list[tuple[float, float]]]:
        """The height to rise to first, where it is another, and the points to go through, in the program's units.

        Raises CannotDo where no way leads past the keep-outs.
        """
        before, self.at = self.at, (x, y)
        if before is None or not len(self.keep_outs) or before == (x, y):
            return None, [(x, y)]
        unit = self.setup.unit_mm
        shift = self.setup.lying.tip_shifts([marker])[0]
        start, end = np.array([before]) * unit + shift, np.array([(x, y)]) * unit + shift
        box = int(self.keep_outs.crossed(start, end, np.array([height * unit]))[0])
        if box < 0:
            return None, [(x, y)]
        clear = float(self.keep_outs.heights[box])
        if self.may_rise and clear <= self.top:
            return self.setup.length(clear), [(x, y)]
        points = self.keep_outs.way(tuple(start[0]), tuple(end[0]), height * unit, self._reach(shift))
        if points is None:
            raise CannotDo(
                f"travel cannot go round keep-out {self.keep_outs.names[box]!r}, and not over it\n  try: another place "
                "for what is there, or a [machine] height that lets the tip rise over it",
                keys=("machine", "keep_out"),
            )
        rounded = [tuple(self.setup.length(float(value)) for value in point - shift) for point in np.array(points[:-1])]
        return None, [*((px, py) for px, py in rounded), (x, y)]

    def _reach(
        self, shift: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    ) -> tuple[float, float, float, float] | None:
        reach = self.setup.lying.reach
        if reach is None:
            return None
        away = np.add(self.setup.lying.zero, self.setup.lying.axis_beside) - shift
        low, high = np.subtract(reach[:2], away), np.subtract(reach[2:], away)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])
