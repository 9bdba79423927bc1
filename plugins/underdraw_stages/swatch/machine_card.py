"""What the machine's card tries: a square with diagonals, steps of backlash, circles, a turned tip, wheels.

Backlash is found by reversal, as ISO 230-2 describes it (from memory): the same line is begun once after the axis came
from one side, once after it came from the other; by how far the halves are apart is what the axis loses on turning.
A point on a circle of radius r at speed v takes the acceleration v²/r (any dynamics text): a wheel of that radius asks
the axes for it.
"""

from underdraw_stages.swatch.card import MARGIN, Card, circle, segment

SQUARE = 200.0  # mm: a steel rule of 300 mm takes its diagonals
INSET = 20.0
WIDTH = SQUARE + 2 * INSET
STEPS = 3  # of backlash, each axis
HALF = 7.0  # length of a half line
LEAD = (14.0, 9.0)  # how far beside it the tip last drew: so the axis comes from there
CIRCLE = 15.0
CROSS = 10.0
TURNS = 3.0
LARGEST_WHEEL = 45.0
TURNED = "turned half round"


def put_square(card: Card) -> None:
    """A square and both diagonals: what an axis draws too long, and how far from square they are."""
    card.write("200 mm square: measure sides and diagonals, three times each", INSET, card.down(6.0))
    top = card.down(8.0)
    left, right, bottom = INSET, INSET + SQUARE, top + SQUARE
    for words, stroke in {
        "bottom": segment(left, bottom, right, bottom),
        "right": segment(right, bottom, right, top),
        "top": segment(right, top, left, top),
        "left": segment(left, top, left, bottom),
        "rising": segment(left, bottom, right, top),
        "falling": segment(left, top, right, bottom),
    }.items():
        card.trial("square", words, [stroke])
    card.bottom = bottom


def put_steps(card: Card) -> None:
    """Lines in two halves, the second begun after the axis came from the other side."""
    top = card.down(16.0)
    card.write("step x: lower half to the right", INSET, top, SQUARE / 2 - 10)
    card.write("step y: right half away from you", INSET + SQUARE / 2, top, SQUARE / 2)
    y = top + 12.0
    for index in range(STEPS):
        x = INSET + 16.0 + index * 34.0
        card.add([segment(x - LEAD[0], y, x - LEAD[1], y)])
        card.trial("step x", "from the left", [segment(x, y, x, y + HALF)])
        card.add([segment(x + LEAD[0], y + 2 * HALF, x + LEAD[1], y + 2 * HALF)])
        card.trial("step x", "from the right", [segment(x, y + HALF, x, y + 2 * HALF)])
    for index in range(STEPS):
        x = INSET + SQUARE / 2 + 4.0 + index * 34.0
        middle = y + HALF
        card.add([segment(x, middle + LEAD[0], x, middle + LEAD[1])])
        card.trial("step y", "from the front", [segment(x, middle, x + HALF, middle)])
        card.add([segment(x + 2 * HALF, middle - LEAD[0], x + 2 * HALF, middle - LEAD[1])])
        card.trial("step y", "from behind", [segment(x + HALF, middle, x + 2 * HALF, middle)])
    card.down(12.0 + 3 * HALF + 6.0)


def put_circles(card: Card) -> None:
    """A circle each way round: where they differ from round, and from each other, an axis loses its way."""
    top = card.down(8.0)
    card.write("each way round", INSET, top, 70.0)
    y = top + 5.0 + CIRCLE
    card.trial("circle", "clockwise", [circle(INSET + CIRCLE, y, CIRCLE)])
    card.trial("circle", "counter-clockwise", [circle(INSET + 3 * CIRCLE + 8.0, y, CIRCLE, -1.0)])


def put_turned_cross(card: Card) -> None:
    """An upright cross, and a slanted one over it with the marker turned half round in its holder."""
    x, y = INSET + SQUARE - CROSS - 5.0, card.bottom + 5.0 + CIRCLE
    card.write("turned", x - CROSS, card.bottom, 2 * CROSS)
    upright = [segment(x - CROSS, y, x + CROSS, y), segment(x, y - CROSS, x, y + CROSS)]
    card.trial("cross", "upright", upright)
    card.down(5.0 + 2 * CIRCLE)


def turned_cross(card: Card) -> None:
    """The slanted cross over the upright one; drawn last, after the operator turned the marker."""
    upright = next(trial for trial in card.trials if trial.kind == "cross")
    (x, y) = card.strokes[upright.first - 1].mean(axis=0)
    arm = CROSS * 0.7
    slanted = [segment(x - arm, y - arm, x + arm, y + arm), segment(x - arm, y + arm, x + arm, y - arm)]
    card.trial("cross", TURNED, slanted, name=TURNED)
    card.put_in.append(card.markers[-1])


def put_wheels(card: Card, accelerations: dict[str, float], speed: float, words: str) -> None:
    """Circles that ask for more and more acceleration, in mm/s² by the words for it, at one speed (mm/s)."""
    card.down(14.0)
    card.write(f"wheels at {words}: the last that is round and closed", INSET, card.bottom, SQUARE)
    x, y = INSET, card.down(10.0)
    tallest = 0.0
    for name, acceleration in accelerations.items():
        radius = min(speed**2 / acceleration, LARGEST_WHEEL)
        if x + 2 * radius > card.width - MARGIN:
            x, y, tallest = INSET, y + 2 * tallest + 12.0, 0.0
        card.write(name.removesuffix(" mm/s2"), x, y, 18.0, 0.6)
        card.trial("wheel", name, [circle(x + radius, y + 4.0 + radius, radius, TURNS)],
                   {"speed": f"{speed:.9g} mm/s"}, "at full speed")  # fmt: skip
        x, tallest = x + max(2 * radius, 18.0) + 6.0, max(tallest, radius)
    card.bottom = y + 4.0 + 2 * tallest
