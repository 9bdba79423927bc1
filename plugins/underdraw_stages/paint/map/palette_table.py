"""The palette beside the map: number, swatch, name, area, paint, the narrowest place; and what is too narrow."""

from underdraw.page.canvas_page import LETTERS, MARGIN, PAGE_HEIGHT, QUIET, RULE, Page, n
from underdraw.words.quantities import area_in, counted, length_in, millilitres, size_in
from underdraw_stages.paint.map.outlines import NARROW
from underdraw_stages.paint.paint_plan import NarrowRegion, PaintPlan, PlanEntry

SIZE = 2.9
ROW = 3.9  # mm from row to row
WIDTH = 58.0
LIST_ROW = 3.5  # mm from row to row of what is too narrow
LIST_WIDTH = 46.0
ABOVE_LIST = ROW + 1.5  # from the palette's last row, or the notes, to the list's title
COLUMNS = (4.6, 5.8, 12.6, 36.0, 44.2, WIDTH)  # right of number; swatch; name; right of area, paint, narrowest
SUM_ROWS = 2  # all colours together, and bare canvas
MOST_ROWS = 76  # of the palette: two columns of them leave half of the page for the map
FINEST_NUMBER = {"in": 2.54, "mm": 1.0}  # mm to which a position on the map is given
HEAD = 5.0


def words(entry: PlanEntry) -> str:
    """What a colour is called."""
    paint = entry.paint
    if paint.kind == "gradient":
        return f"{paint.way} gradient {' '.join(dict.fromkeys(paint.colours))}"
    return paint.colours[0] if paint.kind == "colour" else f"pattern, {paint.colours[0]}"


def row_words(entry: PlanEntry) -> str:
    """The same beside a swatch, which shows the colours."""
    return words(entry) if entry.paint.kind == "colour" else entry.paint.kind


def entries_shown(plan: PaintPlan) -> list[PlanEntry]:
    """The entries that have a row on the map, in their order: the largest, where they are too many for one page."""
    largest = sorted(plan.entries, key=lambda entry: (-entry.painted_mm2, entry.number))[:MOST_ROWS]
    return sorted(largest, key=lambda entry: entry.number)


def put_palette(
    page: Page, plan: PaintPlan, entries: list[PlanEntry], x: float, y: float, unit: str, *, last: bool = True
) -> float:
    """Some entries of the palette in a column at x; after the last one the sum; the new y."""
    y += HEAD - 1.5
    for text, at, anchor in (("no.", 0, "end"), (area_unit(unit), 3, "end"), ("ml", 4, "end"), ("narrowest", 5, "end")):
        page.text(x + COLUMNS[at], y, text, size=SIZE - 0.4, anchor=anchor, colour=QUIET)
    page.text(x + COLUMNS[1], y, "colour", size=SIZE - 0.4, colour=QUIET)
    page.add(f'<path d="M{n(x)} {n(y + 1)}h{n(WIDTH)}" stroke="{RULE}" stroke-width=".2"/>')
    for entry in entries:
        y += ROW
        put_row(page, entry, x, y, unit)
    if last:
        y += ROW
        page.add(f'<path d="M{n(x)} {n(y - ROW + 1)}h{n(WIDTH)}" stroke="{RULE}" stroke-width=".2"/>')
        page.text(x + COLUMNS[1], y, "together", size=SIZE)
        page.text(x + COLUMNS[3], y, area_number(plan.painted_mm2, unit), size=SIZE, anchor="end")
        page.text(x + COLUMNS[4], y, millilitres(plan.millilitres).removesuffix(" ml"), size=SIZE, anchor="end")
        y += ROW
        page.text(x + COLUMNS[1], y, "bare canvas", size=SIZE, colour=QUIET)
        page.text(x + COLUMNS[3], y, area_number(float(plan.bare.sum()), unit), size=SIZE, anchor="end", colour=QUIET)
    return y


