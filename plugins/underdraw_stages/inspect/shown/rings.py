"""Rings round the spots, with their numbers, and the kinds of ring."""

from collections.abc import Sequence

import shapely

from underdraw.page.callouts import pill, pill_size
from underdraw.page.canvas_page import LEADING, MARGIN, PAPER, SMALL, TEXT, Page, n
from underdraw.page.labels import box_around, free_position
from underdraw.page.on_page import Box, OnPage
from underdraw.page.text_width import broken
from underdraw.words.quantities import counted
from underdraw_stages.inspect.found.spot import Spot
from underdraw_stages.inspect.remedies import short_distance

ALARM = "#b3123a"  # 6.9 : 1 on paper
NUMBER = 2.6
LEAST, MOST = 1.6, 9.0  # radius of a ring on the page
KINDS = {
    "merge": ("", "lines nearer to each other than the ink is wide"),
    "close": ("1.6 .7", "regions that fill with ink"),
    "fine": (".4 .8", "details smaller than the tip"),
}


def put_rings(page: Page, placing: OnPage, spots: Sequence[Spot]) -> None:
    """A ring round each spot, and its number beside it where there is room."""
    inside = (placing.left + 0.5, placing.top + 0.5, placing.right - 0.5, placing.bottom - 0.5)
    centres = [(*placing.at(*spot.at), radius(spot, placing)) for spot in spots]
    taken: list[Box] = [box_around(x, y, (2 * LEAST, 2 * LEAST)) for x, y, _ in centres]
    for spot, (x, y, r) in zip(spots, centres, strict=True):
        page.add(ring(x, y, r, spot.kind))
    for number, (x, y, _) in enumerate(centres, start=1):
        size = pill_size(str(number), NUMBER)
        position = free_position(x, y, size, inside, taken)
        if position is None:
            continue
        taken.append(box_around(*position, size))
        page.add(f'<path d="M{n(x)} {n(y)}L{n(position[0])} {n(position[1])}" stroke="{ALARM}" stroke-width=".2"/>')
        pill(page, *position, str(number), NUMBER)


def radius(spot: Spot, placing: OnPage) -> float:
    """mm on the page."""
    return min(max(LEAST, spot.size / 2 / placing.reduction + 0.8), MOST)


def ring(x: float, y: float, r: float, kind: str) -> str:
    """A ring of a kind, light beneath so that it shows on ink too."""
    dashes = f' stroke-dasharray="{KINDS[kind][0]}"' if KINDS[kind][0] else ""
    circle = f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(r)}" fill="none"'
    return f'{circle} stroke="{PAPER}" stroke-width="1.1"/>{circle} stroke="{ALARM}" stroke-width=".5"{dashes}/>'


def put_ring_kinds(page: Page, y: float, room: float, spots: Sequence[Spot], unit: str) -> float:
    """A row a kind: its ring, what it stands for, how many and how long; the new y."""
    for kind, (_, words) in KINDS.items():
        found = [spot for spot in spots if spot.kind == kind]
        length = f", {short_distance(sum(spot.length for spot in found), unit)}" if found else ""
        page.add(ring(MARGIN + 2.5, y - TEXT * 0.34, 1.7, kind))
        words_of_kind = f"{words}: {counted(len(found), 'spot') if found else 'none'}{length}"
        for line in broken(words_of_kind, SMALL, room - 7.0):
            page.text(MARGIN + 7.0, y, line, size=SMALL)
            y += SMALL * LEADING
        y += SMALL * 0.3
    return y - SMALL * 0.6


def outline_path(spot: Spot) -> str:
    """Path data of what a spot marks, in mm of the board."""
    words = []
    for part in shapely.get_parts(shapely.boundary(spot.outline) if spot.kind == "close" else spot.outline):
        points = shapely.get_coordinates(part).tolist()
        words.append("M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points))
    return "".join(words)
