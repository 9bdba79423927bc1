"""What comes after drawing: paint, lines again, sealing, stretching, resin. Rules of thumb are marked †."""

from underdraw.in_words import length_in
from underdraw.lengths import MM_PER_INCH
from underdraw_stages.sheet.contents import Facts
from underdraw_stages.sheet.prices import GALLON_MM3

# One panel with an image of 22 x 26 in took about eight hours to paint: common practice, no source.
PAINTED_MM2_AN_HOUR = 22 * 26 * MM_PER_INCH**2 / 8
LITRE_MM3 = 1e6


def after_drawing(facts: Facts, coat: float) -> list[str]:
    """Step by step."""
    return [*painting(facts), *sealing(facts), *stretching(facts), *coating(facts, coat)]


def painting(facts: Facts) -> list[str]:
    """Paint, and the lines again over it."""
    image, ratio = area(facts.panel.image), facts.panel.area_ratio
    sides = f", {ratio:.2f} times the face, since it goes round the sides" if facts.panel.wraps else ""
    hours = facts.panel.image[0] * facts.panel.image[1] / PAINTED_MM2_AN_HOUR
    return [
        f"Paint {image}{sides}: some {max(0.5, round(hours * 2) / 2):g} hours.†",
        "To draw the lines again over paint: dry paint, the board back on its pins, the same zero, the same program.",
    ]


def sealing(facts: Facts) -> list[str]:
    """Seal or not, for each ink, before a coat."""
    told = []
    for name, ink in {load.ink.name: load.ink for load in facts.loads}.items():
        if ink.seal_before_resin:
            told.append(f"{name}: seal before a resin coat or it runs; two coats of an acrylic glazing medium serve.†")
        else:
            told.append(f"{name}: need not be sealed before a resin coat.†")
    return told


def stretching(facts: Facts) -> list[str]:
    """Sides and returns."""
    panel, unit = facts.panel, facts.unit
    if not panel.wraps:
        return []
    depth, bleed, inwards = (length_in(mm, unit) for mm in (panel.depth, panel.bleed, panel.depth + panel.bleed))
    return [
        f"Take the canvas off the board; lay it face down, and the frame on it with its edges on the folds, {inwards} "
        "inside the image’s edge.",
        f"Stretch round the sides ({depth}); {length_in(panel.return_mm, unit)} goes behind the frame, {bleed} of "
        "it painted bleed; at least 1 in is wanted there.† Staple middles first, fold the corners last.",
    ]


def coating(facts: Facts, coat: float) -> list[str]:
    """Resin, if there is to be any."""
    width, height = facts.panel.face
    face = width * height
    sides = 2 * (width + height) * facts.panel.depth if facts.panel.wraps else 0.0
    told = f"Resin, if wanted: {volume(face * coat)} for the face at {length_in(coat, facts.unit)}"
    told += f", {volume((face + sides) * coat)} with the sides" if sides else ""
    return [
        f"{told}. It cures in about a day; support a long span from behind while it levels; tape off or sand the drips "
        "on the back’s lower edge.†"
    ]


def resin_mm3(facts: Facts, coat: float) -> float:
    """Resin for face and sides, in mm³."""
    width, height = facts.panel.face
    sides = 2 * (width + height) * facts.panel.depth if facts.panel.wraps else 0.0
    return (width * height + sides) * coat


def area(size: tuple[float, float]) -> str:
    """An area in dm² and square feet."""
    mm2 = size[0] * size[1]
    return f"{mm2 / 1e4:.1f} dm² ({mm2 / (12 * MM_PER_INCH) ** 2:.2f} sq ft)"


def volume(mm3: float) -> str:
    """A volume in litres or millilitres and US fluid ounces (a gallon has 128)."""
    litres = mm3 / LITRE_MM3
    metric = f"{litres:.2f} l" if litres >= 1 else f"{litres * 1000:.0f} ml"
    return f"{metric} ({mm3 / GALLON_MM3 * 128:.0f} US fl oz)"
