"""What comes after drawing: paint, lines again, sealing, stretching, resin. Rules of thumb are marked †."""

from underdraw.job.sections import MarkerSection
from underdraw.panel import LEAST_RETURN_MM
from underdraw.panel.materials import FL_OZ_PER_GALLON, ML_PER_GALLON, resin
from underdraw.words.lengths import MM_PER_INCH
from underdraw.words.plain_text import isolated
from underdraw.words.quantities import counted, length_in, millilitres
from underdraw_stages.sheet.contents import Facts, as_typed

RESIN_KG_PER_LITRE = 1.1  # of a cured epoxy: common practice, no source
# One panel with an image of 22 x 26 in took about eight hours to paint: common practice, no source.
PAINTED_MM2_AN_HOUR = 22 * 26 * MM_PER_INCH**2 / 8


def after_drawing(facts: Facts, thickness: float) -> list[str]:
    """Step by step."""
    return [*painting(facts), *sealing(facts), *stretching(facts), *coating(facts, thickness)]


def painting(facts: Facts) -> list[str]:
    """Paint, and the lines again over it."""
    back = "the board back on its pins" if facts.panel.wraps else "the frame back in its place"
    again = f"{back}, the same zero, the same program."
    if facts.lying.sections is not None:
        again = "all back against the fence as for the first section, the same zero, and each section measured again."
    return [
        what_to_paint(facts),
        f"To draw the lines again over paint: dry paint, {again}",
        *measuring(facts),
    ]


def what_to_paint(facts: Facts) -> str:
    """How much, and how long it takes: as it was planned, else all of the image."""
    palette = facts.drawing.palette
    if palette is not None:
        mm2 = sum(each.area_mm2 for each in palette.colours)
        narrow = (
            f" Before you begin, look at the {counted(palette.too_narrow, 'region')} narrower than your tool."
            if palette.too_narrow
            else ""
        )
        return (
            f"Paint {area(mm2, facts.unit)} in {counted(len(palette.colours), 'colour')} by the map “{palette.file}”: "
            f"some {hours_to_paint(mm2)}.†{narrow}"
        )
    image, ratio = facts.panel.image, facts.panel.area_ratio
    sides = f", {ratio:.2f} times the face, since it goes round the sides" if facts.panel.wraps else ""
    return f"Paint {area(image[0] * image[1], facts.unit)}{sides}: some {hours_to_paint(image[0] * image[1])}.†"


def hours_to_paint(mm2: float) -> str:
    """To the half hour.

    >>> hours_to_paint(1000.0), hours_to_paint(22 * 26 * 25.4**2)
    ('0.5 hours', '8 hours')
    """
    halves = max(1, round(mm2 / PAINTED_MM2_AN_HOUR * 2))
    return f"{halves / 2:g} hour{'' if halves == 2 else 's'}"


def measuring(facts: Facts) -> list[str]:
    """Whether the board came back to where it was, by its marks; where each is in the program."""
    marks = facts.marks_in_program
    if not marks:
        return []
    if facts.lying.sections is not None:
        return [
            "A board longer than the bed is measured anew for each section, the first one too, by any marks that it "
            f"reaches: underdraw refit --section N --measured FILE -i {as_typed(facts.drawing_file)} -o section-N.svg."
        ]
    drawing = as_typed(facts.drawing_file)
    spots = "; ".join(f"{number}: {spot}" for number, spot in enumerate(marks, 1))
    return [
        "Did it come back? Put the tip over each registration mark (numbered in the flat preview) and write down X and "
        f"Y. They should read {spots}. If one differs by more than a quarter of the tip, type what you read into a "
        f"file and write the program anew: underdraw refit --measured FILE -i {drawing} -o back.svg, then "
        "underdraw gcode -i back.svg -o back.nc. From then on “back.svg” is the drawing for faded lines, too."
    ]


def sealing(facts: Facts) -> list[str]:
    """Seal or not before a coat: by a marker's own card, else by the rule of thumb for its ink."""
    markers = {load.marker.name: load.marker for load in facts.loads}
    lines = [tried_line(name, marker) for name, marker in markers.items() if marker.runs is not None]
    untried = [load for load in facts.loads if load.marker.runs is None]
    for name, ink in {load.ink.name: load.ink for load in untried}.items():
        if ink.seal_before_resin:
            lines.append(
                f"{name}: seal before a resin coat or it runs; two coats of an acrylic glazing medium are usual. Try "
                "the sealer on the swatch first; let the paint dry before it.†"
            )
        else:
            lines.append(f"{name}: need not be sealed before a resin coat.†")
    return lines


