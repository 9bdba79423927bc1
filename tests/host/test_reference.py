"""The references in README.md and DEVELOPERS.md are what the code says."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from underdraw.cli import commands
from underdraw.cli.reference import MARKERS, main, own_app, put_between_markers, references
from underdraw.errors import CannotDo
from underdraw.job.settings import statements
from underdraw.plugins import hookspecs

PROJECT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def held() -> dict[str, str]:
    return references(own_app())


@pytest.mark.parametrize("name", MARKERS)
def test_the_reference_is_not_stale(held: dict[str, str], name: str) -> None:
    text = (PROJECT / name).read_text()
    after = put_between_markers(text, MARKERS[name], held[name], PROJECT / name)
    assert text == after, "run: python -m underdraw.cli.reference"


def test_every_command_stage_and_setting_is_in_it(held: dict[str, str]) -> None:
    text = held["README.md"]
    registry = own_app().registry
    for name in (*commands.NAMES, *registry.stages):
        assert re.search(rf"#### `underdraw {name}[` ]", text), name
    for stage in registry.stages.values():
        section = text.partition(f"#### `underdraw {stage.name}")[2].partition("\n#### ")[0]
        for name, statement in statements(stage.settings).items():
            assert f"`{name}`" in section, (stage.name, name)
            assert statement.help.rstrip(".").replace("|", "\\|")[1:] in section, (stage.name, name)
            assert statement.argument or f"--{name}" in section
            assert statement.job_key is None or f"`{statement.job_key}`" in section


def test_every_hook_is_in_it_with_what_it_brings(held: dict[str, str]) -> None:
    text = held["DEVELOPERS.md"]
    for name, function in vars(hookspecs).items():
        if hasattr(function, "underdraw_spec"):
            assert f"`{name}()`" in text
            assert (function.__doc__ or "?").strip().splitlines()[0] in text
    for kind in ("Stage", "Controller", "Holder", "Ink", "CanvasSize", "Context", "Result", "File", "Drawing"):
        assert f"### `{kind}`" in text
    for field in ("rank", "longest_line", "meanings", "wants_spring", "touch_speed", "listing"):
        assert f"`{field}`" in text


def test_its_tables_have_as_many_cells_in_each_row(held: dict[str, str]) -> None:
    for text in held.values():
        for table in re.findall(r"(?:^\|.*\n?)+", text, re.M):
            counts = {len(re.findall(r"(?<!\\)\|", row)) for row in table.strip().splitlines()}
            assert len(counts) == 1, table


def test_a_stale_one_is_told_and_written_anew(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in MARKERS:
        shutil.copy(PROJECT / name, tmp_path)
    main(tmp_path, check=False)
    readme = tmp_path / "README.md"
    fresh = readme.read_text()
    readme.write_text(fresh.replace("## Every command", "## Some commands"))
    capsys.readouterr()
    assert main(tmp_path, check=True) == 1
    assert capsys.readouterr().out == "stale: README.md\n"
    assert readme.read_text() != fresh
    assert main(tmp_path, check=False) == 0
    assert readme.read_text() == fresh
    assert main(tmp_path, check=True) == 0


def test_missing_markers_are_told(tmp_path: Path) -> None:
    with pytest.raises(CannotDo, match="reference: begin"):
        put_between_markers("no markers", "reference", "text", tmp_path / "README.md")


def test_it_can_be_run_as_a_module(tmp_path: Path) -> None:
    for name in MARKERS:
        shutil.copy(PROJECT / name, tmp_path)
    command = [sys.executable, "-m", "underdraw.cli.reference"]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True)
    done = subprocess.run([*command, "--check"], cwd=tmp_path, check=True, capture_output=True, text=True)
    assert done.stdout == "both references are as the code says\n"
