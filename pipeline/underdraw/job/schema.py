"""The JSON Schema of a job file, made from the same statements that options, help and job keys are made from."""

from collections.abc import Iterable, Mapping
from typing import Any, Protocol

from underdraw.job.file import NAME_KEY
from underdraw.job.sections import SECTIONS, StagesSection
from underdraw.job.settings import Number, Statement, statements

DIALECT = "https://json-schema.org/draft/2020-12/schema"
ARRAYS = ("marker",)  # sections written as [[name]], any number of times
Schema = dict[str, Any]


class Step(Protocol):
    """A stage, as far as a job file goes."""

    @property
    def name(self) -> str:
        """The command, and the key of its settings in a job."""

    @property
    def help(self) -> str:
        """One line."""

    @property
    def settings(self) -> type:
        """A frozen dataclass of `setting(…)` fields."""


def job_schema(
    stages: Mapping[str, Step],
    claimed: Mapping[str, Mapping[str, Statement]],
    parts: Mapping[str, Iterable[str]],
) -> Schema:
    """The schema of a job: its sections, keys that stages claim, and each stage's own table.

    claimed: statements by section and key. parts: what may be named at a key, such as "machine.controller".
    """
    installed: dict[str, dict[str, Schema]] = {}
    for key, names in parts.items():  # an editor offers what is installed
        section, _, name = key.partition(".")
        installed.setdefault(section, {})[name] = _one_of(names)
    sections: Schema = {
        NAME_KEY: {"type": "string", "description": "what the job is called; if omitted: the file's name"}
    }
    for section, keys in claimed.items():
        sections[section] = _table("", keys, {})
    for section, kind in SECTIONS.items():
        table = _table(kind.__doc__ or "", statements(kind), installed.get(section, {}))
        sections[section] = {"type": "array", "minItems": 1, "items": table} if section in ARRAYS else table
        if kind is StagesSection:
            table["properties"]["chain"]["items"] = _one_of(stages)
            table["properties"] |= {stage.name: _stage_table(stage) for stage in stages.values()}
    return {
        "$schema": DIALECT,
        "title": "underdraw job",
        "type": "object",
        "additionalProperties": False,
        "properties": sections,
    }


def _one_of(names: Iterable[str]) -> Schema:
    return {"enum": list(names)}


def _stage_table(stage: Step) -> Schema:
    return _table(stage.help, statements(stage.settings), {})


def _as_written(statement: Statement) -> Any:
    """A default as a job would hold it."""
    if isinstance(statement.default, tuple):
        return list(statement.default)
    return statement.kind.read(statement.default) if isinstance(statement.kind, Number) else statement.default


def _table(description: str, keys: Mapping[str, Statement], narrowed: Mapping[str, Schema]) -> Schema:
    """One table of the job; a key with an underscore where it has a hyphen is the same key."""
    properties: Schema = {}
    for name, statement in keys.items():
        described = {**statement.kind.schema(), **narrowed.get(name, {}), "description": statement.help}
        if name in narrowed:
            described.pop("type", None)
        if statement.default is not None:
            described["default"] = _as_written(statement)
        for spelling in dict.fromkeys((name, name.replace("-", "_"))):
            properties[spelling] = described
    table: Schema = {"type": "object", "additionalProperties": False, "properties": properties}
    if description:
        table["description"] = description.partition("\n")[0]
    return table
