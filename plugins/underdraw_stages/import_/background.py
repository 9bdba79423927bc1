"""Finds page-size rectangles without stroke: backgrounds, which nobody wants outlined on canvas."""

from collections.abc import Sequence

import numpy as np

from underdraw_stages.import_.items import Item
from underdraw_stages.import_.outlines import Flat

EDGE_MM = 0.5  # how far its edges may lie inside the page's: programs round, and nobody sees it

Box = tuple[float, float, float, float]


def find_backgrounds(items: Sequence[Item], flat: Flat, page: tuple[float, float]) -> list[int]:
    """Which items are rectangles, upright and without stroke, that cover the whole page."""
    return [at for at, item in enumerate(items) if not item.stroke.colour and _covers(flat, at, page)]


def hides(item: Item) -> bool:
    """Whether nothing beneath a background shows."""
    return item.fill.opacity >= 1


def _covers(flat: Flat, at: int, page: tuple[float, float]) -> bool:
    if flat.shapes[at + 1] - flat.shapes[at] != 1:
        return False
    part = int(flat.shapes[at])
    coords = flat.coords[flat.parts[part] : flat.parts[part + 1]]
    if not 4 <= len(coords) <= 64:
        return False
    (x0, y0), (x1, y1) = coords.min(axis=0), coords.max(axis=0)
    if x0 > EDGE_MM or y0 > EDGE_MM or x1 < page[0] - EDGE_MM or y1 < page[1] - EDGE_MM:
        return False
    on_edge = np.isclose(coords, [x0, y0]) | np.isclose(coords, [x1, y1])
    corners = {(round(float(x), 4), round(float(y), 4)) for x, y in coords}
    wanted = {(round(float(x), 4), round(float(y), 4)) for x in (x0, x1) for y in (y0, y1)}
    return bool(on_edge.any(axis=1).all()) and wanted <= corners
