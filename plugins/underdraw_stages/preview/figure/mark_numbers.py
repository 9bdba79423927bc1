"""Registration marks on the flat view: each with its number, as the sheet and the program have it."""

from underdraw.page.canvas_page import LETTERS, PAPER, SMALL, Page
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.panel import MARK_MM

HALO = f'stroke="{PAPER}" stroke-width=".7"'
GAP = 0.5  # between a cross and its number, mm on the page


def put_mark_numbers(page: Page, placing: OnPage, subject: Subject) -> None:
    """Each number below and to the right of its cross."""
    marks = subject.lying.marks
    if not marks:
        return
    with page.group('id="marks"'):
        for number, (x, y) in enumerate(marks, 1):
            px, py = placing.at(x, y)
            side = MARK_MM / 2 / placing.reduction
            spot = px + side / 2 + GAP, py + SMALL
            page.text(*spot, str(number), size=SMALL, bold=True, colour=PAPER, more=HALO)  # hatching would hide it
            page.text(*spot, str(number), size=SMALL, bold=True, colour=LETTERS)
