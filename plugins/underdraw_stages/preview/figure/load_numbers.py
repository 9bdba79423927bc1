"""The number of the stroke that begins each load, beside its first point, with the marker put in there."""

from underdraw.page.callouts import pill, pill_size
from underdraw.page.canvas_page import LETTERS, PAPER, SMALL, Page, n
from underdraw.page.labels import box_around, free_position
from underdraw.page.on_page import Box, OnPage
from underdraw.page.subject import Subject

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
