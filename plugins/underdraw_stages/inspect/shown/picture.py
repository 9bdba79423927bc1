"""The page: the canvas as it lies with its spots ringed and numbered, close-ups beside or below, and what is what."""

from collections.abc import Sequence
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from underdraw.page.canvas_page import MARGIN, PAGE_HEIGHT, PAGE_WIDTH, QUIET, SMALL, Page
from underdraw.page.ink import ink_layer
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.page.surfaces import put_edges, put_surfaces
from underdraw.page.text_width import broken
from underdraw.page.title import put_title
from underdraw.words.quantities import counted, distance, length_in
from underdraw_stages.inspect.found.artwork_shown import ArtworkShown
from underdraw_stages.inspect.found.spot import Spot
from underdraw_stages.inspect.shown.close_up import CAPTION, put_close_up
from underdraw_stages.inspect.shown.rings import put_ring_kinds, put_rings

CLOSE_UPS = 12
TOP = 30.0
GAP = 4.0
COLUMN = 33.0  # width of a close-up
LEGEND = 30.0
NEAR = 1.0  # page width to height at which close-ups go below the figure


def spots_picture(
    subject: Subject, spots: Sequence[Spot], width: NDArray[np.float64], shown: ArtworkShown, most: int
) -> bytes:
    """The page, as bytes of an SVG file; width: (s,) mm of each stroke's ink."""
    drawing = subject.drawing.replace(stroke_width=width)
    worst = list(islice(spots, min(most, CLOSE_UPS)))
    page = Page(f"{subject.name}: what will not read", description(subject, spots))
    x0, y0, x1, y1 = subject.canvas_box
    beside = bool(worst) and (x1 - x0) < NEAR * (y1 - y0)
    columns = 2 if beside else max(1, int((PAGE_WIDTH - 2 * MARGIN + GAP) // (COLUMN + GAP)))
    rows = -(-len(worst) // columns)
    taken = (COLUMN + GAP) * 2 if beside else 0.0
    room = (
        PAGE_WIDTH - 2 * MARGIN - taken,
        PAGE_HEIGHT - TOP - LEGEND - (20.0 if beside else rows * (COLUMN + CAPTION)),
    )
    placing = OnPage.largest(subject.canvas_box, room, TOP)
    if beside:
        placing = OnPage(placing.box, placing.reduction, MARGIN, TOP)
    put_title(page, f"What will not read{subject.which_way}", subject, placing.words, ink_words(width))
    put_surfaces(page, placing, subject.panel)
    put_edges(page, placing, subject.panel)
    page.add(f'<g transform="{placing.transform}">{ink_layer(drawing, "ink")}</g>')
    put_rings(page, placing, list(islice(spots, most)))
    left = placing.right + GAP if beside else MARGIN
    top = TOP if beside else placing.bottom + GAP
    for place, spot in enumerate(worst):
        x = left + (place % columns) * (COLUMN + GAP)
        y = top + (place // columns) * (COLUMN + CAPTION)
        put_close_up(page, drawing, shown, spot, place + 1, (x, y, x + COLUMN, y + COLUMN), subject.unit)
    bottom = top + rows * (COLUMN + CAPTION)
    y = placing.bottom + GAP if beside else max(placing.bottom, bottom) + GAP
    words_room = placing.right - MARGIN if beside else PAGE_WIDTH - 2 * MARGIN
    y = put_words(page, y + 5.0, words_room, subject, spots, most)
    return page.svg(max(y, bottom if beside else y) + MARGIN)


def ink_words(width: NDArray[np.float64]) -> str:
    """How wide the ink is."""
    widths = sorted(set(np.round(width, 3).tolist()))
    return "ink " + " and ".join(length_in(each, "mm") for each in widths[:3]) + " wide" if widths else ""


def put_words(page: Page, y: float, room: float, subject: Subject, spots: Sequence[Spot], most: int) -> float:
    """What the rings stand for, with counts; the new y."""
    y = put_ring_kinds(page, y, room, spots, subject.unit)
    notes = ["Close-ups: the artwork beneath, the ink over it in its true width. 1 is the worst."] if spots else []
    if len(spots) > most:
        notes.append(f"{counted(len(spots) - most, 'spot')} more without a ring; --most shows more.")
    for note in notes:
        for line in broken(note, SMALL, room, most=4):
            y += SMALL * 1.28
            page.text(MARGIN, y, line, size=SMALL, colour=QUIET)
    return y


def description(subject: Subject, spots: Sequence[Spot]) -> str:
    """What a person who cannot see the picture should know of it."""
    length = distance(sum(spot.length for spot in spots), subject.unit)
    return f"The canvas of {subject.name} as it lies, {counted(len(spots), 'spot')} ringed, {length} of line in them."
