"""A new plugin from `scaffold` works as it is written: its tests pass, its job runs, its name is its own."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from commands import underdraw

from underdraw.errors import InputError
from underdraw.plugins.registry import Registry
from underdraw.scaffold import KINDS, chain_with, check_name, plugin_files


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_a_new_distribution_has_what_it_takes_and_passes_its_own_tests(kind: str, tmp_path: Path) -> None:
    done = underdraw("scaffold", kind, "moon-vine", where=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout == b""
    folder = tmp_path / "moon-vine"
    assert {"README.md", "pyproject.toml", "src", "tests"} == {path.name for path in folder.iterdir()}
    project = tomllib.loads((folder / "pyproject.toml").read_text())
    assert project["project"]["entry-points"]["underdraw"] == {"moon-vine": "moon_vine"}
    readme = (folder / "README.md").read_text()
    commands = readme.split("```sh\n")[1].split("```")[0].strip().splitlines()
    assert len(commands) == 3
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(folder / "src"), os.environ.get("PYTHONPATH", "")])}
    (tmp_path / "pyproject.toml").write_text('[tool.pytest.ini_options]\naddopts = "--of-another-project"\n')
    tests = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", folder.name], cwd=tmp_path, env=environment,
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert tests.returncode == 0, tests.stdout
    assert " passed" in tests.stdout


@pytest.mark.parametrize("kind", KINDS)
def test_every_text_is_plain_to_read_and_keeps_to_the_width(kind: str, registry: Registry) -> None:
    for single in (False, True):
        for place, data in plugin_files(kind, "moon-vine", registry, single_file=single).items():
            text = data.decode()
            assert max(map(len, text.splitlines())) <= 120, place
            assert "{{" not in text
            assert "{%" not in text
            assert text.endswith("\n")
            assert not text.endswith("\n\n")
            if place.endswith(".py"):
                compile(text, place, "exec")


@pytest.mark.parametrize("kind", KINDS)
def test_a_single_file_brings_its_part_when_a_job_names_it(kind: str, tmp_path: Path) -> None:
    done = underdraw("scaffold", kind, "moon-vine", "--single-file", where=tmp_path)
    assert done.returncode == 0
    assert [path.name for path in tmp_path.iterdir()] == ["moon_vine.py"]
    registry = Registry()
    registry.load_file(tmp_path / "moon_vine.py")
    (plugin,) = registry.plugins
    assert plugin.brings == {kind: ["moon-vine"]}
    assert not plugin.faults


ARTWORK = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">
<path d="M10 50 C20 10 40 10 45 30" stroke="#1b1b3a" fill="none"/></svg>"""
JOB = """\
[artwork]
file = "moth.svg"
[canvas]
mount = "stretched"
[machine]
controller = "moon-vine"
[holder]
use = "corkscrew"
zero_with = "axis"
[stages]
plugins = ["./moon_vine.py", "parts/corkscrew.py"]
"""


def test_a_job_that_names_both_files_writes_a_checked_program_with_them(tmp_path: Path) -> None:
    underdraw("scaffold", "controller", "moon-vine", "--single-file", where=tmp_path)
    underdraw("scaffold", "holder", "corkscrew", "--single-file", "--into", "parts", where=tmp_path)
    holder = tmp_path / "parts" / "corkscrew.py"
    holder.write_text(holder.read_text().replace("offset=(0.0, 0.0)", "offset=(12.0, -3.0)"))
    (tmp_path / "moth.svg").write_text(ARTWORK)
    (tmp_path / "panel.toml").write_text(JOB)
    done = underdraw("run", "panel.toml", where=tmp_path)
    assert done.returncode == 0, done.stderr
    checked = underdraw("check", "panel/panel.nc", "--job", "panel.toml", where=tmp_path)
    assert checked.returncode == 0, checked.stdout
    program = (tmp_path / "panel" / "panel.nc").read_text()
    assert "controller moon-vine" in program
    assert (
        "X-2 Y13" in program
    )  # the stroke's first point, 10 mm right of the board's corner and 10 mm up, less the offset


def test_a_new_stage_stands_in_the_chain_before_the_last_step(registry: Registry) -> None:
    chain = chain_with("moon-vine", registry)
    ranked = registry.ranked_stages()
    steps = [stage.name for stage in ranked if stage.kind == "step"]
    assert [name for name in chain if name != "moon-vine"] == [stage.name for stage in ranked]
    assert chain[chain.index("moon-vine") + 1] == steps[-1]
    assert chain[chain.index("moon-vine") - 1] == steps[-2]
    (readme,) = [data for place, data in plugin_files("stage", "moon-vine", registry).items() if "README" in place]
    written = tomllib.loads(readme.decode().split("```toml\n")[1].split("```")[0])
    assert written["stages"]["chain"] == chain


@pytest.mark.parametrize("name", ["Moon", "moon vine", "9moon", "moon-", "moon--vine", "-moon", "møøn", "../moon", ""])
def test_a_name_that_cannot_be_a_package_is_refused(registry: Registry, name: str) -> None:
    with pytest.raises(InputError, match="cannot name a plugin"):
        check_name("stage", name, registry)


def test_a_name_that_is_taken_is_refused_and_its_owner_named(registry: Registry) -> None:
    for kind, parts in (("controller", registry.controllers), ("stage", registry.stages), ("holder", registry.holders)):
        taken = next(iter(parts))
        with pytest.raises(InputError, match=f"there is a {kind} '{taken}' already, of .*; use another name"):
            check_name(kind, taken, registry)
    with pytest.raises(InputError, match="is a word of the host"):
        check_name("stage", "scaffold", registry)
    for word in ("json", "class", "numpy"):
        with pytest.raises(InputError, match="a Python module|a word of Python's"):
            check_name("holder", word, registry)


def test_nothing_that_is_there_is_written_over(tmp_path: Path) -> None:
    for options in ([], ["--single-file"]):
        first = underdraw("scaffold", "holder", "moon-vine", *options, where=tmp_path)
        again = underdraw("scaffold", "holder", "moon-vine", *options, where=tmp_path)
        assert (first.returncode, again.returncode) == (0, 2)
        assert b"is there already; use another name or --into DIR" in again.stderr


def test_it_can_be_put_elsewhere(tmp_path: Path) -> None:
    done = underdraw("scaffold", "controller", "moon-vine", "--into", "studio/parts", where=tmp_path)
    assert done.returncode == 0
    assert (tmp_path / "studio" / "parts" / "moon-vine" / "pyproject.toml").is_file()
    done = underdraw("scaffold", "gizmo", "moon-vine", where=tmp_path)
    assert done.returncode == 2
    assert b"'gizmo' is not one of 'controller', 'stage', 'holder'" in done.stderr
