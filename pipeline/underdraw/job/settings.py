"""One statement of a setting, from which command options, job keys, help and JSON Schema are all made.

A group of settings is a frozen dataclass whose fields come from `setting(...)`:

    @dataclass(frozen=True)
    class TidySettings:
        same: float = setting(Length(), "0.2 mm", "lines closer than this are one line")

The field holds the value in the project's units (mm, s, mm/s, degrees); the statement holds its kind, its default
as a person would write it, and one line of help.
"""

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from underdraw.errors import InputError
from underdraw.words import lengths
from underdraw.words.plain_text import LONGEST_NAME, breaks_lines

T = TypeVar("T")


class SettingError(InputError):
    """A setting that is unknown or cannot be read; `key` is its name as written."""

    def __init__(self, key: str, text: str) -> None:
        super().__init__(text)
        self.key = key


class Kind:
    """What a setting's value is: how it is read, written back, and described to an editor."""

    metavar = "TEXT"
    examples: tuple[str, ...] = ()

    def read(self, raw: object) -> Any:
        """Turn what was written (a string of the shell, a value of TOML or JSON) into the value.

        Raises ValueError with one line: what was expected and what it got.
        """
        raise NotImplementedError

    def plain(self, value: Any) -> Any:
        """Turn a value into what JSON can hold, for a drawing's history; `read` need not take it back."""
        return value

    def schema(self) -> dict[str, object]:
        """JSON Schema of what may be written in a job."""
        return {"type": "string", **({"examples": list(self.examples)} if self.examples else {})}


class Text(Kind):
    """A text that is not empty."""

    def read(self, raw: object) -> str:
        if not isinstance(raw, str) or not raw.strip():
            raise ValueError(f"expected a text, got {raw!r}")
        return raw


class Name(Text):
    """What somebody calls a thing: one line of at most `LONGEST_NAME` characters, as it goes into files and tables."""

    def read(self, raw: object) -> str:
        name = super().read(raw)
        if breaks_lines(name):
            raise ValueError(f"expected a name in one line, without tabs or control characters, got {raw!r}")
        if len(name) > LONGEST_NAME:
            raise ValueError(
                f"expected a name of at most {LONGEST_NAME} characters, got one of {len(name):,}: {name!r}"
            )
        return name


class FilePath(Text):
    """A file to read, by its path; in a job, that starts at the job's folder, and the file must be there."""

    metavar = "FILE"

    def plain(self, value: str) -> str:
        from pathlib import PurePath

        return PurePath(value).name  # a drawing that travels names no folder it came from


class Flag(Kind):
    """Yes or no: `--x` and `--no-x`; true and false in a job."""

    metavar = ""

    def read(self, raw: object) -> bool:
        if not isinstance(raw, bool):
            raise ValueError(f"expected true or false, got {raw!r}")
        return raw

    def schema(self) -> dict[str, object]:
        return {"type": "boolean"}


class Choice(Kind):
    """One of these words."""

    def __init__(self, *choices: str) -> None:
        self.choices = choices
        self.metavar = "|".join(choices)

    def read(self, raw: object) -> str:
        if raw not in self.choices:
            raise ValueError(f"{did_you_mean(str(raw), self.choices)}; use one of {', '.join(self.choices)}")
        return str(raw)

    def schema(self) -> dict[str, object]:
        return {"enum": list(self.choices)}


class Number(Kind):
    """A plain number, from `least` to `most`, both included."""

    metavar = "NUMBER"

    def __init__(self, least: float = -math.inf, most: float = math.inf) -> None:
        self.least, self.most = least, most

    def read(self, raw: object) -> float:
        try:
            value = float(raw) if isinstance(raw, (str, int, float)) and not isinstance(raw, bool) else math.nan
        except ValueError:
            value = math.nan
        if not self.least <= value <= self.most or math.isinf(value):
            raise ValueError(f"expected a number{self._range()}, got {raw!r}")
        return value

    def _range(self) -> str:
        if math.isinf(self.least) and math.isinf(self.most):
            return ""
        if math.isinf(self.most):
            return f" of at least {self.least:g}"
        if math.isinf(self.least):
            return f" of at most {self.most:g}"
        return f" from {self.least:g} to {self.most:g}"

    def schema(self) -> dict[str, object]:
        limits = {"minimum": self.least, "maximum": self.most}
        return {"type": "number", **{key: limit for key, limit in limits.items() if math.isfinite(limit)}}


