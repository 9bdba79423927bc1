"""Reading a job file: TOML into a `Job`, and every mistake into one line with its place."""

import contextlib
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from underdraw import settings
from underdraw.errors import InputError, UnderdrawError
from underdraw.job import SECTIONS, Job, StagesSection
from underdraw.panel import ImpossiblePanel, Panel
from underdraw.registry import Registry
from underdraw.settings import SettingError, did_you_mean, read_settings

LARGEST_JOB_BYTES = 1_000_000  # a job is a page of text; a larger file is some other file
NAME_KEY = "name"  # the one key that stands before any section


def load_job(path: Path, registry: Registry) -> Job:
    """Read a job file, load the plugin files it names, and hold every key against what is installed.

    Raises InputError with file and line.
    """
    text = _read_text(path)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"\(at line (\d+)", str(error))
        line = int(found[1]) if found else text.count("\n") + 1
        raise InputError(f"is not TOML: {str(error).split(' (at')[0]}", file=path, line=line) from None
    try:
        job = job_from_data(data, path.stem, path.parent)
        for plugin in job.stages.plugins:
            _load_plugin(registry, path.parent / plugin)
        check_names(data, registry)
        _check_parts(data, registry)
        _check_panel(job)
    except _Misplaced as error:
        raise InputError(error.text, file=path, line=_line_of(text, error.keys)) from None
    return replace(job, file=path)


@contextlib.contextmanager
def told_in(job: Job | None) -> Iterator[None]:
    """Put file and line in front of an error that a key of this job is to blame for, where it was read from a file."""
    try:
        yield
    except UnderdrawError as error:
        if job is not None and job.file is not None and error.file is None:
            line = _line_of(_read_text(job.file), error.keys) if error.keys else None
            if line is not None:
                error.put_at(job.file, line)
        raise


def _check_panel(job: Job) -> None:
    """Sizes that cannot be are wrong in the job, and its line can be told only here."""
    if job.canvas.face is not None:
        try:
            Panel.of(job)
        except ImpossiblePanel as error:
            raise _Misplaced(error.text, "canvas", error.key) from None


