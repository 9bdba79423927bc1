"""The file of readings: what the machine showed with the tip over each mark, as typed in at the bench."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from underdraw import InputError, setting
from underdraw.drawing.boxes import Point
from underdraw.job.file import read_text, read_toml
from underdraw.job.key_positions import line_of
from underdraw.job.settings import Integer, SettingError, Size, read_settings
from underdraw.words.quantities import size_in

EXAMPLES = {"mm": "12.31 x 24.97 mm", "in": "0.485 x 0.983 in"}
MOST_MARKS = 1000  # nobody reads off more; a longer file is some other file
APART_MM = 10.0  # marks nearer to one another show no turn: half a tip off at one of them is degrees


@dataclass(frozen=True)
class Entry:
    """One [[mark]] of the file: which one, and what the machine showed there."""

    number: int | None = setting(Integer(1), None, "the registration mark's number")
    at: tuple[float, float] | None = setting(
        Size(above=None), None, "or a point: right x down from the board's upper left corner"
    )
    read: tuple[float, float] | None = setting(
        Size(above=None), None, "program coordinates, X x Y, with the tip over it"
    )


@dataclass(frozen=True)
class Reading:
    """A point that was measured. name: for messages. at: on the board (mm, y down). read: program coordinates (mm)."""

    name: str
    at: Point
    read: Point


def read_file(path: str, marks: tuple[Point, ...], unit: str) -> list[Reading]:
    """The readings of a file. marks: the drawing's own, by number. Raises InputError with file and line."""
    text = read_text(Path(path))
    data = read_toml(text, Path(path))
    try:
        return readings_of(data, marks, unit)
    except InputError as error:
        if error.keys:
            error.put_at(path, line_of(text, error.keys))
        else:
            error.put_at(path, None)
        raise


def readings_of(data: dict[str, Any], marks: tuple[Point, ...], unit: str) -> list[Reading]:
    """The same of plain values. Raises InputError with the keys to blame."""
    other = next((key for key in data if key != "mark"), None)
    if other is not None:
        raise InputError(f"unknown key {other!r}; expected {example(unit)}", keys=(other,))
    tables = data.get("mark", [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise InputError(f"'mark' is no list of tables; expected {example(unit)}", keys=("mark",))
    if len(tables) > MOST_MARKS:
        raise InputError(f"expected {MOST_MARKS:,} marks at most, got {len(tables):,}; is this the file of readings?")
    if len(tables) < 2:
        raise InputError(f"expected at least two marks, got {len(tables)}; write {example(unit)} for each")
    readings: list[Reading] = []
    for index, table in enumerate(tables):
        reading = reading_of(table, index, marks, unit)
        same = next((k for k, earlier in enumerate(readings) if apart(earlier, reading) < APART_MM), None)
        if same is not None:
            found = f"{reading.name} stands there twice"
            if reading.name != readings[same].name:
                other = readings[same].name
                found = f"{reading.name} and {other} are the same point, or within {size_words(unit)} of one another"
            raise InputError(f"{found}; measure points that are far apart", keys=("mark", index))
        readings.append(reading)
    return readings


def reading_of(table: dict[str, Any], index: int, marks: tuple[Point, ...], unit: str) -> Reading:
    """One table. Raises InputError."""
    where = f"[[mark]] {index + 1}: "
    try:
        entry = read_settings(Entry, table, where)
    except SettingError as error:
        raise InputError(error.text, keys=("mark", index, error.key)) from None
    if entry.read is None:
        raise InputError(f'{where}read is missing; write read = "{EXAMPLES[unit]}"', keys=("mark", index))
    if (entry.number is None) == (entry.at is None):
        raise InputError(f"{where}expected either number or at, to name the mark", keys=("mark", index))
    if entry.at is not None:
        return Reading(f"the point at {size_in(entry.at, unit)}", entry.at, entry.read)
    assert entry.number is not None
    if entry.number > len(marks):
        has = f"marks 1 to {len(marks)}" if marks else "no registration marks"
        raise InputError(
            f'{where}there is no mark {entry.number}: the drawing has {has}; use at = "3 x 2 in", right and down from '
            "the board's upper left corner, for any other point that can be recognised",
            keys=("mark", index, "number"),
        )
    return Reading(f"mark {entry.number}", marks[entry.number - 1], entry.read)


def example(unit: str) -> str:
    """What to write for each mark, in the drawing's unit."""
    return f'[[mark]] with number = 1 and read = "{EXAMPLES[unit]}"'


def apart(one: Reading, other: Reading) -> float:
    """mm between two points on the board."""
    return float(((one.at[0] - other.at[0]) ** 2 + (one.at[1] - other.at[1]) ** 2) ** 0.5)


def size_words(unit: str) -> str:
    """`APART_MM` in words."""
    return "0.4 in" if unit == "in" else f"{APART_MM:g} mm"
