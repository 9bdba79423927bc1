"""The number of the stroke that begins each load, beside its first point, with the marker put in there."""

import math

from underdraw_stages.preview.page.callouts import pill, pill_size
from underdraw_stages.preview.page.canvas_page import LETTERS, PAPER, SMALL, Page, n
from underdraw_stages.preview.page.on_page import Box, OnPage
from underdraw_stages.preview.subject import Subject

AWAY = (4.5, 7.0, 10.0, 14.0)  # mm from the point to the label's edge, tried in turn
WAYS = 12
MOST = 120  # labels; more would be a drawing of labels
FEW = 5  # loads whose marker is named beside the number; more would cover the drawing


def put_load_numbers(page: Page, placing: OnPage, subject: Subject) -> int:
    """Label every load that has room; how many had none."""
    taken: list[Box] = []
    inside = (placing.left + 0.5, placing.top + 0.5, placing.right - 0.5, placing.bottom - 0.5)
    left_out = 0
    if not subject.loads:
        return 0
    named = len(subject.loads) <= FEW
    firsts = subject.drawing.parts[[load.first - 1 for load in subject.loads]]
    dots = [placing.at(*point) for point in subject.drawing.coords[firsts].tolist()]
    taken += [box_around(x, y, (2.2, 2.2)) for x, y in dots]
    labels: list[tuple[float, float, str]] = []
    for load, (x, y) in zip(subject.loads, dots, strict=True):
        if len(labels) == MOST:
            left_out += 1
            continue
        words = f"{load.first} {load.marker.name}" if named and len(load.marker.name) <= 14 else str(load.first)
        size = pill_size(words, SMALL)
        place = free_position(x, y, size, inside, taken)
        if place is None:
            left_out += 1
            continue
        taken.append(box_around(*place, size))
        page.add(f'<path d="M{n(x)} {n(y)}L{n(place[0])} {n(place[1])}" stroke="{PAPER}" stroke-width=".9"/>')
        page.add(f'<path d="M{n(x)} {n(y)}L{n(place[0])} {n(place[1])}" stroke="{LETTERS}" stroke-width=".25"/>')
        page.add(
            f'<circle cx="{n(x)}" cy="{n(y)}" r=".9" fill="{load.marker.looks}" stroke="{PAPER}" stroke-width=".35"/>'
        )
        labels.append((*place, words))
    for label in labels:
        pill(page, *label, SMALL)
    return left_out


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
    return x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2