def tried_line(name: str, marker: MarkerSection) -> str:
    """What to do with a marker that was tried on a card."""
    sealer = None if marker.sealed_with is None else f"“{isolated(marker.sealed_with)}”"
    if sealer is None:
        seal = "seal it, and try the sealer on a card first" if marker.runs else "it need not be sealed before a coat"
        return f"“{name}”: unsealed it {'ran' if marker.runs else 'did not run'} under a coat on your card: {seal}."
    if marker.runs:
        return (
            f"“{name}”: sealed with {sealer} it ran under a coat on your card: try another sealer, or leave the coat."
        )
    return f"“{name}”: seal with {sealer}, under which it did not run on your card; let the paint dry before it."


def stretching(facts: Facts) -> list[str]:
    """Sides and returns."""
    panel, unit = facts.panel, facts.unit
    if not panel.wraps:
        return []
    depth, bleed, usual = (length_in(mm, unit) for mm in (panel.depth, panel.bleed, LEAST_RETURN_MM))
    return [
        "Take the canvas off the board. To find the folds from the back, prick through the fold marks; they are "
        f"{where_folds_are(facts)}. Lay the canvas face down, and the frame on it with its edges on the folds.",
        f"Stretch round the sides ({depth}); {length_in(panel.return_mm, unit)} goes behind the frame, {bleed} of "
        f"it painted bleed; {usual} at least is usual there.† Staple middles first, fold the corners last. Keep braces "
        "below the bars’ top, clear of the canvas.",
    ]


def where_folds_are(facts: Facts) -> str:
    """From the edges that can be seen; a canvas may give more one way than the other."""
    panel, unit = facts.panel, facts.unit
    across, down = (length_in(mm, unit) for mm in panel.side_width)
    cut_across, cut_down = (length_in(mm + panel.staple, unit) for mm in panel.side_width)
    if across == down:
        return f"{across} inside the image’s edge and {cut_across} from the canvas’s cut edge"
    return (
        f"{across} inside the image’s left and right edges and {down} inside the other two, {cut_across} and "
        f"{cut_down} from the canvas’s cut edges"
    )


def coating(facts: Facts, thickness: float) -> list[str]:
    """Resin, if there is to be any."""
    coat = resin(facts.panel, thickness)
    text = f"Resin, if wanted: {volume(coat.face_ml)} for the face at {length_in(thickness, facts.unit)}"
    text += f", {volume(coat.with_sides_ml)} with the sides; what drips off is not counted"
    coat_words = (
        "Level the panel first and support a long span from behind. On the sides it runs thinner. Keep heat off it "
        "until its maker’s full cure: about a day to the touch, longer to full hardness. Tape off or sand the drips on "
        "the back’s lower edge.†"
    )
    litres = coat.with_sides_ml / 1000
    return [
        f"{text}. {coat_words}",
        f"A matt varnish is the other way, if gloss is not wanted. Resin adds about {litres * RESIN_KG_PER_LITRE:.1f} "
        "kg with the sides: choose hanging line and fixings for the whole weight.†",
    ]


def area(mm2: float, unit: str) -> str:
    """An area in square metres and square feet, that of the job's unit first.

    >>> area(206451.2, "mm"), area(206451.2, "in")
    ('0.206 m² (2.22 sq ft)', '2.22 sq ft (0.206 m²)')
    """
    metric, imperial = f"{mm2 / 1e6:.3f} m²", f"{mm2 / (12 * MM_PER_INCH) ** 2:.2f} sq ft"
    return f"{imperial} ({metric})" if unit == "in" else f"{metric} ({imperial})"


def volume(ml: float) -> str:
    """A volume in litres or millilitres and US fluid ounces, of which a gallon has 128.

    >>> volume(0.3), volume(14.2), volume(393.3), volume(3785.4)
    ('0.3 ml (0.1 US fl oz)', '14.2 ml (0.5 US fl oz)', '393 ml (13 US fl oz)', '3.79 l (128 US fl oz)')
    """
    metric = f"{ml / 1000:.2f} l" if ml >= 1000 else millilitres(ml)
    ounces = max(ml / ML_PER_GALLON * FL_OZ_PER_GALLON, 0.1)
    return f"{metric} ({ounces:.{0 if ounces >= 9.95 else 1}f} US fl oz)"
