"""A close-up of one spot: the artwork beneath, the ink over it, the lines at fault marked."""

import numpy as np
import shapely

from underdraw.drawing.drawing import Drawing
from underdraw.page.canvas_page import LETTERS, QUIET, SMALL, Page, n
from underdraw.page.ink import PRIMED, ink_layer
from underdraw.page.on_page import Box, OnPage
from underdraw_stages.inspect.found.artwork_shown import ArtworkShown
from underdraw_stages.inspect.found.spot import Spot
from underdraw_stages.inspect.remedies import short_distance
from underdraw_stages.inspect.shown.rings import ALARM, outline_path

WORDS = 3.2
CAPTION = 6.2  # height of the words below it
LEAST, MOST = 10.0, 30.0  # widths of the ink that it shows
AIR = 1.5  # of the spot's own size


def put_close_up(
    page: Page, drawing: Drawing, shown: ArtworkShown, spot: Spot, number: int, frame: Box, unit: str
) -> None:
    """One close-up in a square frame of the page."""
    x0, y0, x1, y1 = frame
    width = float(drawing.stroke_width[spot.strokes - 1].max())
    side = min(max(LEAST * width, AIR * spot.size), MOST * width)
    x, y = spot.at
    box = (x - side / 2, y - side / 2, x + side / 2, y + side / 2)
    placing = OnPage(box, side / (x1 - x0), x0, y0)
    clip = f"close-up-{number}"
    page.defs.append(
        f'<clipPath id="{clip}"><rect x="{n(x0)}" y="{n(y0)}" width="{n(x1 - x0)}" height="{n(y1 - y0)}"/></clipPath>'
    )
    page.box(*frame, f'fill="{PRIMED}"')
    with page.group(f'clip-path="url(#{clip})"'), page.group(f'transform="{placing.transform}"'):
        beneath = shown.drawing(drawing, box)
        if beneath is not None:
            page.add(ink_layer(beneath, f"artwork-{number}"))
        page.add(f'<g opacity=".8">{ink_layer(within(drawing, box, width), f"ink-{number}")}</g>')
        page.add(f'<path d="{outline_path(spot)}" fill="none" stroke="{ALARM}" stroke-width="{n(side / 150)}"/>')
    page.box(*frame, f'fill="none" stroke="{LETTERS}" stroke-width=".25"')
    page.text(x0, y1 + SMALL, f"{number} {spot.kind}", size=WORDS, bold=True)
    page.text(x1, y1 + SMALL, f"{short_distance(spot.length, unit)}", size=WORDS, anchor="end", colour=QUIET)


def within(drawing: Drawing, box: Box, width: float) -> Drawing:
    """The strokes that show in a box, cut a little beyond it."""
    x0, y0, x1, y1 = box
    lines = shapely.clip_by_rect(drawing.shape_lines(), x0 - width, y0 - width, x1 + width, y1 + width)
    rows = np.flatnonzero(~shapely.is_empty(lines))
    parts, index = shapely.get_parts(lines[rows], return_index=True)
    return drawing.with_lines(parts, rows[index])
