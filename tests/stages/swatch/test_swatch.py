"""The card tries what a painter must know of a marker, and the machine can draw it."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from garden_panels import ACCENT, OUTLINE

from underdraw import Drawing, InputError
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.machine.clock import drawing_speed
from underdraw.testing.trial import TrialContext
from underdraw_stages.swatch import SwatchSettings
from underdraw_stages.swatch.card import cut_to, meander
from underdraw_stages.swatch.stage import swatch

JOB = {"machine": {"bed": "24 x 48 in", "units": "in", "rapid": "120 in/min"}, "marker": [OUTLINE, ACCENT]}


def card(bench: TrialContext, **written: object) -> Drawing:
    bench.job = job_from_data(JOB, "garden")
    return swatch(None, read_settings(SwatchSettings, written), bench).drawing


def test_the_card_is_strokes_of_one_pen_in_trials(bench: TrialContext) -> None:
    drawing = card(bench)
    assert drawing.is_strokes
    assert set(drawing.stroke_width.tolist()) == {1.0} and set(drawing.stroke.tolist()) == {"#1b1b3a"}
    assert {section.ink for section in drawing.job.markers} == {"oil-paint"}
    x0, y0, x1, y1 = drawing.bounds
    assert min(x0, y0) > 0 and x1 < drawing.sheet[0] and y1 < drawing.sheet[1]
    changes = 1 + int((drawing.marker[1:] != drawing.marker[:-1]).sum())
    assert changes == len(drawing.job.markers)  # each trial in one go: as few waits as there are trials


def test_the_same_line_is_drawn_at_a_ladder_of_speeds(bench: TrialContext) -> None:
    drawing = card(bench)
    ladder = [section.name for section in drawing.job.markers if " at " in section.name]
    speeds = [drawing_speed(drawing.job, name, bench.registry) for name in ladder]
    # Common practice, no source: oil-paint markers draw a solid line at 30 in/min.
    assert [speed * 60 / 25.4 for speed in speeds] == pytest.approx([7.5, 15, 22.5, 30, 45, 60])
    lines = [drawing.select(drawing.marker == name) for name in ladder]
    shapes = [line.coords - line.coords[0] for line in lines]
    assert all(len(line) == 1 for line in lines)
    assert all(np.allclose(shape, shapes[0], atol=2e-4) for shape in shapes)


def test_speeds_stay_within_what_the_machine_can_do(bench: TrialContext) -> None:
    bench.job = job_from_data({**JOB, "machine": {"rapid": "40 in/min"}}, "slow")
    drawing = swatch(None, SwatchSettings(), bench).drawing
    speeds = [section.speed for section in drawing.job.markers if section.speed]
    assert max(speeds) <= 40 * 25.4 / 60 + 1e-6
    assert len(set(speeds)) == len(speeds)


def test_speeds_and_heights_of_ones_own(bench: TrialContext) -> None:
    drawing = card(bench, speeds=["20 in/min", "50 in/min"], heights=["0 mm", "0.3 mm"])
    names = [section.name for section in drawing.job.markers]
    assert "outline at 20 in/min" in names and "outline at 50 in/min" in names
    assert "outline pressed 0 mm" in names and "outline pressed 0.3 mm" in names


def test_a_sprung_holder_is_pressed_in_further_line_by_line(bench: TrialContext) -> None:
    drawing = card(bench)
    presses = {section.name: section.press for section in drawing.job.markers if section.press is not None}
    assert presses == {f"outline pressed {press:g} mm": press for press in (0.0, 0.5, 1.0, 1.5, 2.0)}


def test_a_rigid_holder_is_set_lower_by_hand(bench: TrialContext) -> None:
    bench.job = job_from_data({**JOB, "holder": {"use": "clamp"}}, "rigid")
    drawing = swatch(None, SwatchSettings(), bench).drawing
    names = [section.name for section in drawing.job.markers]
    assert "outline tip just touching" in names and "outline tip 0.5 mm lower" in names
    assert all(section.press is None for section in drawing.job.markers)


def test_the_run_has_a_tick_at_each_whole_metre(bench: TrialContext) -> None:
    drawing = card(bench, run="10 m")
    run = drawing.select(drawing.marker == "outline: run")
    assert len(run) == 1 and run.drawn_mm == pytest.approx(10_000, abs=0.5)
    points = run.coords
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    ticks = along[np.flatnonzero(points[:, 0] < points[:, 0].min() + 0.01)]
    # The tick's tip lies its own length before the metre's end.
    assert ticks == pytest.approx(np.arange(1, 11) * 1000.0 - 4.0, abs=0.5)


def test_a_run_of_no_whole_metre_ends_where_it_should() -> None:
    points = cut_to(meander(0.0, 160.0, 0.0, 2.0, 3), 2345.6)
    assert np.hypot(*np.diff(points, axis=0).T).sum() == pytest.approx(2345.6)


def test_rows_of_the_run_never_touch(bench: TrialContext) -> None:
    bench.job = job_from_data({"marker": [{**OUTLINE, "tip": "3 mm"}]}, "broad")
    run = swatch(None, SwatchSettings(), bench).drawing
    rows = sorted({round(float(y), 3) for y in run.select(run.marker == "outline: run").coords[:, 1]})
    assert min(np.diff(rows)) > 3.0


def test_three_alike_columns_wait_for_a_coat(bench: TrialContext) -> None:
    drawing = card(bench)
    patches = drawing.coords[drawing.coords[:, 1] > drawing.sheet[1] - 10 - 34 + 1]
    patches = patches[np.argsort(patches[:, 0], kind="stable")]
    column = (190 - 2 * 10 - 2 * 8) / 3
    edges = [10 + column + 4, 10 + 2 * column + 12]
    thirds = [len(part) for part in np.split(patches, np.searchsorted(patches[:, 0], edges))]
    assert len(set(thirds)) == 1 and thirds[0] > 60


def test_another_marker_of_the_job_can_be_learnt(bench: TrialContext) -> None:
    drawing = card(bench, marker="accent")
    assert drawing.job.markers[0].name == "accent" and drawing.job.name == "swatch accent"
    with pytest.raises(InputError, match="did you mean 'accent'"):
        card(bench, marker="acent")


def test_the_card_needs_no_job(bench: TrialContext) -> None:
    assert len(swatch(None, SwatchSettings(), bench).drawing) > 100


def test_the_card_goes_over_the_wire_whole(bench: TrialContext) -> None:
    drawing = card(bench)
    again = read_drawing(write_drawing(drawing))
    assert np.array_equal(again.coords, drawing.coords) and again.marker.tolist() == drawing.marker.tolist()
    assert [section.speed for section in again.job.markers] == [section.speed for section in drawing.job.markers]


def test_the_machine_can_draw_it(bench: TrialContext, tmp_path: Path) -> None:
    drawing = card(bench)
    (tmp_path / "card.svg").write_bytes(write_drawing(drawing))
    command = f"gcode -i {tmp_path}/card.svg -o {tmp_path}/card.nc"
    done = subprocess.run([sys.executable, "-m", "underdraw", *command.split()], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    program = (tmp_path / "card.nc").read_text()
    assert "outline at 15 in min" in program and "outline pressed 0.5 mm" in program
    depths = {float(z) for z in re.findall(r"Z(-[\d.]+)", program)}
    assert {round(depth * 25.4, 2) for depth in depths} >= {-0.5, -1.0, -1.5, -2.0}


def test_what_the_pen_says_of_itself_goes_with_it(bench: TrialContext) -> None:
    pen = {**OUTLINE, "settle": "0.3 s", "speed": "20 in/min", "press": "0.8 mm"}
    bench.job = job_from_data({**JOB, "marker": [pen]}, "slow starter")
    drawing = swatch(None, read_settings(SwatchSettings, {"heights": ["1 mm", "1 mm"]}), bench).drawing
    assert {section.settle for section in drawing.job.markers} == {0.3}
    assert drawing.job.markers[0].press == 0.8
    assert sum(section.press == 1.0 for section in drawing.job.markers) == 1
