"""`underdraw plugins`, and what a person sees when a plugin is at fault."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from commands import process, underdraw

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.sections import Job

MINE = """\
from dataclasses import dataclass
from underdraw import Controller, Drawing, File, Job, Result, Stage, hookimpl, setting
from underdraw.job.settings import Length, Text

class Loose(Controller):
    def end(self):
        return [self.decimals["furlong"]]

def garden(drawing, settings, context):
    print("sowing")
    job = context.job or Job()
    return Result(Drawing.build([[[(0, 0), (5, 0)]]], (10, 10), job, marker="outline"))

def write(drawing, settings, context):
    controller = context.registry.controller(drawing.job.machine.controller)
    return Result(drawing, files=(File(".txt", "\\n".join(controller.end()).encode()),))

def text(drawing, settings, context):
    return Result(drawing, files=(File(".txt", "a text"),))

@dataclass(frozen=True)
class Late:
    when: float = setting(Length(), "at dusk", "a default that is no length")

class Colourless(Text):
    def read(self, raw):
        return self.shades[raw]

@dataclass(frozen=True)
class Pale:
    shade: str = setting(Colourless(), None, "a kind that is broken")

def leave(drawing, settings, context):
    raise SystemExit(0)

@hookimpl
def underdraw_stages():
    return [
        Stage("garden", "Sow.", garden, kind="source"),
        Stage("write", "Write.", write, kind="writer"),
        Stage("leave", "Go home.", leave),
        Stage("text", "Write a text.", text, kind="writer"),
        Stage("lost", "Be nowhere.", "no_such_module:work"),
        Stage("late", "Come late.", leave, Late),
        Stage("pale", "Be pale.", leave, Pale),
    ]
"""
CONTROLLER = """\
from underdraw import Controller, hookimpl

class Loose(Controller):
    def end(self):
        return [self.decimals["furlong"]]

@hookimpl
def underdraw_controllers():
    return [Loose("loose", "an invented one")]
