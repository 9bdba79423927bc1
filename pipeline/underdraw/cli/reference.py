"""The references of commands and job keys, and of hooks and contracts, made from the code.

`python -m underdraw.cli.reference` in the project's folder writes both anew; with `--check` it writes nothing and ends
with exit 1 where one is stale. Only what comes with underdraw itself is in them.
"""

import ast
import importlib
import inspect
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from underdraw.cli import commands
from underdraw.cli.app import App
from underdraw.cli.command_line import Root, root, sentence
from underdraw.drawing.drawing import Drawing
from underdraw.job import settings
from underdraw.job.schema import ARRAYS
from underdraw.job.sections import SECTIONS
from underdraw.job.settings import Kind, statements
from underdraw.plugins import hookspecs, parts
from underdraw.plugins.controller import Controller
from underdraw.plugins.job_keys import claimed_keys
from underdraw.plugins.parts import Stage
from underdraw.plugins.public import PUBLIC_MODULES
from underdraw.plugins.registry import ENTRY_POINT_GROUP, Registry

COMMANDS_FILE, HOOKS_FILE = "pipeline/reference.md", "plugins/reference.md"
INTRODUCTION = (
    "Made from the code by `python -m underdraw.cli.reference`. Each command takes `--quiet`, `--verbose` and",
    "`--debug`; each stage takes `-o FILE` and, unless it starts a chain, `-i FILE`. `underdraw --plugin FILE COMMAND`",
    "loads a plugin file first.",
    "A stage's settings stand in a job under its name, `[stages] NAME = { key = … }`, some also elsewhere.",
    "Completion in bash, zsh and fish covers all of it, and what plugins bring: DEVELOPERS.md has the line to type.",
)
EVERYWHERE = ("quiet", "verbose", "debug", "input_", "output_")  # options that the introduction explains
OURS = ENTRY_POINT_GROUP  # the distribution whose plugins the reference lists


def own_app() -> App:
    """An app with the built-in plugins alone, whatever else is installed."""
    every = Registry.installed()
    ours = Registry()
    ours.load_installed(without={plugin.name for plugin in every.plugins if plugin.distribution != OURS})
    return App(ours)


def command_reference(app: App) -> str:
    """Every command with its options, and where a stage's settings stand in a job."""
    context = click.Context(root, info_name="underdraw", obj=app)
    assert isinstance(root, Root)
    stages = [name for name in root.list_commands(context) if name not in commands.NAMES]
    lines = ["# Commands and job keys", "", *INTRODUCTION]
    for title, names in (("Stages", stages), ("Other commands", list(commands.NAMES))):
        lines += ["", f"## {title}"]
        for name in names:
            command = root.get_command(context, name)
            assert command is not None
            lines += ["", *_command(name, command, app.registry.stages.get(name))]
    lines += [
        "",
        "## Keys of the job file",
        "",
        "| key | default | does |",
        "| --- | --- | --- |",
        *_job_keys(app.registry),
    ]
    return "\n".join(lines)


def _command(name: str, command: click.Command, stage: Stage | None) -> Iterator[str]:
    arguments = " ".join(_metavar(parameter) for parameter in command.params if parameter.param_type_name == "argument")
    yield f"### `underdraw {f'{name} {arguments}'.strip()}`"
    yield ""
    yield from _paragraphs(command.help or "")
    stated = statements(stage.settings) if stage is not None else {}
    rows = []
    for parameter in command.params:
        if isinstance(parameter, click.Option) and not parameter.hidden and parameter.name not in EVERYWHERE:
            words = "`, `".join([*parameter.opts, *parameter.secondary_opts])
            metavar = "" if parameter.is_flag else f" {_metavar(parameter)}"
            key = _job_key(stage, parameter, stated)
            rows.append((_cell(f"`{words}{metavar}`"), key, _cell(parameter.help or "")))
        elif stage is not None and parameter.param_type_name == "argument":
            spoken = str(parameter.name).replace("_", "-")
            help_text = stated[spoken].help if spoken in stated else ""
            metavar = _metavar(parameter)
            rows.append((f"`{metavar}`", _job_key(stage, parameter, stated), _cell(sentence(help_text))))
    if rows and stage is not None:
        yield from ("", "| option | in a job | does |", "| --- | --- | --- |")
        yield from (f"| {option} | {key} | {help_text} |" for option, key, help_text in rows)
    elif rows:
        yield from ("", "| option | does |", "| --- | --- |")
        yield from (f"| {option} | {help_text} |" for option, _, help_text in rows)


