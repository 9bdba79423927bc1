"""The sheet of a panel longer than the bed: steps for each section, with what to measure and what to type."""

import html
import re
import shlex

import numpy as np
import pytest
from long_panels import long_panel, ordered

from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw.words.quantities import duration
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode
from underdraw_stages.sheet import SheetSettings
from underdraw_stages.sheet.stage import sheet


def steps_of(drawing) -> list[str]:
    (file,) = sheet(drawing, SheetSettings(), TrialContext(Registry.installed())).files
    return [html.unescape(step) for step in re.findall(r"<li>(.*?)</li>", file.data.decode(), re.DOTALL)]


@pytest.mark.slow
@pytest.mark.parametrize("programs", [True, False])
def test_each_section_is_moved_measured_written_and_drawn_in_turn(programs: bool) -> None:
    drawing, _ = ordered(long_panel("16 x 120 in"))
    registry = Registry.installed()
    if programs:
        drawing = gcode(drawing, read_settings(GcodeSettings, {}), TrialContext(registry)).drawing
    steps = steps_of(drawing)
    sections = Lying.of(drawing, registry).sections
    moves = [index for index, step in enumerate(steps) if "move the board" in step]
    starts = [index for index, step in enumerate(steps) if "Start " in step and "draws stroke" in step]
    assert len(moves) == 2 and len(starts) == 3
    assert starts[0] < moves[0] < starts[1] < moves[1] < starts[2]
    for section, index in zip((2, 3), moves, strict=True):
        assert f"Section {section} of 3: move the board towards you by {sections.step / 25.4:.2f} in" in steps[index]
        numbers = range(5 + 4 * (section - 2), 9 + 4 * (section - 2))
        assert f"marks {', '.join(map(str, numbers))}" in steps[index + 1]
        typed = steps[index + 2].split("lies: ")[1]
        refit, write = (shlex.split(command) for command in typed.split(" && "))
        assert refit[:4] == ["underdraw", "refit", "--section", str(section)]
        assert refit[-1] == write[3] == f"section-{section}.svg"
    assert any("drawn in 3 sections" in step for step in steps)


@pytest.mark.slow
def test_a_program_of_one_load_takes_as_long_as_its_writer_has_it() -> None:
    """Which has the way to park in it, where the machine stands elsewhere after the board was moved."""
    drawing, _ = ordered(long_panel("16 x 60 in"))
    made = gcode(drawing, read_settings(GcodeSettings, {"split": "load"}), TrialContext(Registry.installed())).drawing
    steps = steps_of(made)
    assert any(duration(each.seconds) != duration(sum(load.seconds for load in each.loads)) for each in made.programs)
    for program in made.programs:
        (step,) = [step for step in steps if f"Start “{program.file}”" in step]
        assert step.endswith(f", about {duration(program.seconds)}.")


def test_a_board_that_is_long_along_x_is_moved_to_the_left() -> None:
    """What the second section reaches lies farther right on the board."""
    drawing, _ = ordered(long_panel("120 x 16 in"))
    lying = Lying.of(drawing, Registry.installed())
    assert lying.corner_on_bed(2)[0] < lying.corner_on_bed(1)[0]
    assert any("move the board to the left by" in step for step in steps_of(drawing))


@pytest.mark.slow
@pytest.mark.parametrize("lasts", [None, "2 m"])
def test_a_marker_that_goes_on_in_the_next_section_is_not_changed(lasts) -> None:
    """With ink for all of it the marker stays; with too little, the next section has a fresh one."""
    whole = long_panel("16 x 60 in")
    marker = {"name": "outline", **({"ink_length": lasts} if lasts else {})}
    job = job_from_data({**whole.job.data, "marker": [marker]}, "frieze")
    drawing, _ = ordered(whole.replace(job=job, marker=np.full(len(whole), "outline", dtype=object)))
    drawing = gcode(drawing, read_settings(GcodeSettings, {}), TrialContext(Registry.installed())).drawing
    (second,) = [step for step in steps_of(drawing) if "section-2" in step and "draws stroke" in step]
    assert second.startswith("Set the tip’s height again. Start “") is (lasts is None)
    assert ("Change to a fresh “outline”, set the tip’s height again. Start “" in second) is (lasts is not None)


def test_where_the_tip_is_over_a_mark_is_what_the_plan_makes_of_it() -> None:
    """By hand: the mark's point from the board's lower left corner, less how far the board was moved towards you."""
    drawing, _ = ordered(long_panel("16 x 60 in"))
    lying = Lying.of(drawing, Registry.installed())
    measuring = next(step for step in steps_of(drawing) if "Put the tip over marks 5" in step)
    x, y = drawing.lying.marks[6]
    due = f"7: {x:.2f} × {drawing.sheet[1] - y - lying.sections.step:.2f} mm"
    assert due in measuring
