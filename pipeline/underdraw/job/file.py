"""Reading a job file: plain values into a `Job`, and every mistake into one line with its place."""

import contextlib
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from underdraw.errors import InputError, UnderdrawError
from underdraw.job.key_positions import line_of
from underdraw.job.sections import SECTIONS, Job, StagesSection
from underdraw.job.settings import Name, SettingError, read_settings

LARGEST_JOB_BYTES = 1_000_000  # a job is a page of text; a larger file is some other file
DEEPEST_KEY = 50  # names in one dotted key; a job has three, and reading takes the square of them
_DEEP_KEY = re.compile(
    rf"""(?:^|[{{,\[])[ \t]*+(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){{{DEEPEST_KEY}}}""", re.MULTILINE
)
NAME_KEY = "name"  # the one key that stands before any section


@contextlib.contextmanager
def located_in(job: Job | None) -> Iterator[None]:
    """Put file and line in front of an error that a key of this job is to blame for, where it was read from a file."""
    try:
        yield
    except UnderdrawError as error:
        if job is not None and job.file is not None and error.file is None:
            line = line_of(read_text(job.file), error.keys) if error.keys else None
            if line is not None:
                error.put_at(job.file, line)
        raise


class Misplaced(InputError):
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
            raise Misplaced(f"{section!r}: expected {due} got {held!r}", section)
    read: dict[str, Any] = {}
    for section, kind in SECTIONS.items():
        if section == "marker" or section not in data:
            continue
        table = data[section]
        own = {
            key: value for key, value in table.items() if kind is not StagesSection or not isinstance(value, Mapping)
        }
        read[section] = _read_section(kind, own, f"[{section}] ", section)
    tables = data.get("marker", [])
    markers = tuple(
        _read_section(SECTIONS["marker"], _with_body(tables, index), f"[[marker]] {index + 1} ", "marker", index)
        for index in range(len(tables))
    )
    if "marker" in data and not markers:
        raise Misplaced("'marker': expected at least one [[marker]]", "marker")
    if NAME_KEY in data:
        try:
            Name().read(data[NAME_KEY])
        except ValueError as error:
            raise Misplaced(f"{NAME_KEY!r}: {error}", NAME_KEY) from None
    names = [marker.name for marker in markers]
    for index, marker_name in enumerate(names):
        if marker_name in names[:index]:
            raise Misplaced(f"two markers are named {marker_name!r}; give each its own name", "marker", index, "name")
    if markers:
        read["markers"] = markers
    return Job(name=str(data.get(NAME_KEY, name)), data=dict(data), folder=folder, **read)


def _with_body(tables: list[Any], index: int) -> object:
    """A marker's table, with what it leaves to the one whose body it shares. Raises InputError for one that is none."""
    table = tables[index]
    if not isinstance(table, Mapping) or table.get("body") is None:
        return table
    body = table["body"]
    named = [other for other in tables if isinstance(other, Mapping) and other.get(NAME_KEY) == body]
    if not named or named[0] is table or "body" in named[0]:
        whole = [str(other[NAME_KEY]) for other in tables if isinstance(other, Mapping) and NAME_KEY in other
                 and "body" not in other]  # fmt: skip
        text = f"body: expected the name of another marker that has no `body` ({', '.join(whole)}), got {body!r}"
        raise Misplaced(f"[[marker]] {index + 1} {text}", "marker", index, "body")
    return {**{key: value for key, value in named[0].items() if key not in (NAME_KEY, "colours")}, **table}


def _read_section(kind: type, table: object, where: str, *keys: str | int) -> Any:
    if not isinstance(table, Mapping):
        raise Misplaced(f"{where}expected a table, got {table!r}", *keys)
    try:
        return read_settings(kind, table, where)
    except SettingError as error:
        raise Misplaced(error.text, *keys, error.key) from None


def read_toml(text: str, path: Path) -> dict[str, Any]:
    """The tables of a TOML file's text. Raises InputError with the line where it is none."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        match = re.search(r"\(at line (\d+)", str(error))
        line = int(match[1]) if match else text.count("\n") + 1
        raise InputError(f"is not TOML: {str(error).split(' (at')[0]}", file=path, line=line) from None


def read_text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_JOB_BYTES + 1)  # and no more, of a device without end
        if len(data) > LARGEST_JOB_BYTES:
            raise InputError(f"is larger than a job can be ({LARGEST_JOB_BYTES:,} bytes)", file=path)
        text = data.decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
        deep = _DEEP_KEY.search(text)
        if deep is not None:
            line = text.count("\n", 0, deep.start()) + 1
            raise InputError(
                f"a key of more than {DEEPEST_KEY} names; a job has [section] and key", file=path, line=line
            )
        return text
    except UnicodeDecodeError as error:
        raise InputError(f"is not UTF-8 text, at byte {error.start}; a job is a TOML file", file=path) from None
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror or error}", file=path) from None