def _metavar(parameter: click.Parameter) -> str:
    return parameter.metavar or parameter.human_readable_name.upper()


def _job_key(stage: Stage | None, parameter: click.Parameter, stated: dict[str, settings.Statement]) -> str:
    """Where a setting stands in a job; settings of the host's own commands stand in none."""
    spoken = str(parameter.name).rstrip("_").replace("_", "-")
    if stage is None or spoken not in stated:
        return ""
    other = stated[spoken].job_key
    return f"`{spoken}`" + (f", or `{other}`" if other else "")


def _job_keys(registry: Registry) -> Iterator[str]:
    """Every key of a job but the stages' own, which stand with them."""
    claimed = {f"[{section}]": keys for section, keys in claimed_keys(registry).items()}
    arrays = {section: f"[[{section}]]" if section in ARRAYS else f"[{section}]" for section in SECTIONS}
    own = {arrays[section]: statements(kind) for section, kind in SECTIONS.items()}
    for section, keys in {**claimed, **own}.items():
        for key, statement in keys.items():
            default = statement.default
            if isinstance(default, tuple) or default is None:
                default = ""
            elif isinstance(default, bool):
                default = str(default).lower()
            yield f"| `{section} {key.replace('-', '_')}` | {_cell(str(default))} | {_cell(statement.help)} |"


def hook_reference() -> str:
    """Every hook with what it brings, and the objects that plugins declare and are given."""
    lines = [
        "# Hooks, declared objects and contracts",
        "",
        "Made from the code by `python -m underdraw.cli.reference`.",
        "",
    ]
    lines += [f"The hooks are of version {hookspecs.HOOKS_VERSION}; a plugin sets `underdraw_hooks_version = …`.", ""]
    lines += ["| hook | brings | |", "| --- | --- | --- |"]
    for name, function in vars(hookspecs).items():
        if hasattr(function, f"{hookspecs.PROJECT}_spec"):
            brings = str(inspect.signature(function).return_annotation).removeprefix("list[").rpartition("]")[0]
            brings = brings.rpartition(".")[2]
            lines.append(f"| `{name}()` | `{brings}` | {_cell(inspect.getdoc(function) or '')} |")
    for kind in (Stage, Controller, parts.Holder, parts.Ink, parts.CanvasSize, parts.Context, parts.Result, parts.File):
        lines += ["", *_declared(kind)]
    lines += ["", *_declared(Drawing, fields=False)]
    lines += ["", "## Kinds of settings", "", "| kind | written as | |", "| --- | --- | --- |"]
    for setting_kind in _kinds():
        help_text = inspect.cleandoc(setting_kind.__doc__ or "") if "__doc__" in vars(setting_kind) else ""
        signature = str(inspect.signature(setting_kind)).partition(" ->")[0]
        signature = re.sub(r": [^,)=]+(?= =|,|\))", "", signature).replace(" = ", "=")
        written = " or ".join(f"`{example}`" for example in setting_kind.examples) or _cell(setting_kind.metavar)
        lines.append(f"| `{setting_kind.__name__}{_cell(signature)}` | {written} | {_cell(help_text)} |")
    return "\n".join([*lines, "", *_contracts(), "", *_public_modules()])


def _public_modules() -> Iterator[str]:
    """What a plugin may import, a line each."""
    yield "## Modules that a plugin may import"
    yield ""
    yield "The built-in plugins use no others. Everything else of the host may change on any day."
    yield ""
    yield "| module | |"
    yield "| --- | --- |"
    for name in PUBLIC_MODULES:
        text = (importlib.import_module(name).__doc__ or "").partition("\n")[0]
        yield f"| `{name}` | {_cell(text)} |"