class Integer(Number):
    """A whole number, from `least` to `most`, both included."""

    def read(self, raw: object) -> int:
        value = super().read(raw)
        if value != int(value):
            raise ValueError(f"expected a whole number{self._range()}, got {raw!r}")
        return int(value)

    def schema(self) -> dict[str, object]:
        return {**super().schema(), "type": "integer"}


class Length(Kind):
    """A length with its unit, in mm; `least` and `most` in mm, both included, `above` excluded."""

    metavar = "LENGTH"
    examples = ("300 mm", "40 cm", "2 1/4 in")

    def __init__(self, least: float = 0.0, most: float = lengths.LONGEST_MM, *, above: float | None = None) -> None:
        self.least, self.most, self.above = least, most, above

    def read(self, raw: object) -> float:
        value, unit = lengths.parse_length(raw), lengths.unit_written(raw)
        if self.above is not None and value <= self.above:
            raise ValueError(f"expected a length above {lengths.format_length(self.above, unit, 'up')}, got {raw!r}")
        if value < self.least:
            raise ValueError(
                f"expected a length of at least {lengths.format_length(self.least, unit, 'up')}, got {raw!r}"
            )
        if value > self.most:
            raise ValueError(
                f"expected a length of at most {lengths.format_length(self.most, unit, 'down')}, got {raw!r}"
            )
        return value


class Size(Kind):
    """Width x height with units, as (width, height) in mm; both above `above` mm unless it is None."""

    metavar = "SIZE"
    examples = ("12 x 16 in", "300 x 400 mm")

    def __init__(self, above: float | None = 0.0) -> None:
        self.above = above

    def read(self, raw: object) -> tuple[float, float]:
        size = lengths.parse_size(raw)
        if self.above is not None and min(size) <= self.above:
            limit = lengths.format_length(self.above, lengths.unit_written(raw), "up")
            raise ValueError(f"expected a width and a height above {limit}, got {raw!r}")
        return size

    def plain(self, value: tuple[float, float]) -> list[float]:
        return list(value)


class Speed(Kind):
    """A speed with its unit, in mm/s, above 0."""

    metavar = "SPEED"
    examples = ("60 in/min", "25 mm/s")

    def read(self, raw: object) -> float:
        value = lengths.parse_speed(raw)
        if value <= 0:
            raise ValueError(f"expected a speed above 0, got {raw!r}")
        return value


class Acceleration(Kind):
    """An acceleration with its unit, in mm/s², above 0."""

    metavar = "ACCELERATION"
    examples = ("300 mm/s2",)

    def read(self, raw: object) -> float:
        value = lengths.parse_acceleration(raw)
        if value <= 0:
            raise ValueError(f"expected an acceleration above 0, got {raw!r}")
        return value


class Time(Kind):
    """A time with its unit, in s, of 0 or more and at most `most`."""

    metavar = "TIME"

    def __init__(self, most: float = math.inf) -> None:
        self.most = most

    def read(self, raw: object) -> float:
        value = lengths.parse_time(raw)
        if value > self.most:
            raise ValueError(f"expected a time of at most {self.most:g} s, got {raw!r}")
        return value


class Colour(Kind):
    """`#rgb` or `#rrggbb`, as `#rrggbb` in small letters."""

    metavar = "#RRGGBB"

    def read(self, raw: object) -> str:
        text = str(raw).strip().lower()
        digits = text.removeprefix("#")
        if not text.startswith("#") or len(digits) not in (3, 6) or set(digits) - set("0123456789abcdef"):
            raise ValueError(f"expected a colour such as #1b1b3a, got {raw!r}")
        return text if len(digits) == 6 else "#" + "".join(2 * digit for digit in digits)

    def schema(self) -> dict[str, object]:
        return {"type": "string", "pattern": "^#([0-9a-fA-F]{3}|[0-9a-fA-F]{6})$"}


