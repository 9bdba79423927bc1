"""The example distribution, installed as a studio would install it, draws a whole job in its own dialect."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

EXAMPLE = Path(__file__).parents[2] / "plugins" / "example_controller"
pytestmark = pytest.mark.slow
JOB = Path(__file__).parents[2] / "fixtures" / "moonflower" / "moonflower.toml"


@pytest.fixture(scope="module")
def studio(fresh_environment: Any) -> Any:
    """An environment with the example installed from its folder."""
    done = fresh_environment.shell(f"python -m pip install --quiet '{EXAMPLE}'", EXAMPLE)
    assert done.returncode == 0, done.stderr
    yield fresh_environment
    fresh_environment.shell("python -m pip uninstall --quiet --yes example-controller", EXAMPLE)


@pytest.fixture(scope="module")
def panel(studio: Any, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample job with the example's controller, and what `run` made of it."""
    folder = tmp_path_factory.mktemp("panel")
    text = JOB.read_text()
    text = re.sub(r"(?m)^controller = .*$\n?", "", text)
    text = re.sub(r"(?m)^units = .*$\n?", "", text)
    text = text.replace("[machine]\n", '[machine]\ncontroller = "servo-lift"\n')
    (folder / "panel.toml").write_text(text)
    (folder / "moonflower.svg").write_bytes((JOB.parent / "moonflower.svg").read_bytes())
    done = studio.shell("underdraw run panel.toml", folder)
    assert done.returncode == 0, done.stderr
    return folder / "panel"


def test_it_is_listed_with_its_distribution_and_version(studio: Any, tmp_path: Path) -> None:
    told = json.loads(studio.shell("underdraw plugins --json", tmp_path).stdout)
    (plugin,) = [plugin for plugin in told["plugins"] if plugin["name"] == "example-controller"]
    assert (plugin["distribution"], plugin["version"]) == ("example-controller", "1.0.0")
    assert plugin["brings"] == {"controller": ["servo-lift"]}
    assert not any(plugin["failures"] for plugin in told["plugins"])


def test_its_own_tests_pass_where_it_is_installed(studio: Any, tmp_path: Path) -> None:
    done = studio.shell(f"python -m pytest -q -p no:cacheprovider '{EXAMPLE}/tests'", tmp_path)
    assert done.returncode == 0, done.stdout


def test_its_program_moves_by_steps_lifts_by_a_servo_and_knows_no_arc(panel: Path) -> None:
    (program,) = panel.glob("*.prg")
    lines = program.read_text().splitlines()
    codes = {word for line in lines for word in line.split() if word[0] in "GM"}
    assert codes == {"M5", "G21", "G90", "G94", "G91", "G0", "G1", "G4", "M90", "M91", "M92", "M2"}
    assert lines.index("G91") < 12
    assert not any(line.startswith("Z") or " Z" in line for line in lines)
    assert max(map(len, lines)) <= 60


def test_the_check_reads_it_with_the_job_and_finds_the_drawing_in_it(studio: Any, panel: Path) -> None:
    (program,) = panel.glob("*.prg")
    (drawing,) = panel.glob("*-drawing.svg")
    done = studio.shell(f"underdraw check '{program}' --against '{drawing}' --json", panel)
    assert done.returncode == 0, done.stdout + done.stderr
    told = json.loads(done.stdout)
    assert told["ok"]
    assert (told["missing_mm"], told["extra_mm"], told["arcs"]) == (0, 0, 0)
    assert told["deviation_mm"] <= 0.02
    assert told["swaps"] >= 1


def test_a_step_that_is_off_is_found_in_it(studio: Any, panel: Path, tmp_path: Path) -> None:
    (program,) = panel.glob("*.prg")
    (drawing,) = panel.glob("*-drawing.svg")
    lines = program.read_text().splitlines()
    at = [index for index, line in enumerate(lines) if line.startswith("G1 X")][40]
    lines[at] = re.sub(r"X-?[\d.]+", "X7.5", lines[at])
    (tmp_path / "bent.prg").write_text("\n".join(lines) + "\n")
    done = studio.shell(f"underdraw check bent.prg --against '{drawing}' --json", tmp_path)
    assert done.returncode == 1
    told = json.loads(done.stdout)
    assert not told["ok"]
    assert told["missing_mm"] > 1


def test_inches_are_refused_since_the_machine_does_not_know_them(studio: Any, panel: Path) -> None:
    (drawing,) = panel.glob("*-drawing.svg")
    done = studio.shell(f"underdraw gcode -i '{drawing}' --units in -o inches.prg", panel)
    assert done.returncode == 1
    assert "controller 'servo-lift' does not write programs in in; use mm" in done.stderr
    assert not (panel / "inches.prg").exists()
