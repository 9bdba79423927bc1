"""Where a label goes beside the point that it is of: on the figure, over no other label."""

import math

from underdraw.page.on_page import Box

AWAY = (4.5, 7.0, 10.0, 14.0)  # mm from the point to the label's edge, tried in turn
WAYS = 12


def free_position(
    x: float, y: float, size: tuple[float, float], inside: Box, taken: list[Box]
) -> tuple[float, float] | None:
    """The nearest middle for a label of this size that covers no other label and lies on the canvas."""
    for away in AWAY:
        for way in range(WAYS):
            angle = math.radians(-60 + way * 360 / WAYS)
            middle = x + math.cos(angle) * (away + size[0] / 2), y + math.sin(angle) * (away + size[1] / 2)
            box = box_around(*middle, size)
            if box[0] < inside[0] or box[1] < inside[1] or box[2] > inside[2] or box[3] > inside[3]:
                continue
            if not any(
                box[0] < b[2] + 0.6 and b[0] < box[2] + 0.6 and box[1] < b[3] + 0.6 and b[1] < box[3] + 0.6
                for b in taken
            ):
                return middle
    return None


def box_around(x: float, y: float, size: tuple[float, float]) -> Box:
    """The box of that size whose middle is there."""
    return x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2
