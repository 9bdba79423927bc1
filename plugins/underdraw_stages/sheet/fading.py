"""When a line fades or the machine stops: where the drawing was, and what to type to go on."""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from underdraw.words.quantities import clock
from underdraw_stages.sheet.contents import Facts, as_typed
from underdraw_stages.sheet.steps import corner, zero_words

MOST_SHARES = 12  # small pictures of the job, each with the strokes of its share of the machine's time


@dataclass(frozen=True)
class Remedy:
    """What to do, and the command to type for it; "" where nothing is typed."""

    words: str
    command: str = ""


@dataclass(frozen=True)
class Share:
    """A share of the job: its strokes, numbered from 1, and the machine's clock when it begins, in s."""

    first: int
    last: int
    start: float

    @property
    def caption(self) -> str:
        """`1–66, 0:02`."""
        strokes = f"{self.first:,}" if self.first == self.last else f"{self.first:,}–{self.last:,}"
        return f"{strokes}, {clock(self.start)}"


def shares(facts: Facts) -> list[Share]:
    """At most `MOST_SHARES` of them, of about the same time, each of one stroke at least; together all strokes."""
    count = len(facts.drawing)
    times = np.linspace(0.0, facts.schedule.total, min(MOST_SHARES, count) + 1)[1:-1]
    begins = np.unique(np.concatenate([[0], np.searchsorted(facts.schedule.touch, times), [count]]))
    return [
        Share(int(first) + 1, int(last), float(facts.schedule.touch[first]))
        for first, last in pairwise(begins.tolist())
    ]


def when_a_line_fades(facts: Facts) -> list[Remedy]:
    """From the faint line to the program that draws the rest, with this job's file names."""
    program = facts.programs[0].file if facts.programs else "program.ngc"
    asked = Path(facts.programs[0].asked_name if facts.programs else program)
    going_on = f"{asked.stem}-rest{asked.suffix}"
    drawing, program, rest = as_typed(facts.drawing_file), as_typed(program), as_typed(going_on)
    example = "3 x 10 in" if facts.unit == "in" else "75 x 250 mm"
    return [
        Remedy("Hold the machine, raise the marker, then stop the program. Move neither canvas nor zero."),
        Remedy(
            f"Find the last solid line. Measure from {corner(facts)} as it is on the bed, "
            "right and down, and ask for the strokes there:",
            f'underdraw strokes {drawing} --near "{example}"',
        ),
        Remedy(
            "Or ask by the machine’s clock, or by the program’s line where it stopped:",
            f"underdraw strokes {drawing} --at 14:30\nunderdraw strokes {drawing} --line 4711 --program {program}",
        ),
        Remedy(
            "Write the rest of the program. N is the number of the first stroke that is faint or missing:",
            f"underdraw gcode -i {drawing} --from N -o {rest}",
        ),
        Remedy(
            "Or write what is left after the line where it stopped, or some strokes alone:",
            f"underdraw gcode -i {drawing} --from-line 4711 --program {program} -o {rest}\n"
            f"underdraw gcode -i {drawing} --again 30-41,55 -o {rest}",
        ),
        *([in_sections(facts.drawing_file)] if facts.lying.sections is not None else []),
        Remedy(
            "Put in a fresh marker and run it on scrap until its line is solid. "
            f"{zero_again(facts)} {start(facts, going_on)}"
        ),
    ]


def zero_again(facts: Facts) -> str:
    """What to set anew at the machine; where the board was measured, its corner is no place for zero any more."""
    if facts.lying.motion is None and facts.lying.sections is None:
        if any(marker.offset != (0.0, 0.0) for marker in facts.drawing.job.markers):  # not with the tip at hand
            return f"Zero Z again, and if the power was off X and Y too, {zero_words(facts)}."
        return "Zero Z again, and X and Y too if the power was off."
    return (
        "Zero Z again. If the power was off, the place of X and Y zero is lost: set it as at the beginning, then "
        "measure the marks again and write the programs for that (underdraw refit, then gcode)."
    )


def start(facts: Facts, rest: str) -> str:
    """Which program goes on."""
    if not facts.is_split:
        return f"Start “{rest}”."
    return "Start the program that was written; of several, the one of the lowest number, and so on."


def in_sections(drawing: str) -> Remedy:
    """What is different on a board longer than the bed."""
    return Remedy(
        "This board is drawn in sections. For the first one, add --section 1 to these gcode commands; for one that was "
        f"measured, name its own drawing in place of {drawing}: section-2.svg for the second."
    )