class Many(Kind):
    """A list of values of one kind (an option given several times), as a tuple."""

    def __init__(self, kind: Kind) -> None:
        self.kind = kind
        self.metavar = kind.metavar

    def read(self, raw: object) -> tuple[Any, ...]:
        if not isinstance(raw, (list, tuple)):
            raise ValueError(f"expected a list in brackets, got {raw!r}")
        return tuple(self.kind.read(item) for item in raw)

    def plain(self, value: tuple[Any, ...]) -> list[Any]:
        return [self.kind.plain(item) for item in value]

    def schema(self) -> dict[str, object]:
        return {"type": "array", "items": self.kind.schema()}


class Table(Kind):
    """A table of settings of its own, as the settings class that states them."""

    metavar = "TABLE"

    def __init__(self, settings: type) -> None:
        self.settings = settings

    def read(self, raw: object) -> Any:
        if isinstance(raw, self.settings):
            return raw
        if not isinstance(raw, Mapping):
            raise ValueError(f"expected a table, got {raw!r}")
        try:
            return read_settings(self.settings, raw)
        except SettingError as error:
            raise ValueError(error.text) from None

    def plain(self, value: Any) -> Any:
        return plain_settings(value)

    def schema(self) -> dict[str, object]:
        known = statements(self.settings)
        held = {name: {**item.kind.schema(), "description": item.help} for name, item in known.items()}
        return {"type": "object", "additionalProperties": False, "properties": held}


@dataclass(frozen=True)
class Statement:
    """The statement of one setting."""

    kind: Kind
    default: Any  # as a person would write it; None: none, the stage decides
    help: str
    argument: bool = False  # a bare word on the command line instead of an option
    job_key: str | None = None  # where else in a job it may stand, such as "machine.controller"
    short: str | None = None  # a one-letter option beside the long one


def setting(
    kind: Kind,
    default: Any = None,
    help: str = "",
    *,
    argument: bool = False,
    job_key: str | None = None,
    short: str | None = None,
) -> Any:
    """State one setting of a frozen dataclass; see this module's text."""
    statement = Statement(kind, default, help, argument, job_key, short)
    return field(default_factory=lambda: None if default is None else kind.read(default), metadata={"": statement})


def statements(settings: type) -> dict[str, Statement]:
    """Every setting that a settings class states, by its name as a person writes it (`corner-bleed`)."""
    return {name: item.metadata[""] for name, item in stated_fields(settings).items()}


def stated_fields(settings: type) -> "dict[str, dataclasses.Field[Any]]":
    """The fields of a settings class that state a setting, by the name as a person writes it."""
    return {spoken(item.name): item for item in dataclasses.fields(settings) if "" in item.metadata}


def spoken(name: str) -> str:
    """A field's name as an option and job key: `corner_bleed` is `corner-bleed`, `from_` is `from`."""
    return name.rstrip("_").replace("_", "-")


def read_settings(settings: type[T], written: Mapping[str, object], where: str = "") -> T:
    """Make a settings object from what was written, by spoken name (an underscore for a hyphen is taken too).

    Raises SettingError (without file and line) that names the setting, after `where`.
    """
    known = stated_fields(settings)
    values: dict[str, object] = {}
    for name, raw in written.items():
        found = known.get(spoken(name))
        if found is None:
            known_ones = f"; known: {', '.join(known)}" if known else "; it has no settings"
            raise SettingError(name, f"{where}unknown setting {did_you_mean(name, list(known))}{known_ones}")
        try:
            values[found.name] = found.metadata[""].kind.read(raw)
        except ValueError as error:
            raise SettingError(name, f"{where}{name}: {error}") from None  # as it was written
    return settings(**values)


def plain_settings(settings: object) -> dict[str, Any]:
    """A settings object as JSON can hold it, by spoken name; settings that are None are left out."""
    held = {name: (item, getattr(settings, item.name)) for name, item in stated_fields(type(settings)).items()}
    return {name: item.metadata[""].kind.plain(value) for name, (item, value) in held.items() if value is not None}


def did_you_mean(word: str, known: Mapping[str, object] | tuple[str, ...] | list[str]) -> str:
    """`'edge' (did you mean 'edges'?)`, or the word alone where nothing known is near.

    >>> did_you_mean("edge", ["edges", "how"])
    "'edge' (did you mean 'edges'?)"
    """
    import difflib

    near = difflib.get_close_matches(str(word), list(known), n=1, cutoff=0.55)
    return f"{word!r} (did you mean {near[0]!r}?)" if near else repr(word)