def put_row(page: Page, entry: PlanEntry, x: float, y: float, unit: str) -> None:
    """One colour."""
    page.text(x + COLUMNS[0], y, str(entry.number), size=SIZE, bold=True, anchor="end")
    put_swatch(page, entry, x + COLUMNS[1], y - 2.4)
    page.text(x + COLUMNS[2], y, row_words(entry), size=SIZE, room=COLUMNS[3] - COLUMNS[2] - 8.5)
    page.text(x + COLUMNS[3], y, area_number(entry.painted_mm2, unit), size=SIZE, anchor="end")
    page.text(x + COLUMNS[4], y, millilitres(entry.millilitres).removesuffix(" ml"), size=SIZE, anchor="end")
    colour = NARROW if entry.too_narrow else LETTERS
    if entry.narrowest is not None:
        width = round(entry.narrowest, 1 if entry.narrowest >= 0.1 else 2)
        page.text(x + COLUMNS[5], y, length_in(width, "mm"), size=SIZE, anchor="end", colour=colour)


def put_swatch(page: Page, entry: PlanEntry, x: float, y: float) -> None:
    """A patch of the colour; of a gradient its stops side by side."""
    colours = entry.paint.colours
    step = 6.0 / len(colours)
    for at, colour in enumerate(colours):
        page.box(x + at * step, y, x + (at + 1) * step, y + 2.8, f'fill="{colour}"')
    page.box(x, y, x + 6.0, y + 2.8, f'fill="none" stroke="{QUIET}" stroke-width=".15"')


def area_unit(unit: str) -> str:
    """The unit of areas, for the head of their column."""
    return area_in(0.0, unit).split(" ", 1)[1]


def area_number(mm2: float, unit: str) -> str:
    """An area without its unit."""
    return area_in(mm2, unit).split(" ", 1)[0]


def put_narrow(page: Page, plan: PaintPlan, columns: list[tuple[float, float]], unit: str) -> float:
    """Regions that are too narrow, the narrowest first, in columns (x, top) down to the page's end; the lowest y."""
    listed = plan.narrow_regions
    if not listed:
        return max(top for _, top in columns)
    x, y = columns[0]
    y += ABOVE_LIST
    title = f"Narrower than {length_in(plan.tool, 'mm')}: {counted(len(listed), 'region')}"
    page.text(x, y, title, size=SIZE, bold=True)
    y += LIST_ROW
    page.text(x, y, "no., width; right × down from upper left", size=SIZE - 0.5, colour=QUIET)
    starts = [(x, y), *((left, top + ABOVE_LIST + LIST_ROW) for left, top in columns[1:])]
    places = [(left, top + LIST_ROW * row) for left, top in starts for row in range(1, rows_to_end(top) + 1)]
    shown = listed if len(listed) <= len(places) else listed[: max(0, len(places) - 1)]
    for each, (left, level) in zip(shown, places, strict=False):
        page.text(left + COLUMNS[0], level, str(each.number), size=SIZE - 0.3, bold=True, anchor="end")
        page.text(left + COLUMNS[1], level, narrow_words(each, unit), size=SIZE - 0.3, room=LIST_WIDTH - COLUMNS[1] - 1)
    if len(shown) < len(listed) and places:
        left, level = places[len(shown)]
        page.text(left, level, f"and {len(listed) - len(shown):,} more, hatched too", size=SIZE - 0.3, colour=QUIET)
    used = places[: len(shown) + 1] if len(shown) < len(listed) else places[: len(shown)]
    return max([y, *(level for _, level in used)])


def list_height(plan: PaintPlan, columns: int, most_rows: int) -> float:
    """How much of the page the list of narrow regions takes in so many columns, or its first rows, mm."""
    rows = min(-(-len(plan.narrow_regions) // columns), most_rows)
    return ABOVE_LIST + LIST_ROW * (1 + rows) if rows else 0.0


def rows_to_end(top: float) -> int:
    """How many rows of the list the page has below there."""
    return max(0, int((PAGE_HEIGHT - MARGIN - top) / LIST_ROW))


def narrow_words(each: NarrowRegion, unit: str) -> str:
    """How narrow, and where on the board."""
    finest = FINEST_NUMBER[unit]
    at = (round(each.at[0] / finest) * finest, round(each.at[1] / finest) * finest)
    return f"{length_in(round(each.width, 2), 'mm')};  {size_in(at, unit)}"
