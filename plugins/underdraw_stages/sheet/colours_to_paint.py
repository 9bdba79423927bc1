"""The palette on the sheet: the colours that take most paint, in the order of painting, and what the rest takes."""

from dataclasses import dataclass

from underdraw.words.quantities import area_in, counted, length_in, millilitres
from underdraw_stages.sheet.contents import Facts
from underdraw_stages.sheet.finishing import volume

MOST_ROWS = 10  # the sheet stays on both sides of one leaf; the map has every colour


@dataclass(frozen=True)
class PaintRow:
    """One row of the table: the colour's number, its name, the colours of its swatch, area and paint in words."""

    number: str
    name: str
    colours: tuple[str, ...]
    area: str
    paint: str


def paint_rows(facts: Facts) -> list[PaintRow]:
    """At most `MOST_ROWS` rows, the last of them for all colours that have none of their own."""
    palette = facts.drawing.palette
    if palette is None:
        return []
    colours = palette.colours
    own = MOST_ROWS if len(colours) <= MOST_ROWS else MOST_ROWS - 1
    kept = {each.number for each in sorted(colours, key=lambda each: (-each.millilitres, each.number))[:own]}
    rows = [
        PaintRow(
            str(each.number),
            each.name,
            each.colours,
            area_in(each.area_mm2, facts.unit),
            millilitres(each.millilitres),
        )
        for each in colours
        if each.number in kept
    ]
    rest = [each for each in colours if each.number not in kept]
    if rest:
        mm2, ml = sum(each.area_mm2 for each in rest), sum(each.millilitres for each in rest)
        rows.append(PaintRow("", f"{len(rest)} more, on the map", (), area_in(mm2, facts.unit), millilitres(ml)))
    return rows


def paint_note(facts: Facts) -> str:
    """What the amounts are made of."""
    palette = facts.drawing.palette
    if palette is None:
        return ""
    ml = sum(each.millilitres for each in palette.colours)
    return (
        f"{counted(palette.coats, 'coat')} of {length_in(palette.coat_mm, 'mm')}, wet;† {volume(ml)} together, on "
        f"face, sides and bleed. Mix each colour once for all of them."
    )
