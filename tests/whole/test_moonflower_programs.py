"""The fixture's programs: every controller, in mm and in inches, read back against the drawing."""

import functools
from dataclasses import replace
from pathlib import Path

import pytest

from underdraw import Drawing
from underdraw.cli.console import Console
from underdraw.cli.load_job import load_job
from underdraw.job.settings import read_settings
from underdraw.machine.clock import Schedule
from underdraw.panel import Lying
from underdraw.plugins.chain import StageContext, chain_of, run_stage, settings_for
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.comparison import compare, drawn_strokes
from underdraw.program.expected import Expected

FIXTURE = Path(__file__).parents[2] / "fixtures" / "moonflower" / "moonflower.toml"


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


@pytest.fixture(scope="module")
def drawing(registry) -> Drawing:
    """The fixture's strokes in drawing order."""
    job, console = load_job(FIXTURE, registry), Console()
    console.quiet = True
    held = None
    for stage in chain_of(job, registry):
        if stage.kind == "writer" and held is not None and held.is_strokes:
            break
        context = StageContext(registry, console, stage.name, job)
        held = run_stage(stage, held, settings_for(stage, job), context).drawing
    assert held is not None
    return held


@pytest.fixture(scope="module")
def written(drawing, registry):
    """A program's bytes, by settings as a person writes them."""

    @functools.cache  # one program serves several tests
    def write(**asked: str) -> bytes:
        stage, console = registry.stages["gcode"], Console()
        console.quiet = True
        context = StageContext(registry, console, stage.name)
        settings = read_settings(stage.settings, {"controller": "rs274", "units": "mm", **asked})
        (file,) = run_stage(stage, drawing, settings, context).files
        return file.data

    return write


@pytest.mark.slow
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("controller", ["rs274", "iso6983", "lines"])
def test_the_fixture_is_drawn_within_tolerance_nothing_missing_nothing_extra(
    drawing, registry, written, controller, units
):
    expected = Expected.of(drawing.job, Lying.of(drawing, registry), registry, controller).drawing(drawing)
    report = check_program(written(controller=controller, units=units), expected, 0.02)
    assert report.ok, report.problems[:3]
    assert report.comparison.deviation < 0.02
    assert (report.comparison.missing_mm, report.comparison.extra_mm) == (0, 0)


@pytest.mark.slow
def test_arcs_are_at_most_a_fifth_of_the_straight_moves_of_the_same_tolerance(written, capsys):
    arcs, lines = (check_program(written(controller=name)).drawn for name in ("rs274", "lines"))
    drawn = [int(program.moves.drawing.sum()) for program in (arcs, lines)]
    with capsys.disabled():
        print(f"\nfixture: {drawn[0]} moves with arcs, {drawn[1]} without: ratio {drawn[0] / drawn[1]:.3f}")
    assert drawn[0] <= 0.20 * drawn[1]


@pytest.mark.slow
@pytest.mark.parametrize("controller", ["rs274", "iso6983", "lines"])
def test_inch_and_metric_programs_draw_the_same_to_five_micrometres(written, controller, capsys):
    metric, inch = (check_program(written(controller=controller, units=units)).drawn for units in ("mm", "in"))
    apart = compare(inch, drawn_strokes(metric), 0.005)
    with capsys.disabled():
        print(
            f"\n{controller}: the fixture's inch and metric programs lie within {apart.deviation:.5f} mm of each other"
        )
    assert apart.deviation < 0.005
    assert (apart.missing_mm, apart.extra_mm) == (0, 0)


@pytest.mark.slow
def test_the_motion_clock_and_the_programs_clock_agree(drawing, registry, written):
    drawn = check_program(written(), Expected.of(drawing.job, Lying.of(drawing, registry), registry)).drawn
    schedule = Schedule.of(drawing, registry)
    assert drawn.total_seconds == pytest.approx(schedule.total, rel=0.002)
    for share in (0.1, 0.5, 0.9):
        at = share * schedule.total
        assert abs(drawn.stroke_at(at)[0] - schedule.stroke_at(at)) <= 1


@pytest.mark.slow
def test_a_machine_of_another_zero_and_offset_draws_in_the_same_place(drawing, registry, written):
    job = drawing.job
    shifted = replace(
        job,
        machine=replace(job.machine, zero="centre"),
        holder=replace(job.holder, offset=(25.0, -10.0), zero_with="axis"),
    )
    stage = registry.stages["gcode"]
    console = Console()
    console.quiet = True
    moved = drawing.replace(job=shifted)
    settings = read_settings(stage.settings, {})
    (file,) = run_stage(stage, moved, settings, StageContext(registry, console, stage.name)).files
    here = check_program(written(), Expected.of(job, Lying.of(drawing, registry), registry)).drawn
    there = check_program(file.data, Expected.of(shifted, Lying.of(moved, registry), registry)).drawn
    assert there.on_board.min(axis=0) == pytest.approx(here.on_board.min(axis=0), abs=0.001)
    assert there.bounds[0] == pytest.approx(here.bounds[0] - drawing.sheet[0] / 2 - 25, abs=0.001)
