"""What the map draws of the plan: outlines of regions in thin grey, hatching where it is too narrow, folds, numbers."""

from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw import Panel
from underdraw.page.canvas_page import LETTERS, Page, n
from underdraw.page.on_page import OnPage
from underdraw_stages.paint.map.borders import borders
from underdraw_stages.paint.map.region_numbers import CAPITAL, RegionNumber
from underdraw_stages.paint.paint_plan import PaintPlan

GREY = "#8f8f8f"
NARROW = "#b3123a"  # 6.9 : 1 on paper
FINEST = 0.03  # mm on the page: what an outline may be simplified by
TICK = 3.0  # of a fold, beside the figure
STYLE = (
    f".g{{fill:none;stroke:{GREY};stroke-width:.13}}.x{{fill:url(#narrow);stroke:{NARROW};stroke-width:.13}}"
    f".p{{fill:none;stroke:{LETTERS};stroke-width:.12}}"
)
HATCHING = (
    '<pattern id="narrow" width=".7" height=".7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    f'<path d="M.35 0V.7" stroke="{NARROW}" stroke-width=".2"/></pattern>'
)


def outlines(plan: PaintPlan, placing: OnPage) -> NDArray[Any]:
    """(m,) LineStrings on the page: every border between regions once, and the board's edge."""
    lines = borders(np.concatenate([plan.area, plan.bare_area]))
    return np.asarray(on_page(shapely.simplify(lines, FINEST * placing.reduction), placing))


def on_page(geometry: NDArray[Any], placing: OnPage) -> NDArray[Any]:
    """Geometry of the board on the page."""
    return np.asarray(shapely.transform(geometry, placing.all))


def put_outlines(page: Page, lines: NDArray[Any], narrow: NDArray[Any]) -> None:
    """Borders, and over them the places that are too narrow, hatched; both on the page already."""
    page.add(f'<path class="g" d="{path(lines)}"/>')
    if len(narrow):
        page.add(f'<path class="x" d="{path(shapely.get_rings(narrow))}"/>')


def path(lines: NDArray[Any]) -> str:
    """Path data of polylines, written all at once: a dense map has hundreds of thousands of points."""
    points = np.round(shapely.get_coordinates(lines), 2) + 0.0
    words = [word.removesuffix(".0") for word in map(repr, points.ravel().tolist())]
    ends = 2 * np.cumsum(shapely.get_num_coordinates(lines))
    runs = pairwise([0, *ends.tolist()])
    return "".join(f"M{' '.join(words[a : a + 2])}L{' '.join(words[a + 2 : b])}" for a, b in runs if b > a)


def fold_ticks(panel: Panel, placing: OnPage) -> NDArray[Any]:
    """(m,) LineStrings on the page where the folds are, beside the figure, so that they cross no region."""
    (wide, tall), ticks = panel.board, []
    for (x0, y0), (x1, _) in (*panel.folds.values(), *panel.back_folds.values()):
        if x0 == x1:
            (x, top), (_, bottom) = placing.at(x0, 0.0), placing.at(x0, tall)
            ticks += [[(x, top - 1 - TICK), (x, top - 1)], [(x, bottom + 1), (x, bottom + 1 + TICK)]]
        else:
            (left, y), (right, _) = placing.at(0.0, y0), placing.at(wide, y0)
            ticks += [[(left - 1 - TICK, y), (left - 1, y)], [(right + 1, y), (right + 1 + TICK, y)]]
    return np.array([shapely.LineString(tick) for tick in ticks], dtype=object)


def put_fold_ticks(page: Page, ticks: NDArray[Any]) -> None:
    """The ticks, if anything folds."""
    if len(ticks):
        page.add(f'<path class="p" d="{path(ticks)}"/>')


def put_numbers(page: Page, numbers: list[RegionNumber]) -> None:
    """Leaders first, then the numbers."""
    leaders = [number.leader for number in numbers if number.pole is not None]
    data = "".join(f"M{n(x0)} {n(y0)}L{n(x1)} {n(y1)}" for (x0, y0), (x1, y1) in leaders)
    if data:
        page.add(f'<path class="p" d="{data}"/>')
    with page.group('id="numbers" font-weight="bold" text-anchor="middle"'):
        for each in numbers:
            y = each.y + CAPITAL * each.size / 2
            page.add(f'<text x="{n(each.x)}" y="{n(y)}" font-size="{n(each.size)}">{each.number}</text>')
