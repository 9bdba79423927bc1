"""The motion view: strokes appear in drawing order on the machine's own clock, some times faster.

It plays by CSS animation, without a script. Every element's own look is that of the end: what does not animate (a
renderer, a printer, a browser whose reader asked for less motion) shows the finished drawing and the whole time.
"""

from collections.abc import Iterator

import numpy as np

from underdraw import InputError
from underdraw.drawing.ink_paths import PER_MM, ink_paths
from underdraw.machine.clock import Schedule
from underdraw.machine.loads import TimedLoad
from underdraw.page.canvas_page import (
    LETTERS,
    MARGIN,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    PAPER,
    QUIET,
    SMALL,
    Page,
    n,
)
from underdraw.page.ink import EDGE, SCALE, is_pale, looks, runs, stroke_titles
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.page.surfaces import put_edges, put_surfaces
from underdraw.page.text_width import fitted, text_width
from underdraw.page.title import put_title
from underdraw.words.quantities import clock, counted, distance, duration
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.views.odometer import put_odometer

TOP = 30.0
BELOW = 44.0  # clock, marker and time line
PLAYS = 30.0  # seconds, where no speed-up is asked for
ROUND = (1.0, 2.0, 5.0)
TICKS = (5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400)  # s between marks of the time line
NOW = 1.0  # width on the page of the stroke that is being drawn
LEAST = 0.01  # s that a stroke takes to appear, at least
# A stroke's dash, as long as its path (pathLength 1), slides in from before the path's start: `both` keeps it hidden
# until its time comes. While it is drawn it is bold, to show where the marker is. A dot has no length to dash; it
# appears at once.
STYLE = (
    ".ink path{animation-timing-function:linear!important;animation-fill-mode:both!important}"
    "@keyframes d{from{stroke-dasharray:1 1.1;stroke-dashoffset:1.05;stroke-width:var(--now)}"
    "99.9%{stroke-width:var(--now)}to{stroke-dasharray:1 1.1;stroke-dashoffset:0}}"
    "@keyframes q{from{visibility:hidden}to{visibility:visible}}"
    "@keyframes p{from,to{visibility:hidden}}"
    "@keyframes on{from,to{visibility:visible}}"
    "@keyframes go{from{transform:translateX(0)}to{transform:translateX(var(--way))}}"
    "@keyframes up{to{transform:translateY(var(--rise))}}"
    "@media (prefers-reduced-motion:reduce){*{animation:none!important}}"
    "@media print{*{animation:none!important}}"
)


def motion_view(subject: Subject, settings: PreviewSettings) -> bytes:
    """The page, as bytes of an SVG file. Raises InputError for a drawing that is not of strokes yet."""
    schedule = subject.schedule
    if schedule is None:
        raise InputError("the motion view is of strokes of a marker; put `tidy` and `order` before it")
    faster = settings.speed_up or speed_up(schedule.total)
    page = Page(f"{subject.name}: motion preview", description(subject, schedule, faster), style=STYLE)
    box = subject.canvas_box
    placing = OnPage.largest(box, (PAGE_WIDTH - 2 * MARGIN, PAGE_HEIGHT - TOP - BELOW), TOP)
    put_title(page, "Drawn in order", subject, placing.words, pace(faster))
    put_surfaces(page, placing, subject.panel)
    put_edges(page, placing, subject.panel)
    now = f'style="--now:{n(NOW * placing.reduction * PER_MM)}"'
    page.add(f'<g class="ink" {now} transform="{placing.transform}">', *strokes(subject, schedule, faster), "</g>")
    y = put_clock(page, subject, schedule, faster, placing.bottom + 10.0)
    y = put_time_line(page, subject.loads, schedule, faster, y + 4.0)
    return page.svg(y + MARGIN)


def speed_up(total: float) -> float:
    """A round number that makes it play in half a minute, or a little longer."""
    wanted = max(1.0, total / PLAYS)
    ten = 10 ** np.floor(np.log10(wanted))
    return float(max(step * ten for step in ROUND if step * ten <= wanted + 1e-9))


def pace(faster: float) -> str:
    """How fast it plays, in words."""
    return "as fast as the machine" if faster == 1 else f"{faster:g} times faster than the machine"


def description(subject: Subject, schedule: Schedule, faster: float) -> str:
    """What a person who cannot see the picture should know of it."""
    return (
        f"The strokes of {subject.name} appear in drawing order, {pace(faster)}: "
        f"{counted(len(subject.drawing), 'stroke')}, {distance(subject.drawing.drawn_mm, subject.unit)}, "
        f"{counted(len(subject.loads), 'load')}, about {duration(schedule.total)}. The clock is the program's own."
    )


