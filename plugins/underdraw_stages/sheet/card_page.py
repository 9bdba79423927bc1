"""The sheet of a card to learn from: how to clamp, start and read it, and a form to write in."""

from dataclasses import dataclass
from typing import Any

from underdraw.drawing.facts import Card
from underdraw.words.quantities import distance, duration, length_in, size_in
from underdraw_stages.sheet.cautions import cautions
from underdraw_stages.sheet.contents import Facts
from underdraw_stages.sheet.steps import first_move, setting_up


@dataclass(frozen=True)
class Row:
    """One line of the form: the key in the file of readings, what to look for, what the card tries."""

    key: str
    question: str
    tried: str


def card_page(facts: Facts, card: Card) -> dict[str, Any]:
    """What the page is filled with."""
    machine = card.subject == "machine"
    return {
        "summary": figures(facts),
        "cautions": cautions(facts),
        "steps": [*clamping(facts), *setting_up(facts), *starting(facts, machine)],
        "rows": machine_rows(facts, card) if machine else marker_rows(card),
        "note": MACHINE_NOTE if machine else MARKER_NOTE,
        "example": MACHINE_EXAMPLE if machine else marker_example(card),
    }


def figures(facts: Facts) -> list[tuple[str, str]]:
    """The card in a few figures."""
    return [
        ("Card", size_in(facts.drawing.sheet, facts.unit)),
        ("Strokes", f"{len(facts.drawing):,}"),
        ("Drawn", distance(facts.drawing.drawn_mm, facts.unit)),
        ("Machine time", duration(facts.schedule.total)),
        ("Pauses", str(len(facts.loads) - 1) if len(facts.loads) > 1 else "none"),
    ]


def clamping(facts: Facts) -> list[str]:
    """The scrap on the bed."""
    size = size_in(facts.drawing.sheet, facts.unit)
    return [
        f"Take a scrap of your canvas, primed as you prime it, {size} or larger; staple it flat on a board.",
        "Fix the board on the bed so that it cannot slide; keep clamps out of the marker’s way.",
    ]


def starting(facts: Facts, machine: bool) -> list[str]:
    """From the start to the end of the drawing."""
    name = f"“{facts.programs[0].file}”" if facts.programs else "the program"
    steps = [first_move(facts)]
    if machine:
        steps += [
            f"Start {name}, and stay with the machine. It waits once at park: turn the marker half round "
            "in its holder, as high as it was, and go on.",
            "The wheels ask more of the axes one by one. Stop the machine if it sounds wrong.",
        ]
    else:
        steps.append(
            f"Start {name}, and stay with the machine. It does not pause. The long run comes last: stop the machine "
            "when its line has faded."
        )
    return steps


NO_BREAK = "\u00a0"
MARKER_NOTE = (
    "Cut the four patches apart. Seal two as you would seal a painting, let them dry, then coat two, as the words over "
    "them say. Look again when the coat has cured. In “tips apart”, lines that run together are what “inspect” "
    "reports as merging."
)
MACHINE_NOTE = (
    "Measure with a steel rule from the middle of a line to the middle of a line, each three times, laying the rule on "
    "anew. Circles that differ from round, or from each other, show play in an axis."
)
MACHINE_EXAMPLE = '''[machine]
bottom = ["200.1 mm", "200.2 mm", "200.1 mm"]
step_x = ["0.2 mm", "0.1 mm", "0.2 mm"]
turned = ["0.4 x -0.2 mm"]
wheel = "300 mm/s2"'''


def marker_example(card: Card) -> str:
    """A file of readings to follow, with the card's own words."""
    speeds = [trial.words for trial in card.trials if trial.kind == "speed"]
    name = card.marker.replace("\\", "\\\\").replace('"', '\\"')
    return f'''[marker]
name = "{name}"
solid = "{speeds[len(speeds) // 2] if speeds else "30 in/min"}"
press = ["1 mm", "0.5 mm"]
settle = "0.1 s"
line = ["0.9 mm", "0.95 mm", "0.9 mm"]
faded = ["52 m"]
sealed_with = "name of the sealer"
sealed_ran = false'''


def marker_rows(card: Card) -> list[Row]:
    """The form of a marker's card."""
    rows = [
        Row("solid", "the fastest line that is solid from end to end", tried(card, "speed")),
        Row("faint", "the slowest line that is not", "the same"),
        Row("press", "the least that is pressed in without gaps; several positions", tried(card, "press")),
        Row("settle", "the shortest wait after which beginnings are whole", tried(card, "settle")),
        Row("line", "how wide a single line is; several positions", "any line"),
        Row("faded", "the last metre of the run that is solid", tried(card, "run")),
        Row("sealed_with", "the sealer you tried", tried(card, "patch")),
        Row("sealed_ran", "sealed + coated: did lines run under the coat? true or false", "the same"),
        Row("plain_ran", "coated: did unsealed lines run? true or false", "the same"),
    ]
    return [row for row in rows if row.tried]


def machine_rows(facts: Facts, card: Card) -> list[Row]:
    """The form of the machine's card."""
    sides = {
        "bottom": "the square’s side nearest to you",
        "top": "the side farthest from you",
        "left": "the left side",
        "right": "the right side",
        "rising": "the diagonal from the near left corner",
        "falling": "the diagonal from the far left corner",
    }
    lengths = facts.drawing.part_lengths()
    drawn = {trial.words: length_in(lengths[trial.first - 1], "mm") for trial in card.trials if trial.kind == "square"}
    rows = [Row(key, f"{words}, three times", drawn[key]) for key, words in sides.items() if key in drawn]
    return [
        *rows,
        Row("step_x", "how far right the lower half of each upright line is of its upper half; minus: left", "0 mm"),
        Row("step_y", "how far away from you the right half of each level line is; minus: nearer", "0 mm"),
        Row("turned", "from the middle of the upright cross to the slanted one’s, right x away", "0 x 0 mm"),
        Row("wheel", "the last wheel that is round and closed", tried(card, "wheel")),
        Row("holder_offset", "the offset that your job sets, if it sets one", "from the job"),
    ]


def tried(card: Card, kind: str) -> str:
    """The trials of one kind as they follow one another on the card, in its words; "" where it has none."""
    return ", ".join(trial.words.replace(" ", NO_BREAK) for trial in card.trials if trial.kind == kind)
