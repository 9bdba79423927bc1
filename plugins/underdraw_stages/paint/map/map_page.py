"""The map on one page: the board as it lies, its regions with their numbers, the palette beside or below it."""

import numpy as np

from underdraw.page.canvas_page import MARGIN, PAGE_HEIGHT, PAGE_WIDTH, QUIET, Page
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.page.text_width import broken
from underdraw.page.title import put_title
from underdraw.words.quantities import area_in, counted, length_in
from underdraw_stages.paint.map.outlines import (
    HATCHING,
    STYLE,
    fold_ticks,
    on_page,
    outlines,
    put_fold_ticks,
    put_numbers,
    put_outlines,
)
from underdraw_stages.paint.map.palette_table import (
    HEAD,
    LIST_WIDTH,
    ROW,
    SUM_ROWS,
    WIDTH,
    entries_shown,
    list_height,
    put_narrow,
    put_palette,
)
from underdraw_stages.paint.map.region_numbers import place_numbers
from underdraw_stages.paint.paint_plan import PaintPlan

TOP = 33.0  # of the figure
AROUND = 6.0  # about the figure, for fold ticks and numbers with leaders
GAP = 3.0
NOTE = 3.0  # font size of notes
NOTES = 14.0  # height of the notes
COLUMNS_BELOW = 2
LEAST_LISTED = 4  # rows of the list of narrow regions for which the map makes room


def map_page(subject: Subject, plan: PaintPlan) -> bytes:
    """The page, as bytes of an SVG file."""
    panel = subject.panel
    box = (0.0, 0.0, *panel.board)
    wide, tall = PAGE_WIDTH - 2 * MARGIN, PAGE_HEIGHT - TOP - AROUND - NOTES
    beside = OnPage.largest(box, (wide - 2 * AROUND - WIDTH - GAP, tall), TOP)
    entries = entries_shown(plan)
    rows_below = -(-(len(entries) + SUM_ROWS) // COLUMNS_BELOW)
    list_below = list_height(plan, len(list_columns(wide)), LEAST_LISTED)
    tables = HEAD + rows_below * ROW + (list_below + MARGIN if list_below else 0.0)
    below = OnPage.largest(box, (wide - 2 * AROUND, max(20.0, tall - tables)), TOP)
    end_beside = TOP + (len(entries) + SUM_ROWS) * ROW + list_height(plan, 1, LEAST_LISTED)
    is_beside = below.reduction >= beside.reduction and end_beside <= PAGE_HEIGHT - MARGIN
    placing = OnPage(box, beside.reduction, MARGIN + AROUND, TOP) if is_beside else below
    page = Page(f"{subject.name}: map for painting", description(subject, plan), style=STYLE)
    page.defs.append(HATCHING)
    put_title(page, f"Map for painting{subject.which_way}", subject, placing.words)
    lines, narrow = outlines(plan, placing), on_page(plan.narrow.area, placing)
    put_outlines(page, lines, narrow)
    ticks = fold_ticks(panel, placing)
    put_fold_ticks(page, ticks)
    around = (placing.left - AROUND, placing.top - AROUND, placing.right + AROUND, placing.bottom + AROUND)
    numbers, left_out = place_numbers(plan, np.concatenate([lines, ticks]), narrow, placing, around)
    put_numbers(page, numbers)
    room = placing.right + AROUND - MARGIN if is_beside else wide
    y = put_notes(page, plan, placing.bottom + AROUND, room, left_out, folds=len(ticks) > 0)
    if is_beside:
        x = placing.right + AROUND + GAP
        end = put_palette(page, plan, entries, x, TOP - HEAD, subject.unit)
        left = [(each, y) for each in list_columns(x - GAP - MARGIN)]
        end = max(end, put_narrow(page, plan, [(x, end), *left], subject.unit))
        return page.svg(max(y, end) + MARGIN)
    ends = [y]
    for column in range(COLUMNS_BELOW):
        some = entries[column * rows_below : (column + 1) * rows_below]
        x = MARGIN + column * (PAGE_WIDTH - 2 * MARGIN - WIDTH)
        ends.append(put_palette(page, plan, some, x, y, subject.unit, last=column == COLUMNS_BELOW - 1))
    columns = [(each, max(ends)) for each in list_columns(wide)]
    end = put_narrow(page, plan, columns, subject.unit)
    return page.svg(end + MARGIN)


def list_columns(room: float) -> list[float]:
    """Where columns of the list of narrow regions begin, from the left margin on."""
    return [MARGIN + at * LIST_WIDTH for at in range(int(room // LIST_WIDTH))]


def put_notes(page: Page, plan: PaintPlan, y: float, room: float, left_out: int, *, folds: bool) -> float:
    """What is what on the map; the new y."""
    notes = ["Paint the numbers in their order."] if plan.entries else []
    if folds:
        notes.append("Ticks beside the map: the folds.")
    if len(plan.narrow):
        notes.append(f"Hatched: narrower than {length_in(plan.tool, 'mm')}.")
    if left_out:
        notes.append(f"{counted(left_out, 'small region')} without a number; --full-size has room for more.")
    unlisted = len(plan.entries) - len(entries_shown(plan))
    if unlisted:
        notes.append(f"{counted(unlisted, 'small colour')} without a row; a larger --alike makes fewer.")
    coats = plan.entries[0] if plan.entries else None
    if coats:
        notes.append(
            f"Paint: {counted(coats.coats, 'coat')} of {length_in(coats.coat, 'mm')}, wet (common practice, no source)."
        )
    for line in broken(" ".join(notes), NOTE, room, most=6):
        y += NOTE * 1.28
        page.text(MARGIN, y, line, size=NOTE, colour=QUIET)
    return y


def description(subject: Subject, plan: PaintPlan) -> str:
    """What a person who cannot see the map should know of it."""
    return (
        f"The regions of {subject.name} with the numbers of their colours: {counted(len(plan.entries), 'colour')}, "
        f"{counted(len(plan.area), 'region')}, {area_in(plan.painted_mm2, subject.unit)} to paint."
    )
