"""A stage of one's own between `tidy` and `order`: in the shell, by the environment and in `run`, to the same bytes."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from underdraw.drawing.wire import read_drawing

MINE = """\
from dataclasses import dataclass
from underdraw import Result, Stage, hookimpl, setting
from underdraw.job.settings import Length

@dataclass(frozen=True)
class ShortestSettings:
    shortest: float = setting(Length(), "1 mm", "strokes shorter than this are left out")

def keep_long(drawing, settings, context):
    kept = drawing.shape_lengths() >= settings.shortest
    return Result(drawing.select(kept), {"left_out": int((~kept).sum())}, f"{int((~kept).sum())} left out")

@hookimpl
def underdraw_stages():
    return [Stage("keep-long", "Leave short strokes out.", keep_long, ShortestSettings)]
"""
ARTWORK = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">
<g stroke="#1b1b3a" stroke-width="0.7" fill="none">
<path d="M10 50 C20 10 40 10 45 30"/><path d="M50 10 L75 10 L62 30 Z"/>
<path d="M60 50 L63 50"/><path d="M70 50 L72 50"/>
</g></svg>"""
JOB = """\
[artwork]
file = "moth.svg"
[canvas]
face = "80 x 60 mm"
mount = "stretched"
[stages]
plugins = ["./mine.py"]
chain = ["import", "fit", "wrap", "tidy", "keep-long", "order", "gcode"]
keep-long = { shortest = "5 mm" }
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    for name, text in (("mine.py", MINE), ("moth.svg", ARTWORK), ("panel.toml", JOB)):
        (tmp_path / name).write_text(text)
    return tmp_path


def shell(command: str, where: Path, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run a line of bash, `ud` standing for the command; every stage of a pipe must succeed."""
    ud = f"ud() {{ '{sys.executable}' -m underdraw --quiet \"$@\"; }}"
    return subprocess.run(
        ["bash", "-o", "pipefail", "-c", f"{ud}\n{command}"],
        cwd=where, env={**os.environ, **variables}, capture_output=True, text=True, check=False,
    )  # fmt: skip


@pytest.fixture
def by_run(studio: Path) -> tuple[bytes, bytes]:
    """Program and drawing as `run` writes them."""
    done = shell("ud run panel.toml", studio)
    assert done.returncode == 0, done.stderr
    return (studio / "panel" / "panel.nc").read_bytes(), (studio / "panel" / "panel-drawing.svg").read_bytes()


def test_run_takes_it_from_the_jobs_file_with_the_jobs_settings(by_run: tuple[bytes, bytes]) -> None:
    drawing = read_drawing(by_run[1])
    stages = [record.stage for record in drawing.history]
    assert stages[stages.index("tidy") : stages.index("order") + 1] == ["tidy", "keep-long", "order"]
    record = next((record for record in drawing.history if record.stage == "keep-long"), None)
    assert record is not None
    assert (record.settings, record.figures) == ({"shortest": 5.0}, {"left_out": 2})
    assert len(drawing) == 2


@pytest.mark.slow
@pytest.mark.parametrize("every_command", [True, False], ids=["--plugin on each that needs it", "$UNDERDRAW_PLUGINS"])
def test_the_shell_chain_gives_the_same_bytes_as_run(
    studio: Path, by_run: tuple[bytes, bytes], every_command: bool
) -> None:
    mine = "--plugin ./mine.py" if every_command else ""
    variables = {} if every_command else {"UNDERDRAW_PLUGINS": "./mine.py"}
    done = shell(
        "ud import --job panel.toml | ud fit | ud wrap | ud tidy |"
        f"ud {mine} keep-long | ud order | ud gcode -o panel.nc > a.svg",
        studio,
        **variables,
    )
    assert done.returncode == 0, done.stderr
    assert (studio / "panel.nc").read_bytes() == by_run[0]
    assert (studio / "a.svg").read_bytes() == by_run[1]


def test_an_option_goes_before_the_job(studio: Path) -> None:
    done = shell(
        "ud import --job panel.toml | ud fit | ud wrap | ud tidy | ud --plugin mine.py keep-long --shortest 1mm", studio
    )
    assert len(read_drawing(done.stdout.encode())) == 4


def test_the_stage_alone_without_its_file_says_which_option_loads_it(studio: Path) -> None:
    done = shell("ud import --job panel.toml > a.svg && ud keep-long -i a.svg", studio)
    assert done.returncode == 2
    assert "there is no command 'keep-long'" in done.stderr
    assert "--plugin FILE" in done.stderr


def test_help_of_it_is_like_any_other(studio: Path) -> None:
    shown = shell("ud --plugin mine.py keep-long --help", studio).stdout
    assert "--shortest LENGTH" in shown
    assert "Strokes shorter than this are left out [default: 1 mm]." in shown
    assert "--input FILE" in shown


def test_the_check_holds_its_program_against_its_drawing(studio: Path, by_run: tuple[bytes, bytes]) -> None:
    done = shell("ud check panel/panel.nc --against panel/panel-drawing.svg --json", studio)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert (told["ok"], told["strokes"], told["missing_mm"], told["extra_mm"]) == (True, 2, 0, 0)
