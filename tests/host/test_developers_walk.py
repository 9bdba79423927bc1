"""DEVELOPERS.md, typed as it stands: from nothing to a checked program with a controller and a stage of one's own."""

import re
import textwrap
import time
from pathlib import Path
from typing import Any

import pytest

TEXT = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text()
pytestmark = pytest.mark.slow
CONTROLLER, STAGE = "A controller of your own", "A stage of your own"


def blocks(section: str) -> list[str]:
    """The sh blocks below a heading, as a person would type them, one after the other."""
    found = re.search(rf"^## {section}\n(.*?)(?=^## )", TEXT, re.M | re.S)
    assert found is not None, section
    return [textwrap.dedent(block).strip() for block in re.findall(r"^ *```sh\n(.*?)^ *```$", found[1], re.M | re.S)]


class Walk:
    """What was typed so far, in one folder of one environment."""

    def __init__(self, environment: Any, folder: Path) -> None:
        self.environment = environment
        self.folder = folder
        self.shown: dict[str, str] = {}
        self.seconds = 0.0

    def through(self, section: str) -> None:
        for block in blocks(section):
            begun = time.monotonic()
            done = self.environment.shell(block, self.folder)
            self.seconds += time.monotonic() - begun
            assert done.returncode == 0, f"{block}\n{done.stdout}\n{done.stderr}"
            assert "Traceback" not in done.stderr
            self.shown[block] = done.stdout + done.stderr

    def told(self, word: str) -> str:
        """What the last block that holds a word showed."""
        return [shown for block, shown in self.shown.items() if word in block][-1]


@pytest.fixture(scope="module")
def walk(fresh_environment: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    made = Walk(fresh_environment, tmp_path_factory.mktemp("walk"))
    made.through(CONTROLLER)
    print(f"\n{CONTROLLER}: {sum(len(b.splitlines()) for b in blocks(CONTROLLER))} lines typed, {made.seconds:.0f} s")
    made.through(STAGE)
    yield made
    fresh_environment.shell("python -m pip uninstall --quiet --yes my-router keep-long", made.folder)


def test_each_step_is_a_command_that_works(walk: Walk) -> None:
    assert len(blocks(CONTROLLER)) >= 6
    assert len(blocks(STAGE)) >= 5
    assert set(walk.shown) == {*blocks(CONTROLLER), *blocks(STAGE)}


def test_the_new_controller_is_installed_and_keeps_its_contract(walk: Walk) -> None:
    listed = walk.told("underdraw plugins")
    assert re.search(r"^my-router +my-router 0\.1\.0 +controller: my-router$", listed, re.M)
    assert re.search(r"^\d+ passed", walk.told("pytest -q my-router"), re.M)


def test_its_program_is_checked_and_obeys_what_was_said_of_the_machine(walk: Walk) -> None:
    program = walk.folder / "panel" / "moonflower" / "moonflower.nc"
    lines = program.read_text().splitlines()
    assert max(map(len, lines)) <= 60
    assert not any(re.search(r"\bG0?[23]\b", line) for line in lines)
    assert re.search(r"\bok\b", walk.told("moonflower-drawing.svg"))


def test_the_new_stage_stands_between_the_others_in_shell_and_job(walk: Walk) -> None:
    assert "--shortest LENGTH" in walk.told("keep-long --help")
    for drawing in ("long-drawing.svg", "long/moonflower-drawing.svg"):
        text = (walk.folder / drawing).read_text()
        stages = re.findall(r'"stage":"([\w-]+)"', text)
        assert stages[stages.index("tidy") : stages.index("order") + 1] == ["tidy", "keep-long", "order"]
    shell, job = (blocks_of(walk.folder / name) for name in ("long.nc", "long/moonflower.nc"))
    assert shell == job
    assert re.search(r"\bok\b", walk.told("long.nc --against"))


def blocks_of(program: Path) -> list[str]:
    """All but notes: the header names the job as it was when the drawing was made."""
    return [line for line in program.read_text().splitlines() if not line.startswith("(")]


def test_the_single_file_works_without_being_installed(walk: Walk) -> None:
    assert '"stage":"dew"' in (walk.folder / "dew-drawing.svg").read_text()
