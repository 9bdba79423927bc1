"""The readings of a card as they are typed in: [marker], [machine], and how a file of them is read."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from pathlib import Path
from typing import Any

from underdraw.errors import InputError
from underdraw.job.file import read_text, read_toml
from underdraw.job.key_positions import line_of
from underdraw.job.sections import LONGEST_DOWN_S
from underdraw.job.settings import (
    Acceleration,
    Flag,
    Length,
    Many,
    Name,
    SettingError,
    Size,
    Speed,
    Text,
    Time,
    read_settings,
    setting,
)

SIDE_MM = 200.0  # of the square on the machine's card
MOST_READINGS = 100  # of one key
LARGEST_STEP_MM = 20.0
APART = 8.0  # times: readings of one thing farther apart than that are of two units, the nearest of which are cm, mm
SIDES, DIAGONALS = ("bottom", "top", "left", "right"), ("rising", "falling")
SQUARE = (*SIDES, *DIAGONALS)
FAR = 0.3  # of what the card has drawn: a pulley's wrong tooth count is less, another unit is more
OF_ONE_THING = ("line", "faded", *SQUARE)


@dataclass(frozen=True)
class MarkerReadings:
    """What was read off a marker's card; lengths in mm, speeds in mm/s, times in s."""

    name: str = setting(Name(), "outline", "the marker, as the job calls it")
    solid: float | None = setting(Speed(), None, "the fastest line that is solid from end to end")
    faint: float | None = setting(Speed(), None, "the slowest line that is not")
    press: tuple[float, ...] = setting(
        Many(Length()), (), "the least that is pressed in without gaps, at several positions"
    )
    settle: float | None = setting(Time(LONGEST_DOWN_S), None, "the shortest wait with whole beginnings")
    line: tuple[float, ...] = setting(Many(Length(above=0.0)), (), "how wide the drawn line is, at several positions")
    faded: tuple[float, ...] = setting(Many(Length(10.0)), (), "how much of the run was solid, of one or more markers")
    sealed_with: str | None = setting(Text(), None, "the sealer that was tried")
    plain_ran: bool | None = setting(Flag(), None, "whether the unsealed lines ran under the coat")
    sealed_ran: bool | None = setting(Flag(), None, "whether the sealed lines ran under the coat")


@dataclass(frozen=True)
class MachineReadings:
    """What was read off the machine's card; lengths in mm, x to the right, y away from you."""

    bottom: tuple[float, ...] = setting(Many(Length(above=0.0)), (), "the square's side that is nearest to you")
    top: tuple[float, ...] = setting(Many(Length(above=0.0)), (), "the side that is farthest from you")
    left: tuple[float, ...] = setting(Many(Length(above=0.0)), (), "the left side")
    right: tuple[float, ...] = setting(Many(Length(above=0.0)), (), "the right side")
    rising: tuple[float, ...] = setting(Many(Length(above=0.0)), (), "the diagonal from the near left corner")
    falling: tuple[float, ...] = setting(Many(Length(above=0.0)), (), "the diagonal from the far left corner")
    step_x: tuple[float, ...] = setting(
        Many(Length(-LARGEST_STEP_MM, LARGEST_STEP_MM)), (), "how far right the lower halves are of the upper ones"
    )
    step_y: tuple[float, ...] = setting(
        Many(Length(-LARGEST_STEP_MM, LARGEST_STEP_MM)), (), "how far away the right halves are of the left ones"
    )
    turned: tuple[tuple[float, float], ...] = setting(
        Many(Size(above=None)), (), "from the upright cross to the one drawn with the marker turned, right x away"
    )
    wheel: float | None = setting(Acceleration(), None, "the last wheel that is round and closed")
    holder_offset: tuple[float, float] | None = setting(Size(above=None), None, "the offset that the job sets now")


SECTIONS = {"marker": MarkerReadings, "machine": MachineReadings}


@dataclass(frozen=True)
class Readings:
    """What a file of readings holds; a section that it has not is None. words: the readings as they were typed in."""

    marker: MarkerReadings | None
    machine: MachineReadings | None
    words: dict[str, dict[str, object]]


def read_readings(path: Path) -> Readings:
    """Readings from a TOML file. Raises InputError with file and line."""
    text = read_text(path)
    data = read_toml(text, path)
    for name, table in data.items():
        if name not in SECTIONS or not isinstance(table, dict):
            raise InputError(f"expected [marker] or [machine], got {name!r}", file=path, line=line_of(text, (name,)))
    read: dict[str, Any] = {}
    for name, table in data.items():
        try:
            read[name] = read_settings(SECTIONS[name], table, f"[{name}] ")
            for key, value in table.items():
                if isinstance(value, list) and len(value) > MOST_READINGS:
                    raise SettingError(key, f"{key}: expected at most {MOST_READINGS} readings, got {len(value)}")
                if key in OF_ONE_THING:
                    hold_together(key, getattr(read[name], key), value)
                if key in SQUARE:
                    hold_against_card(key, getattr(read[name], key), value)
            if name == "marker":
                hold_speeds(read[name], table)
        except SettingError as error:
            raise InputError(error.text, file=path, line=line_of(text, (name, error.key))) from None
    if not any(value for table in data.values() for value in table.values() if value != "outline"):
        raise InputError("holds no readings; type in what the card shows, under [marker] or [machine]", file=path)
    return Readings(read.get("marker"), read.get("machine"), data)


def hold_speeds(marker: MarkerReadings, words: Mapping[str, object]) -> None:
    """Raise SettingError where a line that is not solid is slower than the fastest that is."""
    if marker.solid is not None and marker.faint is not None and marker.faint <= marker.solid:
        raise SettingError(
            "faint", f"faint: {words['faint']} is no faster than solid, {words['solid']}; look at these lines again"
        )


def hold_against_card(key: str, values: tuple[float, ...], words: list[object]) -> None:
    """Raise SettingError for readings of the card's square (mm, as typed in) that no machine draws."""
    drawn = SIDE_MM if key in SIDES else SIDE_MM * sqrt(2.0)
    for value, typed in zip(values, words, strict=True):
        if abs(value / drawn - 1.0) > FAR:
            raise SettingError(key, f"{key}: {typed} is far from the {drawn:.1f} mm of the card; is its unit right?")


def hold_together(key: str, values: tuple[float, ...], words: list[object]) -> None:
    """Raise SettingError for readings of one thing (mm, as typed in) that are multiples of one another."""
    if values and max(values) > APART * min(values):
        least, most = words[values.index(min(values))], words[values.index(max(values))]
        raise SettingError(
            key, f"{key}: {least} and {most} cannot be readings of one thing; is the unit of each right?"
        )