def _check_parts(data: Mapping[str, Any], registry: Registry) -> None:
    """A controller, holder or ink that is not there is told before work begins, with its line.

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
                raise _Misplaced(f"{where} {key}: {error.text}", *keys) from None


def _load_plugin(registry: Registry, path: Path) -> None:
    try:
        registry.load_file(path)
    except InputError as error:
        raise _Misplaced(f"[stages] {error.text}", "stages", "plugins") from None


class _Misplaced(InputError):
    """A mistake at a key of the job; whoever has its text can tell the line."""

    def __init__(self, text: str, *keys: str | int) -> None:
        super().__init__(text, keys=keys)


def job_from_data(data: Mapping[str, Any], name: str, folder: Path | None = None) -> Job:
    """Make a job of plain values, as TOML or a drawing's metadata hold them. Raises InputError.

    >>> job_from_data({"canvas": {"face": "12 x 16 in"}}, "panel").canvas.face
    (304.8, 406.4)
    """
    for section, held in data.items():
        expected = "a text" if section == NAME_KEY else "an array of tables, [[marker]]," if section == "marker" else ""
        right = str if section == NAME_KEY else list if section == "marker" else Mapping
        if not isinstance(held, right):
            due = expected or f"a table, [{section}],"
            raise _Misplaced(f"{section!r}: {due} is due; read {held!r}", section)
    read: dict[str, Any] = {}
    for section, kind in SECTIONS.items():
        if section == "marker" or section not in data:
            continue
        table = data[section]
        own = {
            key: value for key, value in table.items() if kind is not StagesSection or not isinstance(value, Mapping)
        }
        read[section] = _read_section(kind, own, f"[{section}] ", section)
    markers = tuple(
        _read_section(SECTIONS["marker"], table, f"[[marker]] {index + 1} ", "marker", index)
        for index, table in enumerate(data.get("marker", []))
    )
    if "marker" in data and not markers:
        raise _Misplaced("'marker': at least one [[marker]] is due", "marker")
    names = [marker.name for marker in markers]
    for index, marker_name in enumerate(names):
        if marker_name in names[:index]:
            raise _Misplaced(f"two markers are named {marker_name!r}; give each its own name", "marker", index, "name")
    if markers:
        read["markers"] = markers
    return Job(name=str(data.get(NAME_KEY, name)), data=dict(data), folder=folder, **read)


def _read_section(kind: type, table: object, where: str, *keys: str | int) -> Any:
    if not isinstance(table, Mapping):
        raise _Misplaced(f"{where}a table is due; read {table!r}", *keys)
    try:
        return read_settings(kind, table, where)
    except SettingError as error:
        raise _Misplaced(error.text, *keys, error.key) from None


def claimed_keys(registry: Registry) -> dict[str, dict[str, settings.Statement]]:
    """The job keys outside the host's sections that stages' settings claim: section -> key -> statement."""
    claimed: dict[str, dict[str, settings.Statement]] = {}
    for stage in registry.stages.values():
        for statement in settings.statements(stage.settings).values():
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
            raise _Misplaced(
                f"unknown section {did_you_mean(section, sections)}; known: {', '.join(sections)}", section
            )
        for key, value in table.items() if section in claimed else ():
            keys = claimed[section]
            if key not in keys:
                text = f"[{section}] unknown setting {did_you_mean(key, list(keys))}; known: {', '.join(keys)}"
                raise _Misplaced(text, section, key)
            try:
                keys[key].kind.read(value)
            except ValueError as error:
                raise _Misplaced(f"[{section}] {key}: {error}", section, key) from None
    stages = data.get("stages", {})
    for name in stages.get("chain", []):
        _stage(registry, name, "chain")
    for name, value in stages.items():
        if isinstance(value, Mapping):
            stage = _stage(registry, name, name)
            try:
                read_settings(stage.settings, value, f"[stages] {name}: ")
            except SettingError as error:
                raise _Misplaced(error.text, "stages", name, error.key) from None


def _stage(registry: Registry, name: str, key: str) -> Any:
    try:
        return registry.stages.find(name)
    except InputError as error:
        raise _Misplaced(f"[stages] {error.text}", "stages", key) from None


def _read_text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_JOB_BYTES:
            raise InputError(f"is larger than a job can be ({LARGEST_JOB_BYTES:,} bytes)", file=path)
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise InputError(f"is not UTF-8 text, at byte {error.start}; a job is a TOML file", file=path) from None
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror or error}", file=path) from None


def _line_of(text: str, keys: tuple[str | int, ...]) -> int | None:
    """The line (from 1) where a key stands in TOML text: the deepest part of the way that can be found."""
    lines = text.splitlines()
    line: int | None = None
    end = len(lines)
    start = 0
    for key in keys:
        if isinstance(key, int):
            heads = [number for number, held in enumerate(lines) if re.match(r"\s*\[\[", held) and "marker" in held]
            if key < len(heads):
                start, line = heads[key], heads[key] + 1
                end = next((n for n in range(start + 1, len(lines)) if re.match(r"\s*\[", lines[n])), len(lines))
            continue
        name = re.escape(key)
        forms = [
            rf"\s*\[\[?\s*(?:[\w-]+\.)?[\"']?{name}[\"']?\s*(?:\.[\w.-]+)?\]",
            rf"(?:.*[\s{{,.])?[\"']?{name}[\"']?\s*(?:\.[\w-]+\s*)?=",
        ]
        found = [
            (number, form)
            for number in range(start, end)
            for form in range(len(forms))
            if re.match(forms[form], lines[number].split("#")[0] if form == 0 else lines[number])
        ]
        if not found:
            continue
        number, form = found[0]
        line = number + 1
        start = number
        if form == 0:
            end = next((n for n in range(number + 1, len(lines)) if re.match(r"\s*\[", lines[n])), len(lines))
    return line
