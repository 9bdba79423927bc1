"""The map at 1:1, on pages that print on A4 and Letter at 100 %, to lay beside the canvas."""

import math
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw import CannotDo
from underdraw.page.canvas_page import MARGIN, PAGE_WIDTH, QUIET, Page, n
from underdraw.page.on_page import Box, OnPage
from underdraw.page.subject import Subject
from underdraw.words.quantities import counted
from underdraw_stages.paint.map.outlines import (
    HATCHING,
    STYLE,
    on_page,
    outlines,
    put_numbers,
    put_outlines,
)
from underdraw_stages.paint.map.region_numbers import RegionNumber, place_numbers
from underdraw_stages.paint.paint_plan import PaintPlan

TILE = (PAGE_WIDTH - 2 * MARGIN, 236.0)  # of the board on one page, in mm
OVERLAP = 10.0  # of one page over the next: no number is cut on both
HEAD = 12.0
MOST_PAGES = 400  # a panel of some 6 x 2.5 m; nobody lays more sheets beside a canvas
AROUND = 7.0  # beyond the board, for numbers with leaders


def full_size_pages(subject: Subject, plan: PaintPlan) -> list[tuple[str, bytes]]:
    """Each page as a label, row and column from 1, and bytes of an SVG file. Raises CannotDo for too many."""
    wide, tall = subject.panel.board
    columns, rows = (
        max(1, math.ceil((length + 2 * AROUND - OVERLAP) / (room - OVERLAP)))
        for length, room in zip((wide, tall), TILE, strict=True)
    )
    if rows * columns > MOST_PAGES:
        raise CannotDo(
            f"the map at 1:1 takes {counted(rows * columns, 'page')}, expected at most {MOST_PAGES}"
            "\n  try: paint --no-full-size, for a map on one page"
        )
    placing = OnPage((0.0, 0.0, wide, tall), 1.0, 0.0, 0.0)
    lines, narrow = outlines(plan, placing), on_page(plan.narrow.area, placing)
    around = (-AROUND, -AROUND, wide + AROUND, tall + AROUND)
    numbers, _ = place_numbers(plan, lines, narrow, placing, around)
    tiles = [(row, column) for row in range(rows) for column in range(columns)]
    return [
        (f"paint-{row + 1}-{column + 1}", tile_page(subject, lines, narrow, numbers, (row, column), (rows, columns)))
        for row, column in tiles
    ]


def tile_page(
    subject: Subject,
    lines: NDArray[Any],
    narrow: NDArray[Any],
    numbers: list[RegionNumber],
    tile: tuple[int, int],
    of: tuple[int, int],
) -> bytes:
    """One page: what of the board is on it, trimmed, with a frame to trim or overlap by."""
    left = tile[1] * (TILE[0] - OVERLAP) - AROUND
    top = tile[0] * (TILE[1] - OVERLAP) - AROUND
    box = (left, top, left + TILE[0], top + TILE[1])
    words = f"row {tile[0] + 1} of {of[0]}, column {tile[1] + 1} of {of[1]}"
    page = Page(f"{subject.name}: map for painting, {words}", f"A part of the map at 1:1, {words}.", style=STYLE)
    page.defs.append(HATCHING)
    page.text(MARGIN, 8.0, subject.name, bold=True, room=TILE[0] - 80.0)
    page.text(PAGE_WIDTH - MARGIN, 8.0, f"scale 1 : 1, {words}", anchor="end", colour=QUIET)
    x, y = MARGIN, HEAD
    page.box(x, y, x + TILE[0], y + TILE[1], f'fill="none" stroke="{QUIET}" stroke-width=".15"')
    with page.group(f'transform="translate({n(x - left)} {n(y - top)})"'):
        put_outlines(page, trimmed(lines, box), trimmed_areas(narrow, box))
        put_numbers(page, [number for number in numbers if is_inside(number, box)])
    return page.svg(y + TILE[1] + MARGIN)


def trimmed(lines: NDArray[Any], box: Box) -> NDArray[Any]:
    """What of lines is in the box."""
    parts = shapely.get_parts(shapely.clip_by_rect(lines, *box))
    return np.asarray(parts[shapely.get_num_coordinates(parts) > 1])


def trimmed_areas(areas: NDArray[Any], box: Box) -> NDArray[Any]:
    """What of areas is in the box."""
    parts = shapely.get_parts(shapely.intersection(areas, shapely.box(*box)))
    return np.asarray(parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON])


def is_inside(number: RegionNumber, box: Box) -> bool:
    """Whether a number and its leader are wholly on the page."""
    points = [number.box[:2], number.box[2:], *number.leader]
    return all(box[0] <= x <= box[2] and box[1] <= y <= box[3] for x, y in points)
