"""The stage `inspect`: find what will not read, show it, and say what would help. The drawing goes on as it came."""

from typing import Any

from underdraw import CannotDo, Context, Drawing, File, InputError, Result
from underdraw.drawing.facts import Reading
from underdraw.page.subject import Subject
from underdraw.words.units import unit_of
from underdraw_stages.inspect import InspectSettings
from underdraw_stages.inspect.found.all_spots import ink_widths, spots_of
from underdraw_stages.inspect.found.artwork_shown import ArtworkShown
from underdraw_stages.inspect.found.merging import TooDense
from underdraw_stages.inspect.found.spot import Spot
from underdraw_stages.inspect.remedies import summary_lines
from underdraw_stages.inspect.shown.picture import spots_picture

LABEL = "inspect"


def inspect(drawing: Drawing, settings: InspectSettings, context: Context) -> Result:
    """One SVG with every spot on it, the record of the spots, and a line a kind."""
    if not drawing.is_strokes:
        raise InputError("inspect looks at strokes of a marker; put tidy before it")
    width, shown = ink_widths(drawing, settings.tip), ArtworkShown(drawing.artwork)
    context.progress(0.0, "looking for lines that merge")
    try:
        spots = spots_of(drawing, width, shown)
    except TooDense:
        raise CannotDo(
            "lines run nearer to each other than this tip is wide, all over the drawing"
            "\n  try: inspect --tip with a finer one\n  try: a chain without inspect"
        ) from None
    picture = spots_picture(Subject.of(drawing, context), spots, width, shown, settings.most)
    lines = summary_lines(spots, float(width.max(initial=0.0)), unit_of(drawing.job))
    name = context.file_name(".svg", LABEL)
    handed_on = drawing if settings.tip is not None else drawing.replace(reading=reading(drawing, spots, name))
    return Result(handed_on, figures(spots, settings.tip), "\n".join(lines), files=(File(".svg", picture, LABEL),))


def reading(drawing: Drawing, spots: list[Spot], file: str) -> Reading:
    """What whoever prints a sheet may repeat."""
    kinds = [spot.kind for spot in spots]
    merged = float(sum(spot.length for spot in spots if spot.kind == "merge"))
    return Reading(
        kinds.count("merge"), round(merged, 3), kinds.count("close"), kinds.count("fine"), file, drawing.digest
    )


def figures(spots: list[Spot], tip: float | None) -> dict[str, Any]:
    """The record: the spots in the order of their numbers."""
    return {
        "tip_mm": tip,
        "spots": [
            {
                "kind": spot.kind,
                "at_mm": [round(spot.at[0], 3), round(spot.at[1], 3)],
                "strokes": spot.strokes.tolist(),
                "length_mm": round(spot.length, 3),
            }
            for spot in spots
        ],
    }
