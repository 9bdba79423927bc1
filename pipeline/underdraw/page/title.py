"""A page's title: the job's name, the view and the scale, and the job in one line."""

from underdraw.page.canvas_page import MARGIN, QUIET, TEXT, Page
from underdraw.page.subject import Subject
from underdraw.page.text_width import text_width

TITLE, LEAST_TITLE = 7.6, 5.2


def put_title(page: Page, view: str, subject: Subject, scale: str, more: str = "") -> None:
    """The job's name, the view, and the job in one line."""
    right = page.width - MARGIN
    room = right - MARGIN - text_width(scale, TEXT) - 6
    size = min(TITLE, max(LEAST_TITLE, TITLE * room / text_width(subject.name, TITLE, bold=True)))
    page.text(MARGIN, 13.0, subject.name, size=size, bold=True, room=room)
    page.text(right, 13.0, scale, anchor="end", colour=QUIET)
    words = [view, subject.face_words, *([more] if more else [])]
    page.text(MARGIN, 20.2, "  ·  ".join(words), colour=QUIET, room=right - MARGIN)
    page.rule(24.0)