def strokes(subject: Subject, schedule: Schedule, faster: float) -> Iterator[str]:
    """A path for each stroke, in drawing order, grouped where they look alike."""
    drawing = subject.drawing
    data = [
        f'd="{path}"><title>{title}</title></path>'
        for path, title in zip(ink_paths(drawing), stroke_titles(drawing, schedule), strict=True)
    ]
    delays = (schedule.touch / faster).tolist()
    lasts = np.maximum((schedule.lift - schedule.touch) / faster, LEAST).tolist()
    dots = (drawing.part_lengths() == 0).tolist()
    for first, last in runs(drawing):
        colour, tip = looks(drawing, first)
        group = f'stroke-linecap="round" stroke-linejoin="round" transform="{SCALE}"'
        if is_pale(colour):  # a quiet edge that is there from the start would tell what is to come; so it comes along
            yield f'<g fill="none" stroke="{EDGE}" stroke-width="{n((tip + 0.5) * PER_MM)}" {group}>'
            yield from (one_stroke(data[row], delays[row], lasts[row], dots[row]) for row in range(first, last))
            yield "</g>"
        yield f'<g fill="none" stroke="{colour}" stroke-width="{n(tip * PER_MM)}" {group}>'
        yield from (one_stroke(data[row], delays[row], lasts[row], dots[row]) for row in range(first, last))
        yield "</g>"


def one_stroke(data: str, delay: float, lasts: float, dot: bool) -> str:
    """A path (its data and title) that comes at `delay` s of play and takes `lasts` s."""
    if dot:
        return f'<path style="animation:q {LEAST}s {delay:.2f}s" {data}'
    return f'<path pathLength="1" style="animation:d {lasts:.2f}s {delay:.2f}s" {data}'


def put_clock(page: Page, subject: Subject, schedule: Schedule, faster: float, y: float) -> float:
    """The time on the machine's clock, and the marker that is drawing; the new y."""
    plays = schedule.total / faster
    put_odometer(page, MARGIN, y, schedule.total, faster)
    x = MARGIN + 46.0
    room = PAGE_WIDTH - MARGIN - x
    done = f"done: {counted(len(subject.drawing), 'stroke')}, {distance(subject.drawing.drawn_mm, subject.unit)}"
    page.text(x, y, done, room=room, more=f'style="animation:p {plays:.2f}s"')
    for load in subject.loads:
        words = f"{load.marker.name}, {load.ink.name}: strokes {load.first:,} to {load.last:,}"
        style = f"animation:on {load.seconds / faster:.2f}s {load.start / faster:.2f}s"
        page.text(x, y, words, room=room, more=f'visibility="hidden" style="{style}"')
    return y


def put_time_line(page: Page, loads: list[TimedLoad], schedule: Schedule, faster: float, y: float) -> float:
    """Loads in their inks along the clock, marks at round times, and a hand that goes along; the new y."""
    wide, tall = PAGE_WIDTH - 2 * MARGIN, 4.0
    total = max(schedule.total, 1e-9)
    for load in loads:
        x = MARGIN + wide * load.start / total
        page.box(
            x, y, x + wide * load.seconds / total, y + tall,
            f'fill="{load.marker.looks}" stroke="{LETTERS if is_pale(load.marker.looks) else PAPER}" stroke-width=".3"',
        )  # fmt: skip
    for load in loads[1:]:
        x = MARGIN + wide * load.start / total
        page.add(f'<path d="M{n(x)} {n(y - 2.2)}l1.3-2h-2.6z" fill="{LETTERS}"/>')
    put_marks(page, total, y + tall)
    page.add(hand(wide, y, tall, total / faster))
    y += tall + 12.0
    if len(loads) > 1:
        note = "At a triangle a marker is swapped; the wait for it takes no time on this clock."
        page.text(MARGIN, y, note, size=SMALL, colour=QUIET, room=wide)
    return y


def hand(wide: float, y: float, tall: float, plays: float) -> str:
    """The hand of the time line: at its end unless it is played."""
    path = f"M{n(MARGIN)} {n(y - 1.4)}v{n(tall + 2.8)}"
    return (
        f'<g transform="translate({n(wide)} 0)" style="--way:{n(wide)}px;animation:go {plays:.2f}s linear">'
        f'<path d="{path}" stroke="{LETTERS}" stroke-width="1"/></g>'
    )


def put_marks(page: Page, total: float, y: float) -> None:
    """Round times below the line, as many as have room."""
    wide = PAGE_WIDTH - 2 * MARGIN
    ends = clock(total)
    label = text_width("00:00:00", SMALL)
    step = next((tick for tick in TICKS if total / tick * (label + 4) <= wide), TICKS[-1])
    times = [float(at) for at in np.arange(0, total, step) if (total - at) / total * wide > label * 1.2]
    for at in times:
        x = MARGIN + wide * at / total
        page.add(f'<path d="M{n(x)} {n(y)}v1.6" stroke="{LETTERS}" stroke-width=".25"/>')
        page.text(x, y + 5.6, clock(at), size=SMALL, anchor="start" if at == 0 else "middle", colour=QUIET)
    page.text(PAGE_WIDTH - MARGIN, y + 5.6, fitted(ends, SMALL, wide), size=SMALL, anchor="end", colour=QUIET)
