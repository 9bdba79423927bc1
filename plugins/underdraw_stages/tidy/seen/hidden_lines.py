"""Lines less the opaque areas that lie above them in the stack.

Long lines and large areas are cut up first, so that each difference is a small one; lines are then cut by one area
after another, the largest first, and are done with as soon as nothing is left of them.
"""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.seen.hiding_areas import HidingAreas
from underdraw_stages.tidy.seen.small_pieces import reunited, stretches
from underdraw_stages.tidy.strokes.polylines import GRID_MM, Lines


def without_hidden(lines: Lines, hiding: HidingAreas) -> Lines:
    """Each line less every area above it. A line that no area touches is handed on as it was."""
    if not len(hiding) or not len(lines):
        return lines
    stretch, line_of_stretch = stretches(lines.geometry)
    pieces, line_order = hiding.pieces, lines.order[line_of_stretch]
    left = stretch.copy()
    open_to_view = np.ones(len(stretch), dtype=np.bool_)
    if pieces.grid is not None:
        open_to_view = ~pieces.grid.buried(stretch, line_order)
        left[~open_to_view] = shapely.LineString()
    viewed = np.flatnonzero(open_to_view)
    pairs_line, pairs_area = pieces.tree.query(stretch[viewed], predicate="intersects")
    pairs_line = viewed[pairs_line]
    above = pieces.order[pairs_area] > line_order[pairs_line]
    left = _cut(left, pieces.area, pairs_line[above], pairs_area[above])
    touched = np.zeros(len(lines), dtype=np.bool_)
    touched[line_of_stretch[~shapely.equals_identical(left, stretch)]] = True
    parts, line_of_part = reunited(left, line_of_stretch, touched)
    cut = lines.pieces(parts, line_of_part)
    missing = shapely.length(lines.geometry) - np.bincount(line_of_part, shapely.length(parts), len(lines))
    whole = cut.whole & (missing[line_of_part] <= GRID_MM)
    return lines.select(~touched).together(Lines(cut.geometry, cut.row, cut.marker, cut.order, whole))


def _cut(
    left: NDArray[Any], area: NDArray[Any], line: NDArray[np.int64], area_index: NDArray[np.int64]
) -> NDArray[Any]:
    """(m,) what is left of each stretch; those that no pair names stay the same objects."""
    if not len(line):
        return left
    order = np.lexsort((area_index, -shapely.area(area)[area_index], line))
    line, area_index = line[order], area_index[order]
    first = np.flatnonzero(np.concatenate([[True], line[1:] != line[:-1]]))
    count = np.diff(np.concatenate([first, [len(line)]]))
    active = line[first]
    for turn in range(int(count.max())):
        left[active] = shapely.difference(left[active], area[area_index[first + turn]])
        go_on = (count > turn + 1) & ~shapely.is_empty(left[active])
        active, first, count = active[go_on], first[go_on], count[go_on]
        if not len(active):
            break
    return left