def _contracts() -> Iterator[str]:
    """What each contract holds a part to, from its tests."""
    from underdraw import testing  # with pytest, which this alone needs

    yield "## What the contracts hold a part to"
    for contract in (testing.ControllerContract, testing.HolderContract, testing.StageContract):
        yield from ("", f"`underdraw.testing.{contract.__name__}`:", "")
        for name, held in vars(contract).items():
            if name.startswith("test_"):
                what = name.removeprefix("test_").replace("_", " ")
                yield f"- {what[:1].upper()}{what[1:]}. {' '.join((inspect.getdoc(held) or '').split())}"


def _kinds() -> list[type[Kind]]:
    found = [kind for kind in vars(settings).values() if isinstance(kind, type) and issubclass(kind, Kind)]
    return [kind for kind in found if kind is not Kind]


def _declared(kind: type, fields: bool = True) -> Iterator[str]:
    """One class: its text, its fields with the comments beside them, its methods."""
    yield f"## `{kind.__name__}`"
    yield ""
    yield from _paragraphs(inspect.getdoc(kind) or "")
    rows = list(_fields(kind)) if fields else []
    if rows:
        yield from ("", "| field | default | |", "| --- | --- | --- |")
        yield from (f"| `{name}` | {default} | {help_text} |" for name, default, help_text in rows)
    methods = [
        (name, held)
        for name, held in vars(kind).items()
        if not name.startswith("_") and (inspect.isfunction(held) or isinstance(held, classmethod | property))
    ]
    if methods:
        yield from ("", "| | |", "| --- | --- |")
        for name, held in methods:
            yield f"| `{name}{_signature(held)}` | {_cell(_first_line(held))} |"


def _fields(kind: type) -> Iterator[tuple[str, str, str]]:
    """Name, default and the comment beside each field of a dataclass."""
    source = inspect.getsource(kind)
    (tree,) = ast.parse(inspect.cleandoc(source) if source.startswith(" ") else source).body
    assert isinstance(tree, ast.ClassDef)
    lines = source.splitlines()
    for node in tree.body:
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            _, _, comment = lines[node.lineno - 1].partition("  # ")
            default = (
                "" if node.value is None or "field(" in ast.unparse(node.value) else f"`{ast.unparse(node.value)}`"
            )
            yield node.target.id, _cell(default), _cell(comment)


def _signature(held: Any) -> str:
    if isinstance(held, property):
        return ""
    names = list(inspect.signature(held.__func__ if isinstance(held, classmethod) else held).parameters)[1:]
    return f"({', '.join(names)})"


def _first_line(held: Any) -> str:
    return (inspect.getdoc(held.__func__ if isinstance(held, classmethod) else held) or "").partition("\n\n")[0]


def _paragraphs(text: str) -> Iterator[str]:
    for index, paragraph in enumerate(inspect.cleandoc(text).split("\n\n")):
        if index:
            yield ""
        yield " ".join(paragraph.split())


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def references(app: App) -> dict[str, str]:
    """Each reference, by its file."""
    return {COMMANDS_FILE: f"{command_reference(app)}\n", HOOKS_FILE: f"{hook_reference()}\n"}


def main(folder: Path, check: bool) -> int:
    """Write both references anew, or say which is stale. The exit code."""
    stale = []
    for name, text in references(own_app()).items():
        file = folder / name
        if not file.exists() or file.read_text(encoding="utf-8") != text:
            stale.append(name)
            if not check:
                file.write_text(text, encoding="utf-8")
    state = "stale" if check else "written anew"
    print(f"{state}: {', '.join(stale)}" if stale else "both references agree with the code")
    return 1 if stale and check else 0


if __name__ == "__main__":
    sys.exit(main(Path.cwd(), "--check" in sys.argv[1:]))