"""


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    (tmp_path / "mine.py").write_text(MINE)
    return tmp_path / "mine.py"


@pytest.fixture
def loose(tmp_path: Path) -> Path:
    (tmp_path / "loose.py").write_text(CONTROLLER)
    return tmp_path / "loose.py"


def test_the_list_tells_name_distribution_version_and_what_each_brings(mine: Path) -> None:
    shown = underdraw("--plugin", mine, "plugins").stdout.decode().splitlines()
    (line,) = [line for line in shown if line.startswith("mine.py")]
    assert " ".join(line.split()) == f"mine.py {mine} stage: garden, write, leave, text, lost, late, pale"
    told = json.loads(underdraw("--plugin", mine, "plugins", "--json").stdout)
    assert told["hooks_version"] == 2
    by_name = {plugin["name"]: plugin for plugin in told["plugins"]}
    assert by_name["mine.py"]["brings"] == {"stage": ["garden", "write", "leave", "text", "lost", "late", "pale"]}
    assert by_name["import"]["distribution"] == "underdraw"
    assert by_name["import"]["version"]


def test_the_list_tells_what_failed_and_why_and_debug_shows_the_rest(tmp_path: Path) -> None:
    folder = tmp_path / "night_parts-1.0.dist-info"
    folder.mkdir()
    (folder / "METADATA").write_text("Name: night-parts\nVersion: 1.0\n")
    (folder / "entry_points.txt").write_text("[underdraw]\nmoth = night_parts\n")
    (tmp_path / "night_parts.py").write_text("raise RuntimeError('no moon')\n")
    path = os.pathsep.join([str(tmp_path), os.environ.get("PYTHONPATH", "")])
    command = [sys.executable, "-m", "underdraw", "plugins"]
    done = subprocess.run(command, capture_output=True, env={**os.environ, "PYTHONPATH": path}, check=True)
    assert "failed to load: RuntimeError: no moon" in done.stdout.decode()
    assert b"Traceback" not in done.stderr
    done = subprocess.run(
        [*command, "--debug"], capture_output=True, env={**os.environ, "PYTHONPATH": path}, check=True
    )
    assert "night_parts.py" in done.stderr.decode()
    assert "Traceback" in done.stderr.decode()


def test_a_controllers_fault_names_the_controllers_plugin_not_the_stage_that_called_it(mine: Path, loose: Path) -> None:
    data = {"machine": {"controller": "loose"}}
    drawing = write_drawing(Drawing.build([], (10, 10), job_from_data(data, "panel")))
    done = underdraw("--plugin", mine, "--plugin", loose, "write", "-o", "-", stdin=drawing)
    line = done.stderr.decode().splitlines()[-1]
    assert done.returncode == 1
    assert f"plugin loose.py ({loose}), called by stage 'write', raised KeyError: 'furlong'; --debug shows" in line


def test_a_drawing_loads_no_plugin_but_its_reader_is_told_what_would(mine: Path, loose: Path, tmp_path: Path) -> None:
    ran = tmp_path / "ran"
    loose.write_text(f"open({str(ran)!r}, 'w').close()\n" + CONTROLLER)
    data = {"machine": {"controller": "loose"}, "stages": {"plugins": [str(loose)]}}
    drawing = write_drawing(Drawing.build([], (10, 10), job_from_data(data, "panel")))
    done = underdraw("--plugin", mine, "write", "-o", "-", stdin=drawing)
    line = done.stderr.decode().splitlines()[-1]
    assert done.returncode == 2
    assert "there is no controller 'loose'" in line
    assert f"underdraw --plugin {loose} … would load them" in line
    assert not ran.exists()


def test_a_name_that_two_plugins_bring_is_refused_with_both_named_and_the_rest_works(mine: Path) -> None:
    other = mine.with_name("other.py")
    other.write_text(MINE.replace('Stage("garden"', 'Stage("meadow"'))
    both = ("--plugin", mine, "--plugin", other)
    drawing = underdraw(*both, "meadow").stdout
    assert len(read_drawing(drawing)) == 1
    done = underdraw(*both, "leave", stdin=drawing)
    assert done.returncode == 2
    told = f"stage 'leave' is brought by mine.py ({mine}) and other.py ({other}); one of them has to go"
    first, _, last = done.stderr.decode().splitlines()[-1].partition(" … ")  # paths as long as these are cut
    assert f"underdraw: {told}".startswith(first)
    assert told.endswith(last)
    (mine.parent / "panel.toml").write_text('[stages]\nchain = ["garden", "leave"]\n')
    done = underdraw(*both, "run", mine.parent / "panel.toml")
    assert done.returncode == 2
    assert f"panel.toml:2: [stages] {told[:30]}" in done.stderr.decode()


def test_a_library_that_warns_programmers_does_not_bother_the_painter(mine: Path) -> None:
    mine.write_text(MINE.replace('print("sowing")', "import warnings; warnings.warn('deprecated')"))
    assert b"deprecated" not in underdraw("--plugin", mine, "garden").stderr
    command = [sys.executable, "-W", "default", "-m", "underdraw", "--plugin", str(mine), "garden"]
    assert b"deprecated" in subprocess.run(command, capture_output=True, check=True, env=os.environ).stderr


def test_what_a_stage_prints_stays_out_of_the_drawing(mine: Path) -> None:
    done = process("--plugin", mine, "garden")
    assert len(read_drawing(done.stdout)) == 1
    assert done.stderr.endswith(b"sowing\n")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["text", "-o", "-"], "stage 'text' (plugin mine.py, {mine}) gave back a file that is not a File of bytes"),
        (
            ["lost"],
            "stage 'lost' (plugin mine.py, {mine}): cannot load 'no_such_module:work': No module named 'no_such",
        ),
        (["pale", "--shade", "grey"], "plugin mine.py ({mine}) raised AttributeError: 'Colourless' object has no"),
        (["late"], "stage 'late': a default of its settings cannot be read: ValueError: expected a length"),
    ],
)
def test_what_a_stage_does_wrong_is_one_line_with_its_name(mine: Path, words: list[str], told: str) -> None:
    done = underdraw("--plugin", mine, *words, stdin=write_drawing(Drawing.build([], (10, 10), Job())))
    assert done.returncode == 1
    assert done.stdout == b""
    assert told.format(mine=mine) in done.stderr.decode().splitlines()[-1]


def test_a_stage_that_ends_the_process_is_told_so(mine: Path) -> None:
    drawing = write_drawing(Drawing.build([], (10, 10), Job()))
    done = process("--plugin", mine, "leave", stdin=drawing)
    assert done.returncode == 1
    assert b"stage 'leave' (plugin mine.py" in done.stderr
    assert b"raised SystemExit: 0" in done.stderr


def test_a_job_that_names_a_plugin_that_is_not_there_says_so_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "panel.toml").write_text('[stages]\n\nplugins = ["./moth.py"]\n')
    done = underdraw("run", tmp_path / "panel.toml")
    assert done.returncode == 2
    assert f"panel.toml:3: [stages] plugin {tmp_path}/moth.py: there is no such file" in done.stderr.decode()


def test_a_studios_file_that_fails_is_told_and_the_rest_goes_on(
    mine: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "broken.py").write_text("raise RuntimeError('no moon')")
    files = [tmp_path / "broken.py", tmp_path / "moth.py", mine]
    monkeypatch.setenv("UNDERDRAW_PLUGINS", os.pathsep.join(map(str, files)))
    done = underdraw("garden")
    assert done.returncode == 0
    assert len(read_drawing(done.stdout)) == 1
    told = done.stderr.decode()
    assert f"warning: plugin broken.py ({tmp_path}/broken.py): failed to load: RuntimeError: no moon" in told
    assert f"warning: plugin moth.py ({tmp_path}/moth.py): there is no such file" in told
    assert "failed to load: RuntimeError: no moon" in underdraw("plugins").stdout.decode()


def test_a_file_of_the_command_line_that_fails_ends_the_command(tmp_path: Path) -> None:
    (tmp_path / "broken.py").write_text("raise RuntimeError('no moon')")
    for name, code in (("broken.py", 1), ("moth.py", 2)):
        done = underdraw("--plugin", tmp_path / name, "plugins")
        assert done.returncode == code
        assert done.stderr.decode().startswith(f"underdraw: plugin {tmp_path}/{name}: ")
        assert len(done.stderr.splitlines()) == 1
