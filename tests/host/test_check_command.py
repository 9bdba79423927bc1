"""`underdraw check` from a shell: what it prints, with and without a job or a drawing, and how it exits."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from underdraw import Drawing
from underdraw.cli.command_line import main
from underdraw.drawing.facts import OnBoard, WrittenLoad, WrittenProgram
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.plugins.registry import Registry

JOB = """
[canvas]
face = "100 x 140 mm"
depth = "40 mm"
bleed = "10 mm"
staple = "25 mm"
[machine]
bed = "400 x 600 mm"
[[marker]]
name = "outline"
ink = "oil-paint"
"""
PROGRAM = """(two strokes)
M5 M9
G17 G21 G40 G49 G54 G61 G80 G90 G94
G0 Z5
G0 X0 Y0
G0 X50 Y50
G0 Z1
G1 Z-1.5 F600
G1 X150 Y50 F762
G2 X150 Y90 I0 J20
G0 Z5
G0 X20 Y200
G1 Z-1.5 F600
G1 X180 Y200 F762
G0 Z5
G0 X0 Y0
M2
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a job, a program and the drawing that it was made of."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "panel.toml").write_text(JOB)
    (tmp_path / "panel.nc").write_text(PROGRAM)
    turn = np.linspace(-np.pi / 2, np.pi / 2, 60)  # X150 Y50 to X150 Y90 clockwise about X150 Y70: by way of X130
    arc = np.stack([150 - 20 * np.cos(turn), 240 - (70 + 20 * np.sin(turn))], axis=1)
    strokes = [np.vstack([[(50.0, 190.0)], arc]), np.array([(20.0, 40.0), (180.0, 40.0)])]
    canvas = {"face": "100 x 140 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm"}
    job = job_from_data({"canvas": canvas, "marker": [{"name": "outline", "ink": "oil-paint"}]}, "panel")
    drawing = Drawing.build(
        [[line] for line in strokes], (200, 240), job, marker="outline", load=1, stroke="#1b1b3a", stroke_width=0.7
    ).replace(lying=OnBoard())
    (tmp_path / "panel.svg").write_bytes(write_drawing(drawing))
    return tmp_path


