"""The title, the table of markers, the kinds of line, and the scale bar."""

from dataclasses import dataclass

from underdraw.machine.loads import TimedLoad
from underdraw.page.canvas_page import (
    BEND,
    FAINT,
    HIDDEN,
    LETTERS,
    MARGIN,
    PAPER,
    QUIET,
    REACH,
    SMALL,
    TEXT,
    TRAVEL,
    VISIBLE,
    Page,
    n,
)
from underdraw.page.ink import EDGE, is_pale
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.page.text_width import broken
from underdraw.words.quantities import distance, duration, length_in
from underdraw_stages.preview import PreviewSettings

ROW = 6.2
LONGEST_BAR = 85.0  # on paper, its words included
BARS = (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)  # mm of canvas


@dataclass
class Row:
    """One marker of the job, all its loads together."""

    load: TimedLoad
    loads: int = 0
    strokes: int = 0
    drawn_mm: float = 0.0
    seconds: float = 0.0


def rows_of(loads: list[TimedLoad]) -> list[Row]:
    """A row a marker, in the order they are first used."""
    rows: dict[str, Row] = {}
    for load in loads:
        row = rows.setdefault(load.marker.name, Row(load))
        row.loads += 1
        row.strokes += load.strokes
        row.drawn_mm += load.drawn_mm
        row.seconds += load.seconds
    return list(rows.values())


# Heading, where the column is anchored, whether at its end, and the room it has.
COLUMNS = (
    ("marker", 24.0, False, 34.0),
    ("ink", 59.0, False, 32.5),
    ("tip", 109.0, True, 17.0),
    ("strokes", 128.0, True, 18.0),
    ("drawn", 147.0, True, 18.0),
    ("loads", 160.0, True, 12.5),
    ("time", 183.0, True, 22.5),
)


def put_markers(page: Page, subject: Subject, top: float, notes: list[str]) -> float:
    """The markers with ink, tip, strokes, length, loads and time; the notes below them; the new y."""
    page.rule(top)
    y = top + 5.6
    rows = rows_of(subject.loads)
    if rows:
        put_row(page, y, [column[0] for column in COLUMNS], colour=QUIET, size=SMALL)
        y += ROW
    for row in rows:
        marker = row.load.marker
        if is_pale(marker.looks):
            page.add(_sample(y, marker.line_width + 0.5, EDGE))
        page.add(_sample(y, marker.line_width, marker.looks))
        tip = length_in(marker.tip, "mm")
        words = [
            marker.name,
            row.load.ink.name,
            tip,
            f"{row.strokes:,}",
            distance(row.drawn_mm, subject.unit),
            str(row.loads),
        ]
        put_row(page, y, [*words, duration(row.seconds)])
        y += ROW
    if len(rows) > 1:
        total = [f"{sum(row.strokes for row in rows):,}", distance(sum(row.drawn_mm for row in rows), subject.unit)]
        seconds = sum(row.seconds for row in rows)
        put_row(page, y, ["all", "", "", *total, str(sum(row.loads for row in rows)), duration(seconds)], bold=True)
        y += ROW
    for note in notes:
        for line in broken(note, SMALL, page.width - 2 * MARGIN, most=3):
            page.text(MARGIN, y, line, size=SMALL, colour=QUIET)
            y += ROW * 0.82
    return y - ROW * 0.82 + 3.4


def put_row(
    page: Page, y: float, words: list[str], *, colour: str = "", size: float = TEXT, bold: bool = False
) -> None:
    """One row of the table."""
    for (_, x, at_end, room), word in zip(COLUMNS, words, strict=True):
        if word:
            page.text(x, y, word, size=size, bold=bold, anchor="end" if at_end else "start", colour=colour, room=room)


def _sample(y: float, width: float, colour: str) -> str:
    """A line of a marker, in its true width on paper."""
    return (
        f'<path d="M{n(MARGIN + 1)} {n(y - TEXT * 0.34)}c4-2.6 8.5 2.6 12.5 0" '
        f'fill="none" stroke="{colour}" stroke-width="{n(width)}" stroke-linecap="round"/>'
    )


def put_line_kinds(page: Page, subject: Subject, settings: PreviewSettings, x: float, y: float) -> float:
    """What each kind of line stands for; the new y."""
    panel = subject.panel
    kinds = [(VISIBLE, "canvas edge")]
    if panel.wraps:
        kinds += [(HIDDEN, "board beneath"), (BEND, "folds")]
    if panel.bed is not None:
        kinds.append((REACH, "bed and reach"))
    if settings.travel:
        kinds.append((TRAVEL, "marker lifted"))
    if settings.faint and subject.drawing.faint is not None:
        kinds.append((FAINT, f"not drawn, {distance(subject.drawing.faint.length_mm, subject.unit)}"))
    for kind, words in kinds:
        y += ROW * 0.86
        page.line(kind, [(x, y - TEXT * 0.34), (x + 15.5, y - TEXT * 0.34)])
        page.text(x + 18, y, words, size=SMALL)
    if settings.lifts:
        for down, words in ((True, "marker set down"), (False, "marker raised")):
            y += ROW * 0.86
            at = f"M{n(x + 7.75)} {n(y - TEXT * 0.34)}h0"
            page.add(lift_signs(at if down else "", "" if down else at))
            page.text(x + 18, y, words, size=SMALL)
    return y


def lift_signs(down: str, up: str) -> str:
    """Rings where the marker is set down and dots where it is raised: path data of points."""
    layers = ((1.1, TRAVEL.colour, down), (0.7, PAPER, down), (0.6, TRAVEL.colour, up))
    paths = (f'<path stroke="{colour}" stroke-width="{n(width)}" d="{at}"/>' for width, colour, at in layers if at)
    return f'<g fill="none" stroke-linecap="round">{"".join(paths)}</g>'


def put_scale_bar(page: Page, placing: OnPage, x: float, y: float) -> float:
    """A bar of round length on the canvas, which measures right where the page is printed at 100 %; the new y."""
    room = min(page.width - MARGIN - x, LONGEST_BAR) - 20
    inches = tuple(25.4 * step for step in (1, 2, 4, 6, 12, 24, 48, 96))
    length = max(bar for bar in (1.0, *BARS) if bar / placing.reduction <= room)
    inch = max((bar for bar in inches if bar / placing.reduction <= room), default=0.0)
    for size, unit, tall in ((length, "mm", 1.6), (inch, "in", 1.6)):
        if not size:
            continue
        wide = size / placing.reduction
        page.box(x, y, x + wide, y + tall, f'fill="{PAPER}" stroke="{LETTERS}" stroke-width=".2"')
        quarter = f"h{n(wide / 4)}v{n(tall)}h-{n(wide / 4)}z"
        page.add(f'<path d="M{n(x)} {n(y)}{quarter}M{n(x + wide / 2)} {n(y)}{quarter}"/>')
        page.text(x + wide + 2, y + tall, length_in(size, unit), size=SMALL)
        y += 5.4
    note = f"On paper at 100 % the upper bar is {n(length / placing.reduction)} mm long."
    for line in broken(note, SMALL, page.width - MARGIN - x):
        page.text(x, y + 1.6, line, size=SMALL, colour=QUIET)
        y += SMALL * 1.28
    return y - 1.0
