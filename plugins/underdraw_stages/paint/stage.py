"""The stage `paint`: cut the board into regions of one seen paint, plan their painting, draw the map."""

from typing import Any

import numpy as np

from underdraw import Context, Drawing, File, InputError, Result
from underdraw.drawing.facts import Palette, PaletteColour
from underdraw.drawing.paint.hard_stops import with_hard_stops
from underdraw.page.subject import Subject
from underdraw.words.quantities import area_in, counted, length_in, millilitres
from underdraw_stages.paint import PaintSettings
from underdraw_stages.paint.map.full_size import full_size_pages
from underdraw_stages.paint.map.map_page import map_page
from underdraw_stages.paint.map.palette_table import words
from underdraw_stages.paint.paint_plan import PaintPlan, PlanEntry, plan_of
from underdraw_stages.paint.plane.faces import PARTS, cut_into_faces
from underdraw_stages.paint.plane.painted_regions import HAIR_MM
from underdraw_stages.paint.plane.seen_paints import seen_paints

LABEL = "paint"
NOTHING = "nothing to paint: the artwork has no fills"
NOTHING_SHOWS = f"nothing to paint: no fill shows that is wider than {length_in(HAIR_MM, 'mm')}"


def paint(drawing: Drawing, settings: PaintSettings, context: Context) -> Result:
    """The map, the record of the plan, and the palette for whoever comes after; the drawing goes on as it came.

    Raises InputError for strokes of a marker: their artwork's fills are gone.
    """
    if drawing.is_tidied:
        raise InputError("paint looks at the fills of the artwork; put it between wrap and tidy")
    if not (drawing.fill != "").any() and drawing.ground is None:
        return Result(drawing, {"colours": []}, NOTHING)
    subject = Subject.of(drawing, context)
    sharp = with_hard_stops(drawing, np.full(len(drawing), settings.tool))
    faces = cut_into_faces(sharp, subject.panel)
    plan = plan_of(faces, *seen_paints(sharp, faces), settings)
    if not plan.entries:
        return Result(drawing, {"colours": []}, NOTHING_SHOWS)
    if settings.full_size:
        files = tuple(File(".svg", page, label) for label, page in full_size_pages(subject, plan))
    else:
        files = (File(".svg", map_page(subject, plan), LABEL),)
    alone = len(files) == 1
    names = [context.file_name(file.suffix, file.label, alone=alone) for file in files]
    handed_on = drawing.replace(palette=palette(plan, settings, names[0]))
    return Result(handed_on, figures(plan), summary(plan, settings, subject.unit, names), files=files)


def palette(plan: PaintPlan, settings: PaintSettings, file: str) -> Palette:
    """What whoever prints a sheet may repeat."""
    colours = tuple(
        PaletteColour(
            entry.number,
            words(entry),
            entry.paint.colours,
            round(entry.painted_mm2, 3),
            round(entry.millilitres, 3),
        )
        for entry in plan.entries
    )
    narrow = len(plan.narrow_regions)
    return Palette(colours, settings.coat, settings.coats, settings.tool, narrow, file)


def figures(plan: PaintPlan) -> dict[str, Any]:
    """The record: a colour a row of the palette, and each region that is too narrow."""
    return {
        "colours": [colour_figures(entry) for entry in plan.entries],
        "bare_mm2": on_parts(plan.bare),
        "narrow": [
            {"number": each.number, "width_mm": round(each.width, 3), "at_mm": [round(mm, 2) for mm in each.at]}
            for each in plan.narrow_regions
        ],
    }


def colour_figures(entry: PlanEntry) -> dict[str, Any]:
    """One colour, in plain numbers."""
    return {
        "number": entry.number,
        "colour": words(entry),
        "regions": entry.regions,
        "area_mm2": round(entry.painted_mm2, 3),
        "on_mm2": on_parts(entry.on_part),
        "narrowest_mm": None if entry.narrowest is None else round(entry.narrowest, 3),
        "too_narrow": entry.too_narrow,
        "millilitres": round(entry.millilitres, 3),
    }


def on_parts(area: np.ndarray[Any, np.dtype[np.float64]]) -> dict[str, float]:
    """Areas by the part of the panel that they are on."""
    return {part: round(float(mm2), 3) for part, mm2 in zip(PARTS, area, strict=True)}


def summary(plan: PaintPlan, settings: PaintSettings, unit: str, names: list[str]) -> str:
    """A line of what there is to paint, and one of what the tool does not reach."""
    amount = f"{millilitres(plan.millilitres)} in {counted(settings.coats, 'coat')}"
    file = names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}"
    lines = [f"{counted(len(plan.entries), 'colour')}, {area_in(plan.painted_mm2, unit)}, {amount}, {file}"]
    if narrow := plan.narrow_regions:
        lines.append(f"{counted(len(narrow), 'region')} narrower than the tool, {length_in(settings.tool, 'mm')}")
    return "\n".join(lines)
