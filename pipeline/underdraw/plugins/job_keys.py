"""The keys of a job that installed plugins claim, and whether what a job names is installed."""

from collections.abc import Mapping
from typing import Any

from underdraw.errors import InputError
from underdraw.job.file import NAME_KEY, Misplaced
from underdraw.job.schema import Schema, job_schema
from underdraw.job.sections import SECTIONS
from underdraw.job.settings import SettingError, Statement, did_you_mean, read_settings, statements
from underdraw.plugins.registry import Registry


def claimed_keys(registry: Registry) -> dict[str, dict[str, Statement]]:
    """The job keys outside the host's sections that stages' settings claim: section -> key -> statement."""
    claimed: dict[str, dict[str, Statement]] = {}
    for stage in registry.stages.values():
        for statement in statements(stage.settings).values():
            section, _, key = (statement.job_key or "").partition(".")
            if key and section not in SECTIONS:
                claimed.setdefault(section, {})[key] = statement
    return claimed


def check_names(data: Mapping[str, Any], registry: Registry) -> None:
    """Hold sections, claimed keys, stages and their settings against what is installed. Raises InputError."""
    claimed = claimed_keys(registry)
    sections = [NAME_KEY, *SECTIONS, *claimed]
    for section, table in data.items():
        if section not in sections:
            raise Misplaced(f"unknown section {did_you_mean(section, sections)}; known: {', '.join(sections)}", section)
        for key, value in table.items() if section in claimed else ():
            keys = claimed[section]
            if key not in keys:
                text = f"[{section}] unknown setting {did_you_mean(key, list(keys))}; known: {', '.join(keys)}"
                raise Misplaced(text, section, key)
            try:
                keys[key].kind.read(value)
            except ValueError as error:
                raise Misplaced(f"[{section}] {key}: {error}", section, key) from None
    stages = data.get("stages", {})
    for name in stages.get("chain", []):
        _stage(registry, name, "chain")
    for name, value in stages.items():
        if isinstance(value, Mapping):
            stage = _stage(registry, name, name)
            try:
                read_settings(stage.settings, value, f"[stages] {name}: ")
            except SettingError as error:
                raise Misplaced(error.text, "stages", name, error.key) from None


def _stage(registry: Registry, name: str, key: str) -> Any:
    try:
        return registry.stages.find(name)
    except InputError as error:
        raise Misplaced(f"[stages] {error.text}", "stages", key) from None


def check_parts(data: Mapping[str, Any], registry: Registry) -> None:
    """A controller, holder or ink that is not there is reported before work begins, with its line.

    Not where a plugin failed, since it may be the one that brings it: what can go on without it does.
    """
    for place, parts in registry.parts_by_key.items():
        section, _, key = place.partition(".")
        held = data.get(section, {})
        tables = list(enumerate(held)) if isinstance(held, list) else [(None, held)]
        for index, table in tables:
            name = table.get(key)
            if name is None or not parts or name in parts or registry.failures:
                continue
            try:
                parts.find(name)
            except InputError as error:
                where = f"[{section}]" if index is None else f"[[{section}]] {index + 1}"
                keys = (section, key) if index is None else (section, index, key)
                raise Misplaced(f"{where} {key}: {error.text}", *keys) from None


def schema_of(registry: Registry) -> Schema:
    """The JSON Schema of a job with these plugins."""
    return job_schema(registry.stages, claimed_keys(registry), registry.parts_by_key)
