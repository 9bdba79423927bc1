"""The host knows no stage, controller, holder, ink or canvas size by name, and stands when they are taken away."""

import ast
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import underdraw
from underdraw.cli import commands
from underdraw.plugins.registry import Registry

HOST = Path(underdraw.__file__).parent
PLUGIN_PACKAGES = ("underdraw_stages", "underdraw_studio")


def installed() -> Registry:
    return Registry.installed()


def names_of_parts() -> set[str]:
    """Every name that a built-in plugin brings."""
    registry = installed()
    kinds = (registry.stages, registry.controllers, registry.holders, registry.inks, registry.canvas_sizes)
    return {name for kind in kinds for name in kind if kind.owner(name).distribution == "underdraw"}


def modules_of_the_host() -> list[Path]:
    return sorted(HOST.rglob("*.py"))


def texts_that_act(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """String constants that code works with: all but docstrings."""
    documentation = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in documentation:
            yield node.lineno, node.value


def imported(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


# Words that are a part's name and an ordinary word of the host's own too, each with the reason.
OWN_WORDS = {"sheet": "a drawing's sheet: its size"}
SPOKEN_OF = re.compile(r"[`'\"]([a-z0-9][\w-]*)[`'\"]|\bunderdraw ([a-z0-9][\w-]*)")  # `tidy`, 'tidy', underdraw tidy


def test_no_text_in_the_hosts_code_is_the_name_of_a_part() -> None:
    names = names_of_parts() - set(OWN_WORDS)
    assert names
    found = [
        f"{path.relative_to(HOST)}:{line}: {text!r}"
        for path in modules_of_the_host()
        for line, text in texts_that_act(ast.parse(path.read_text()))
        if names & {text, *(word for words in SPOKEN_OF.findall(text) for word in words)}
    ]
    assert not found


def test_no_template_of_a_new_plugin_names_a_part() -> None:
    names = names_of_parts() - set(OWN_WORDS)
    templates = sorted(HOST.rglob("*.jinja"))
    assert templates
    found = [
        f"{path.name}: {word}"
        for path in templates
        for words in SPOKEN_OF.findall(path.read_text().replace("from underdraw import", ""))
        for word in words
        if word in names
    ]
    assert not found


def test_no_module_of_the_host_imports_a_plugin() -> None:
    found = [
        f"{path.relative_to(HOST)}: {module}"
        for path in modules_of_the_host()
        for module in imported(ast.parse(path.read_text()))
        if module.partition(".")[0] in PLUGIN_PACKAGES
    ]
    assert not found


def test_no_stage_imports_another_stage_and_plugins_import_the_host_alone() -> None:
    stages = HOST.parents[1] / "plugins" / "underdraw_stages"
    found = []
    for path in sorted(stages.rglob("*.py")):
        own = ".".join(path.relative_to(stages.parent).parts[:2]).removesuffix(".py")
        for module in imported(ast.parse(path.read_text())):
            if module.partition(".")[0] in PLUGIN_PACKAGES and not f"{module}.".startswith(f"{own}."):
                found.append(f"{path.relative_to(stages)}: {module}")
    assert not found


def first_source() -> str:
    """The one built-in stage that makes a drawing of artwork: the plugin that a chain cannot do without."""
    registry = installed()
    ranked = [stage for stage in registry.stages.values() if stage.kind == "source" and stage.rank is not None]
    (source,) = ranked
    return source.name


def test_a_registry_without_the_other_plugins_still_works() -> None:
    source = first_source()
    registry = Registry()
    registry.load_installed(without={plugin.name for plugin in installed().plugins} - {source})
    assert list(registry.stages) == [source]
    assert not registry.failures


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The host and its first source stage alone, as a distribution of its own in a folder."""
    folder = tmp_path_factory.mktemp("bare")
    source = first_source()
    registry = installed()
    module = registry.stages.owner(source).module
    package, _, name = module.partition(".")
    shutil.copytree(HOST, folder / "underdraw", ignore=shutil.ignore_patterns("__pycache__"))
    root = HOST.parents[1] / "plugins" / package
    (folder / package).mkdir()
    shutil.copy(root / "__init__.py", folder / package)
    shutil.copytree(root / name, folder / package / name, ignore=shutil.ignore_patterns("__pycache__"))
    metadata = folder / f"underdraw-{underdraw.__version__}.dist-info"
    metadata.mkdir()
    (metadata / "METADATA").write_text(f"Metadata-Version: 2.1\nName: underdraw\nVersion: {underdraw.__version__}\n")
    (metadata / "entry_points.txt").write_text(f"[underdraw]\n{source} = {module}\n")
    return folder


def run_bare(bare: Path, *words: object, where: Path | None = None) -> subprocess.CompletedProcess[str]:
    """The command line with nothing of the built-in plugins but the source to be found."""
    code = (
        "import sys\n"
        f"sys.path = [{str(bare)!r}] + [p for p in sys.path if not p.rstrip('/').endswith(('/pipeline', '/plugins'))]\n"
        "from underdraw.cli.command_line import main\nmain()"
    )
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    command = [sys.executable, "-c", code, *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, env=environment, check=False, cwd=where)


def test_the_bare_host_helps_and_lists_what_it_has(bare: Path) -> None:
    shown = run_bare(bare, "--help")
    assert (shown.returncode, shown.stderr) == (0, "")
    gone = set(installed().stages) - {first_source()}
    listed = {line.split()[0] for line in shown.stdout.splitlines() if line.startswith("  ")}
    assert {first_source(), *commands.NAMES} <= listed
    assert not gone & listed
    plugins = run_bare(bare, "plugins")
    assert plugins.stdout.splitlines() == [
        f"{first_source()}  underdraw {underdraw.__version__}  stage: {first_source()}"
    ]


ARTWORK = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path d="M5 5 L35 25" stroke="#1b1b3a" fill="none"/></svg>"""
MINE = """\
from underdraw import File, Result, Stage, hookimpl

def count(drawing, settings, context):
    return Result(drawing, {"shapes": len(drawing)}, f"{len(drawing)} shape", (File(".txt", b"counted"),))

@hookimpl
def underdraw_stages():
    return [Stage("count", "Count shapes.", count, kind="writer", rank=90)]
"""


def test_the_bare_host_runs_a_job_with_a_stage_of_ones_own(bare: Path, tmp_path: Path) -> None:
    (tmp_path / "art.svg").write_text(ARTWORK)
    (tmp_path / "mine.py").write_text(MINE)
    (tmp_path / "panel.toml").write_text('[artwork]\nfile = "art.svg"\n[stages]\nplugins = ["mine.py"]\n')
    done = run_bare(bare, "run", "panel.toml", where=tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "panel" / "panel.txt").read_text() == "counted"
    assert "count    1 shape" in done.stderr
    assert 'd="M5 5L35 25"' in (tmp_path / "panel" / "panel-drawing.svg").read_text()


@pytest.mark.parametrize("command", [name for name in commands.NAMES if name != "demo"])
def test_every_command_of_the_bare_host_ends_in_an_answer(bare: Path, command: str) -> None:
    done = run_bare(bare, command, "--help")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Usage: ")


PROGRAM = "M5 G21 G90 G94\nG0 Z5\nG0 X1 Y1\nG1 Z-1 F300\nG1 X9 Y9\nG0 Z5\nM2\n"


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        (["check", "program.nc"], "ok"),
        (["canvas", "--face", "16 x 20 in", "--depth", "2.5 in", "--bleed", "0.5 in"], "22 x 26 in"),
        (["schema"], '"title": "underdraw job"'),
        (["plugins", "--json"], '"hooks_version"'),
        (["scaffold", "controller", "moon-vine"], ""),
    ],
)
def test_the_bare_host_does_what_needs_no_other_part(bare: Path, tmp_path: Path, words: list[str], shown: str) -> None:
    (tmp_path / "program.nc").write_text(PROGRAM)
    done = run_bare(bare, *words, where=tmp_path)
    assert done.returncode == 0, done.stderr
    assert shown in done.stdout


def test_the_bare_host_says_what_is_not_there(bare: Path, tmp_path: Path) -> None:
    gone = sorted(set(installed().stages) - {first_source()})[0]
    done = run_bare(bare, gone)
    assert done.returncode == 2
    assert f"there is no command {gone!r}" in done.stderr
    (tmp_path / "panel.toml").write_text(f'[stages]\nchain = ["{first_source()}", "{gone}"]\n')
    done = run_bare(bare, "run", "panel.toml", where=tmp_path)
    assert done.returncode == 2
    assert f"panel.toml:2: [stages] there is no stage {gone!r}; installed: {first_source()}" in done.stderr
