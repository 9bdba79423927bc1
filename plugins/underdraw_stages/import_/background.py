"""Finds page-size rectangles without stroke: backgrounds, which nobody wants outlined on canvas."""

from collections.abc import Sequence

import numpy as np

from underdraw.drawing.facts import Ground
from underdraw_stages.import_.shapes.flattened_shapes import FlattenedShapes
from underdraw_stages.import_.shapes.found_shape import FoundShape
from underdraw_stages.import_.tree.left_out import LeftOut
from underdraw_stages.import_.visible_shapes import VisibleShapes

SAME_MM = 1e-4  # points of an upright edge are no farther from it
EDGE_MM = 0.5  # how far its edges may lie inside the page's: programs round, and nobody sees it


def without_background(
    visible: VisibleShapes, size: tuple[float, float], left_out: LeftOut
) -> tuple[VisibleShapes, Ground | None]:
    """Take out page-size rectangles, and what lies unseen beneath an opaque one, whose paint is handed back."""
    backgrounds = find_backgrounds(visible.items, visible.flat, size)
    if not backgrounds:
        return visible, None
    opaque = [at for at in backgrounds if hides(visible.items[at])]
    top = max(opaque, default=0)
    paint = visible.items[top].fill
    gone = {*backgrounds, *range(top)}
    left_out.add("background", visible.items[backgrounds[0]].element, len(backgrounds))
    left_out.add("beneath", "", len(gone) - len(backgrounds))
    keep = np.array([at not in gone for at in range(len(visible.items))])
    part_keep = np.repeat(keep, np.diff(visible.flat.shapes))
    point_keep = np.repeat(part_keep, np.diff(visible.flat.parts))
    flat = FlattenedShapes(
        visible.flat.coords[point_keep],
        np.concatenate([[0], np.cumsum(np.diff(visible.flat.parts)[part_keep])]),
        np.concatenate([[0], np.cumsum(np.diff(visible.flat.shapes)[keep])]),
    )
    kept_items = [item for item, kept in zip(visible.items, keep, strict=True) if kept]
    return VisibleShapes(kept_items, flat), Ground(paint.colour, paint.gradient) if opaque else None


def find_backgrounds(items: Sequence[FoundShape], flat: FlattenedShapes, page: tuple[float, float]) -> list[int]:
    """Which items are rectangles, upright and without stroke, that cover the whole page.

    One in bands, with a horizon perhaps, is artwork: an edge runs across it.
    """
    plain = [at for at, item in enumerate(items) if not (item.stroke.colour or _has_jumps(item))]
    return [at for at in plain if _covers(flat, at, page)]


def _has_jumps(item: FoundShape) -> bool:
    return item.fill.gradient is not None and bool(item.fill.gradient.jumps)


def hides(item: FoundShape) -> bool:
    """Whether nothing beneath a background shows."""
    return item.fill.opacity >= 1 and (item.fill.gradient is None or item.fill.gradient.least_opacity >= 1)


def _covers(flat: FlattenedShapes, at: int, page: tuple[float, float]) -> bool:
    if flat.shapes[at + 1] - flat.shapes[at] != 1:
        return False
    part = int(flat.shapes[at])
    coords = flat.coords[flat.parts[part] : flat.parts[part + 1]]
    if not 4 <= len(coords) <= 64:
        return False
    (x0, y0), (x1, y1) = coords.min(axis=0), coords.max(axis=0)
    if x0 > EDGE_MM or y0 > EDGE_MM or x1 < page[0] - EDGE_MM or y1 < page[1] - EDGE_MM:
        return False
    on_edge = (np.abs(coords - (x0, y0)) < SAME_MM) | (np.abs(coords - (x1, y1)) < SAME_MM)
    corners = {(round(float(x), 4), round(float(y), 4)) for x, y in coords}
    wanted = {(round(float(x), 4), round(float(y), 4)) for x in (x0, x1) for y in (y0, y1)}
    return bool(on_edge.any(axis=1).all()) and wanted <= corners
