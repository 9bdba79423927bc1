"""The view of changes: an older drawing beneath this one, what went dashed, what came bold, what stayed thin."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from underdraw import Context, Drawing, InputError
from underdraw.drawing.wire import read_drawing
from underdraw.page.canvas_page import (
    CAME,
    LEADING,
    MARGIN,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    QUIET,
    SMALL,
    STAYED,
    TEXT,
    WENT,
    LineKind,
    Page,
)
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.page.surfaces import put_edges, put_surfaces
from underdraw.page.text_width import broken
from underdraw.page.title import put_title
from underdraw.words.quantities import counted, distance, fine_length
from underdraw_stages.preview.since.changed_lines import SAME_MM, ChangedLines, Part, changed_lines
from underdraw_stages.preview.since.changed_settings import changed_settings

UNRELATED = 0.1  # of the shorter drawing's line in the other: less, and they are of two pictures
MOST_LISTED = 16  # differences of settings listed one by one
TOP = 30.0
LEGEND = 60.0


def read_old(file: str) -> Drawing:
    """The older drawing. Raises InputError where it cannot be read, or is not of strokes."""
    try:
        with open(file, "rb") as source:
            old = read_drawing(source.read(), file)
    except OSError as error:
        raise InputError(f"{file}: cannot be read: {error.strerror or error}") from None
    if not old.is_strokes:
        raise InputError(f"{file}: is not of strokes; --since takes a drawing that tidy or a later stage wrote")
    return old


def changes_view(subject: Subject, old: Drawing, context: Context) -> tuple[bytes, str]:
    """The page as bytes of an SVG file, and the changes in a line. Raises InputError for what is not strokes yet."""
    if not subject.drawing.is_strokes:
        raise InputError("--since compares strokes; put tidy before preview")
    lines, settings = changed_lines(old, subject.drawing), changed_settings(old, subject.drawing)
    words = in_words(lines, subject.unit)
    if is_unrelated(lines, old, subject.drawing):
        context.warn(f"{unrelated(lines)}; give --since a drawing of the same picture")
    page = Page(f"{subject.name}: what changed", f"What changed in {subject.name}: {words}.")
    room = (PAGE_WIDTH - 2 * MARGIN, PAGE_HEIGHT - TOP - LEGEND - SMALL * LEADING * min(len(settings), MOST_LISTED))
    placing = OnPage.largest(subject.canvas_box, room, TOP)
    put_title(page, f"What changed{subject.which_way}", subject, placing.words)
    put_surfaces(page, placing, subject.panel)
    put_edges(page, placing, subject.panel)
    for name, kind, part in (("stayed", STAYED, lines.stayed), ("went", WENT, lines.went), ("came", CAME, lines.came)):
        with page.group(f'id="{name}" stroke-linecap="round"'):
            page.add(f'<path class="{kind.css}" d="{path_on_page(part, placing)}"/>')
    y = put_kinds(page, placing.bottom + 9.0, lines, subject)
    if is_unrelated(lines, old, subject.drawing):
        y = put_lines(page, y, [f"{unrelated(lines).capitalize()}."], bold=True)
    return page.svg(put_settings(page, y, settings) + MARGIN), words


def is_unrelated(lines: ChangedLines, old: Drawing, new: Drawing) -> bool:
    """Whether two drawings, of which neither is empty, have hardly a line in common."""
    return bool(len(old) and len(new)) and lines.shared < UNRELATED


def unrelated(lines: ChangedLines) -> str:
    """That two drawings have little in common."""
    return f"these drawings share {lines.shared:.0%} of their lines: they look like two pictures"


def in_words(lines: ChangedLines, unit: str) -> str:
    """What changed, with lengths."""
    parts = [f"{name} {amount(part, unit)}" for name, part in
             (("went", lines.went), ("came", lines.came), ("stayed", lines.stayed))]  # fmt: skip
    return "; ".join(parts)


def amount(part: Part, unit: str) -> str:
    """How long, and in how many strokes."""
    return f"{distance(part.length, unit)} in {counted(part.strokes, 'stroke')}" if part.strokes else "nothing"


def put_kinds(page: Page, y: float, lines: ChangedLines, subject: Subject) -> float:
    """Each kind of line with what it stands for and its length; the new y."""
    rows: list[tuple[LineKind, str, Part]] = [
        (WENT, "went, in the older drawing alone", lines.went),
        (CAME, "came, in this drawing alone", lines.came),
        (STAYED, f"stayed, within {fine_length(SAME_MM, subject.unit)}", lines.stayed),
    ]
    for kind, words, part in rows:
        page.line(kind, [(MARGIN, y - TEXT * 0.34), (MARGIN + 15.5, y - TEXT * 0.34)])
        page.text(MARGIN + 19.0, y, f"{words}: {amount(part, subject.unit)}", size=SMALL)
        y += SMALL * 1.5
    if lines.remarked_mm >= 1.0:
        length = distance(lines.remarked_mm, subject.unit)
        y = put_lines(page, y, [f"{length} of what stayed is drawn by another marker now."])
    return y


def put_settings(page: Page, y: float, settings: Sequence[str]) -> float:
    """The settings that differ; the new y."""
    if not settings:
        return put_lines(page, y, ["Sizes, markers and settings are the same."])
    y = put_lines(page, y + SMALL * 0.5, ["Sizes, markers and settings that differ, older → this one:"], bold=True)
    more = len(settings) - MOST_LISTED
    listed = [*settings[:MOST_LISTED], *([f"and {more} more"] if more > 0 else [])]
    return put_lines(page, y, listed)


def put_lines(page: Page, y: float, lines: Sequence[str], *, bold: bool = False) -> float:
    """Lines of text, broken where they must; the new y."""
    for text in lines:
        for line in broken(text, SMALL, page.width - 2 * MARGIN, most=3, bold=bold):
            page.text(MARGIN, y, line, size=SMALL, bold=bold, colour="" if bold else QUIET)
            y += SMALL * LEADING
    return y


def path_on_page(part: Part, placing: OnPage) -> str:
    """Path data of lines, in mm of the page."""
    coords, index = shapely.get_coordinates(part.lines, return_index=True)
    points = np.round(placing.all(coords), 3)
    begins = np.ones(len(points), dtype=np.bool_)
    begins[1:] = index[1:] != index[:-1]
    pairs: list[tuple[Any, Any]] = list(zip(begins.tolist(), points.tolist(), strict=True))
    return "".join(f"{'M' if first else 'L'}{x:g} {y:g}" for first, (x, y) in pairs)
