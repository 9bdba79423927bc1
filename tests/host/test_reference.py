"""The references of commands and of hooks are what the code says."""

import ast
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from underdraw.cli import commands
from underdraw.cli.reference import COMMANDS_FILE, HOOKS_FILE, main, own_app, references
from underdraw.job.settings import statements
from underdraw.plugins import hookspecs
from underdraw.plugins.public import PUBLIC_MODULES

PROJECT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def held() -> dict[str, str]:
    return references(own_app())


@pytest.mark.parametrize("name", [COMMANDS_FILE, HOOKS_FILE])
def test_the_reference_is_not_stale(held: dict[str, str], name: str) -> None:
    assert (PROJECT / name).read_text() == held[name], "run: python -m underdraw.cli.reference"


def test_every_command_stage_and_setting_is_in_it(held: dict[str, str]) -> None:
    text = held[COMMANDS_FILE]
    registry = own_app().registry
    for name in (*commands.NAMES, *registry.stages):
        assert re.search(rf"### `underdraw {name}[` ]", text), name
    for stage in registry.stages.values():
        section = text.partition(f"### `underdraw {stage.name}")[2].partition("\n### ")[0]
        for name, statement in statements(stage.settings).items():
            assert f"`{name}`" in section, (stage.name, name)
            assert statement.help.rstrip(".").replace("|", "\\|")[1:] in section, (stage.name, name)
            assert statement.argument or f"--{name}" in section
            assert statement.job_key is None or f"`{statement.job_key}`" in section


def test_every_hook_is_in_it_with_what_it_brings(held: dict[str, str]) -> None:
    text = held[HOOKS_FILE]
    for name, function in vars(hookspecs).items():
        if hasattr(function, "underdraw_spec"):
            assert f"`{name}()`" in text
            assert (function.__doc__ or "?").strip().splitlines()[0] in text
    for kind in ("Stage", "Controller", "Holder", "Ink", "CanvasSize", "Context", "Result", "File", "Drawing"):
        assert f"## `{kind}`" in text
    for field in ("rank", "longest_line", "meanings", "wants_spring", "touch_speed", "listing"):
        assert f"`{field}`" in text


def test_its_tables_have_as_many_cells_in_each_row(held: dict[str, str]) -> None:
    for text in held.values():
        for table in re.findall(r"(?:^\|.*\n?)+", text, re.M):
            counts = {len(re.findall(r"(?<!\\)\|", row)) for row in table.strip().splitlines()}
            assert len(counts) == 1, table


def copied(folder: Path) -> None:
    """Both references as they stand, in a folder like the project's."""
    for name in (COMMANDS_FILE, HOOKS_FILE):
        (folder / name).parent.mkdir(exist_ok=True)
        shutil.copy(PROJECT / name, folder / name)


def test_a_stale_one_is_told_and_written_anew(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    copied(tmp_path)
    main(tmp_path, check=False)
    file = tmp_path / COMMANDS_FILE
    fresh = file.read_text()
    file.write_text(fresh.replace("# Commands", "# Some commands"))
    capsys.readouterr()
    assert main(tmp_path, check=True) == 1
    assert capsys.readouterr().out == f"stale: {COMMANDS_FILE}\n"
    assert file.read_text() != fresh
    assert main(tmp_path, check=False) == 0
    assert file.read_text() == fresh
    assert main(tmp_path, check=True) == 0
    file.unlink()
    assert main(tmp_path, check=True) == 1


def test_it_can_be_run_as_a_module(tmp_path: Path) -> None:
    copied(tmp_path)
    command = [sys.executable, "-m", "underdraw.cli.reference"]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True)
    done = subprocess.run([*command, "--check"], cwd=tmp_path, check=True, capture_output=True, text=True)
    assert done.stdout == "both references agree with the code\n"


def test_the_built_in_plugins_import_no_module_that_is_not_public() -> None:
    plugins = [PROJECT / "plugins" / name for name in ("underdraw_stages", "underdraw_studio", "example_controller")]
    used: dict[str, set[str]] = {}
    for path in (path for folder in plugins for path in folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] == "underdraw":
                used.setdefault(node.module or "", set()).add(path.name)
            elif isinstance(node, ast.Import):
                for alias in node.names:
                    if alias.name.partition(".")[0] == "underdraw":
                        used.setdefault(alias.name, set()).add(path.name)
    assert {module: files for module, files in used.items() if module not in PUBLIC_MODULES} == {}
    assert [module for module in PUBLIC_MODULES if module not in used] == []  # and nothing is promised that none needs
    assert (PROJECT / "pipeline" / "underdraw" / "py.typed").exists()
