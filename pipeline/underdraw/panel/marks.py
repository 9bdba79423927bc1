"""Registration marks: crosses to find a board again by, when it is back on the bed after painting.

They are drawn where nobody paints and nobody looks later: in the corner squares, which fold away.
"""

from dataclasses import dataclass

from underdraw.drawing.boxes import Point
from underdraw.panel.geometry import Panel, Segment, kept

MARK_MM = 6.0  # from end to end of a cross: long enough to put a tip over its middle
LEAST_MARK_MM = 2.0  # a smaller cross is a blot under most tips (common practice, no source)
ROOM_SHARE = 0.6  # of the strip that a cross stands in: clear of the folds and of the edge


@dataclass(frozen=True)
class Mark:
    """A cross: its middle in board coordinates (mm, y down), and from end to end (mm)."""

    at: Point
    size: float

    @property
    def strokes(self) -> tuple[Segment, Segment]:
        """Its two lines, level and upright."""
        (x, y), arm = self.at, self.size / 2
        return ((kept(x - arm), y), (kept(x + arm), y)), ((x, kept(y - arm)), (x, kept(y + arm)))


def corner_marks(panel: Panel) -> tuple[Mark, ...]:
    """One in the middle of each corner square: top left, top right, bottom right, bottom left.

    None on a canvas that is on its frame already, or where the squares have no room for a cross.
    """
    if not panel.wraps:
        return ()
    size = mark_size(min(panel.side_width))
    middles = [(kept((x0 + x1) / 2), kept((y0 + y1) / 2)) for x0, y0, x1, y1 in panel.corner_squares]
    return tuple(Mark(middle, size) for middle in middles) if size else ()


def mark_size(room: float) -> float:
    """From end to end of a cross in a strip so wide (mm); 0 where it has no room for one."""
    size = kept(min(MARK_MM, ROOM_SHARE * room))
    return size if size >= LEAST_MARK_MM else 0.0
