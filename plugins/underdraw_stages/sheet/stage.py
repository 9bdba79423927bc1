"""The stage `sheet`: gather the facts, put each part in words, fill in the page."""

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from underdraw import Context, Drawing, File, Result
from underdraw.machine.clock import drawing_speed
from underdraw.words.quantities import clock, distance, duration, length_in, speed
from underdraw_stages.sheet import SheetSettings
from underdraw_stages.sheet.card_page import card_page
from underdraw_stages.sheet.cautions import cautions
from underdraw_stages.sheet.colours_to_paint import paint_note, paint_rows
from underdraw_stages.sheet.contents import Facts
from underdraw_stages.sheet.costs import costs, totals
from underdraw_stages.sheet.cutting import agreement, cutting_list
from underdraw_stages.sheet.fading import shares, when_a_line_fades
from underdraw_stages.sheet.finishing import after_drawing
from underdraw_stages.sheet.picture import bed_plan, picture, small_pictures
from underdraw_stages.sheet.steps import steps, strokes_in_words


def sheet(drawing: Drawing, settings: SheetSettings, context: Context) -> Result:
    """One HTML page; the drawing is handed on as it came."""
    facts = Facts.of(drawing, context)
    page = fill_in(facts, settings, context)
    file = File(".html", page.encode(), "sheet")
    return Result(drawing, files=(file,), summary=context.file_name(file.suffix, file.label))


def fill_in(facts: Facts, settings: SheetSettings, context: Context) -> str:
    """The page of a job, or of a card; every text that comes from the job is escaped."""
    if facts.drawing.card is not None:
        return template("card.html.j2", facts, context).render(facts=facts, **card_page(facts, facts.drawing.card))
    bill = costs(facts, settings)
    parts = shares(facts)
    return template("page.html.j2", facts, context).render(
        facts=facts,
        job=facts.drawing.job,
        picture=Markup(picture(facts)),  # built from numbers and checked colours alone
        plan=Markup(bed_plan(facts)),
        cuts=cutting_list(facts, settings),
        sums=agreement(facts),
        steps=steps(facts),
        fading=when_a_line_fades(facts),
        parts=[(part.caption, Markup(image)) for part, image in zip(parts, small_pictures(facts, parts), strict=True)],
        paints=paint_rows(facts),
        paint_note=paint_note(facts),
        after=after_drawing(facts, settings.resin),
        bill=bill,
        totals=totals(bill),
        cautions=cautions(facts),
        tip=lambda mm: length_in(mm, "mm"),
    )


def template(name: str, facts: Facts, context: Context) -> Template:
    """A page to be filled in, with the forms of words that its figures take."""
    templates = Environment(
        loader=PackageLoader("underdraw_stages.sheet", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.filters.update(
        clock=clock, distance=lambda mm: distance(mm, facts.unit), duration=duration, strokes=strokes_in_words
    )
    templates.filters["speed"] = lambda marker: speed(
        drawing_speed(facts.drawing.job, marker.name, context.registry), facts.unit
    )
    return templates.get_template(name)