@pytest.fixture
def run(shop, capsys):
    """Run the command; exit code, standard output, standard error."""

    def checked(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as stop:
            main(["check", *arguments])
        out = capsys.readouterr()
        return int(stop.value.code or 0), out.out, out.err

    return checked


def test_a_sound_program_is_ok_and_says_what_it_draws(run):
    code, out, _ = run("panel.nc")
    assert code == 0
    assert out.rstrip().endswith("ok")
    assert "2 strokes" in out
    assert "2 lifts" in out
    assert "draws from X 20.00 Y 50.00 to X 180.00 Y 200.00 mm" in out


def test_it_tells_people_in_the_program_s_own_unit_and_counts_rightly(run, shop):
    program = "M5\nG20 G90 G94 G54\nG0 Z0.2\nG0 X1 Y2\nG1 Z0 F20\nG1 X3 Y2\nG0 Z0.2\nG0 X0 Y0\nM0\nG0 Z0.2\nM2\n"
    (shop / "panel.nc").write_text(program)
    code, out, err = run("panel.nc")
    assert code == 0, out + err
    assert "draws from X 1.00 Y 2.00 to X 3.00 Y 2.00 in" in out
    assert "1 stroke, 2.0 in drawn, 3.6 in of travel" in out
    assert "1 lift, 1 pause, 0 arcs" in out


INCH_JOB = """
[canvas]
face = "4 x 6 in"
depth = "1.5 in"
bleed = "0.5 in"
staple = "1 in"
[machine]
bed = "12 x 24 in"
units = "in"
[[marker]]
name = "outline"
ink = "oil-paint"
"""


@pytest.mark.parametrize(
    ("program", "told"),
    [
        ("G0 X1 Y2\nG1 Z0 F20\nG1 X9 Y2 F30", "draws 1.000 in outside the image of 8 x 10 in"),
        ("G0 X9 Y2\nG1 Z0 F20", "touches 1.000 in outside the image of 8 x 10 in"),
        ("G0 X40 Y2", "off the bed of 12 x 24 in"),
        ("G0 X-2.8 Y2\nG0 X10.5 Y2", "needs 13.30 in of travel along X and the bed has 12 in"),
        ("G0 X1 Y2\nG1 Z0 F20\nG1 X3 Y2 F90", "draws at 90.0 in/min; its ink takes 30.0 in/min"),
        ("G0 X1 Y2\nG1 Z0 F20\nG2 X3 Y2 I1.001 J0 F30", "differ by 0.00200 in"),
    ],
)
def test_what_is_wrong_with_an_inch_program_is_told_in_inches(run, shop, program, told):
    (shop / "inch.toml").write_text(INCH_JOB)
    (shop / "inch.nc").write_text(f"M5\nG20 G90 G94 G54\nG0 Z0.2\nG0 X0 Y0\n{program}\nG0 Z0.2\nM2\n")
    code, out, _ = run("inch.nc", "--job", "inch.toml")
    assert code == 1
    problems = [line for line in out.splitlines() if line.startswith("inch.nc:")]
    assert told in "\n".join(problems)
    assert " mm" not in "\n".join(problems)


def test_an_inch_program_is_held_against_its_drawing_in_inches(run, shop):
    (shop / "inch.nc").write_text("M5\nG20 G90 G94 G54\nG0 Z0.2\nG0 X3 Y3\nG1 Z0 F20\nG1 X5 Y3 F30\nG0 Z0.2\nM2\n")
    code, out, _ = run("inch.nc", "--against", "panel.svg")
    assert code == 1
    assert "draws 2.000 in that is not in the drawing [extra]" in out
    assert "stroke 2: 6.299 in of it is not drawn [missing]" in out
    assert "2.000 in extra" in out
    figures = json.loads(run("inch.nc", "--against", "panel.svg", "--json")[1])
    assert figures["extra_mm"] == pytest.approx(50.8, abs=0.01)


def test_figures_as_json_have_the_agreed_names(run):
    code, out, err = run("panel.nc", "--job", "panel.toml", "--json")
    figures = json.loads(out)
    assert code == 0
    assert err == ""
    due = {"ok", "problems", "drawn_mm", "travel_mm", "lifts", "swaps", "seconds", "bounds_mm", "blocks", "arcs"}
    assert due <= set(figures)
    assert figures["ok"] is True
    assert figures["drawn_mm"] == pytest.approx(100 + 20 * np.pi + 160, abs=1e-3)
    assert figures["bounds_mm"] == [20, 50, 180, 200]
    assert (figures["lifts"], figures["swaps"], figures["arcs"], figures["blocks"]) == (2, 0, 1, 16)


def test_against_a_drawing_it_says_how_far_off_and_what_is_missing_or_extra(run):
    code, out, _ = run("panel.nc", "--against", "panel.svg", "--json")
    figures = json.loads(out)
    assert code == 0
    assert figures["deviation_mm"] < 0.02
    assert figures["missing_mm"] == figures["extra_mm"] == 0


@pytest.mark.parametrize("recorded", [True, False])
def test_a_program_is_held_to_the_tolerance_and_the_holder_that_it_was_written_with(run, shop, recorded):
    """A drawing has them on record; what is typed in goes before them."""
    drawing = read_drawing((shop / "panel.svg").read_bytes())
    record = WrittenProgram("panel.nc", (WrittenLoad("outline", 1, 2, 9.0),), 9.0, "rs274", digest=drawing.digest)
    record = replace(record, tolerance=0.1, holder="clamp") if recorded else record
    (shop / "panel.svg").write_bytes(write_drawing(drawing.replace(programs=(record,))))
    strays = PROGRAM.replace("X180 Y200 F762", "X180 Y200.07 F762").replace("Z-1.5", "Z0")  # a clamp is rigid
    asked = ("--tolerance", "0.1 mm", "--holder", "clamp")
    clamp = Registry.installed().holder("clamp")
    strays = strays.replace("G0 Z5", f"G0 Z{clamp.lift:g}").replace("F600", f"F{60 * clamp.touch_speed:g}")
    (shop / "panel.nc").write_text(strays)
    code, out, _ = run("panel.nc", "--against", "panel.svg", *asked)
    assert code == 0, out
    code, out, _ = run("panel.nc", "--against", "panel.svg")
    assert code == (0 if recorded else 1), out
    assert run("panel.nc", "--against", "panel.svg", "--tolerance", "0.02 mm")[0] == 1
    assert run("panel.nc", "--against", "panel.svg", "--holder", "collet")[0] == 1


def test_part_of_a_drawing_can_be_asked_for(run):
    code, out, _ = run("panel.nc", "--against", "panel.svg", "--to", "1", "--json")
    assert code == 1
    assert json.loads(out)["extra_mm"] == pytest.approx(160, abs=0.1)
    code, _, err = run("panel.nc", "--against", "panel.svg", "--from", "3")
    assert code == 1 and "--from 3: the drawing has 2 strokes" in err
    code, _, err = run("panel.nc", "--against", "panel.svg", "--from", "2", "--to", "1")
    assert code == 1 and "--from 2 lies after --to 1" in err
    assert run("panel.nc", "--from", "1")[0] == 2


def test_which_part_of_a_drawing_it_draws_is_read_from_its_header(run, shop):
    first = PROGRAM.replace("(two strokes)", "(panel, 1 strokes [1 to 1 of 2], 0.2 m)")
    first = first.replace("G0 X20 Y200\nG1 Z-1.5 F600\nG1 X180 Y200 F762\nG0 Z5\n", "")
    (shop / "panel.nc").write_text(first)
    assert run("panel.nc", "--against", "panel.svg")[0] == 0
    assert run("panel.nc", "--against", "panel.svg", "--to", "2")[0] == 1
    (shop / "panel.nc").write_text(first.replace("(panel, 1", "(panel, some"))
    assert "stroke 2: 160.00 mm of it is not drawn" in run("panel.nc", "--against", "panel.svg")[1]


@pytest.mark.parametrize(
    ("old", "new", "line", "code"),
    [
        ("M5 M9", "M3 M9", 2, "spindle"),
        ("G0 X20 Y200", "G0 X2000 Y200", 12, "outside-reach"),
        ("G2 X150", "G0 X150", 10, "rapid-down"),
        ("F762\nG0", "F7620\nG0", 14, "too-fast"),
        ("G1 X180 Y200", "G1 X280 Y200", 14, "outside-image"),
    ],
)
def test_each_change_for_the_worse_is_named_with_its_line(run, shop, old, new, line, code):
    assert old in PROGRAM
    (shop / "panel.nc").write_text(PROGRAM.replace(old, new))
    exit_code, out, _ = run("panel.nc", "--job", "panel.toml", "--json")
    figures = json.loads(out)
    assert exit_code == 1
    assert figures["ok"] is False
    assert (line, code) in {(item["line"], item["code"]) for item in figures["problems"]}
    assert f"panel.nc:{line}: " in run("panel.nc", "--job", "panel.toml")[1]


def test_without_a_job_it_checks_what_a_program_alone_can_show(run, shop):
    (shop / "panel.nc").write_text(PROGRAM.replace("G0 X20 Y200", "G0 X2000 Y200").replace("F762", "F7620"))
    assert run("panel.nc")[0] == 0
    (shop / "panel.nc").write_text(PROGRAM.replace("M5 M9", "M4"))
    assert run("panel.nc")[0] == 1


def test_the_stroke_at_a_time_is_named(run):
    figures = json.loads(run("panel.nc", "--against", "panel.svg", "--at", "0:05", "--json")[1])
    assert figures["at"]["stroke"] == 1
    assert "stroke 2 of the drawing" in run("panel.nc", "--against", "panel.svg", "--at", "0:25")[1]
    assert "nothing more" in run("panel.nc", "--at", "1:00:00")[1]


@pytest.mark.parametrize("time", ["soon", "1:75", "-3", "1:2:3:4", "", "nan"])
def test_a_time_that_is_none_is_refused(run, time):
    code, _, err = run("panel.nc", "--at", time)
    assert code == 2
    assert "14:30" in err or "time" in err


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["nowhere.nc"], 2, "nowhere.nc"),
        (["panel.svg"], 2, "no program"),
        (["panel.nc", "--job", "nowhere.toml"], 2, "nowhere.toml"),
        (["panel.nc", "--against", "panel.toml"], 2, "panel.toml"),
        (["panel.nc", "--against", "panel.svg", "--tolerance", "3"], 2, "unit"),
        (["panel.nc", "--against", "panel.svg", "--tolerance", "0 mm"], 2, "above 0"),
        ([], 2, "PROGRAM"),
    ],
)
def test_wrong_input_is_one_line(run, arguments, code, said):
    found, out, err = run(*arguments)
    assert found == code
    assert said in err
    assert out == ""
    assert len(err.strip().splitlines()) == 1


def test_shapes_are_no_strokes_to_compare_with(run, shop):
    text = (shop / "panel.svg").read_text().replace('fill="none"', 'fill="#ffffff"')
    (shop / "shapes.svg").write_text(text)
    code, _, err = run("panel.nc", "--against", "shapes.svg")
    assert code == 1
    assert "strokes" in err


def test_a_program_comes_from_standard_input_too(run, monkeypatch):
    import io
    import sys

    class Piped:
        buffer = io.BytesIO(PROGRAM.encode())

    monkeypatch.setattr(sys, "stdin", Piped())
    assert run("-")[0] == 0
