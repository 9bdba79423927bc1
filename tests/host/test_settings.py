"""One statement of a setting serves the shell, the job file, help and an editor's schema."""

from dataclasses import dataclass

import pytest

from underdraw.errors import InputError
from underdraw.job.settings import (
    Choice,
    Colour,
    Flag,
    Integer,
    Length,
    Many,
    Number,
    Size,
    Speed,
    Text,
    did_you_mean,
    plain_settings,
    read_settings,
    setting,
    statements,
)


@dataclass(frozen=True)
class MothSettings:
    """Settings of an invented stage."""

    wing_span: float = setting(Length(above=0.0), "40 mm", "from tip to tip")
    how: str = setting(Choice("rest", "fly"), "rest", "what it does")
    lit: bool = setting(Flag(), True, "whether the moon shines on it")
    names: tuple[str, ...] = setting(Many(Text()), (), "what it is called")
    from_: int | None = setting(Integer(1, 9), None, "first of them")


def test_defaults_are_read_as_a_person_wrote_them() -> None:
    assert read_settings(MothSettings, {}) == MothSettings(40.0, "rest", True, (), None)


def test_a_setting_is_named_as_it_is_spoken() -> None:
    assert list(statements(MothSettings)) == ["wing-span", "how", "lit", "names", "from"]
    read = read_settings(MothSettings, {"wing-span": "2 in", "from": 3})
    assert (read.wing_span, read.from_) == (50.8, 3)
    assert read_settings(MothSettings, {"wing_span": "2 in"}).wing_span == 50.8


def test_an_unknown_setting_names_the_nearest_one() -> None:
    with pytest.raises(InputError, match=r"unknown setting 'wingspan' \(did you mean 'wing-span'\?\)"):
        read_settings(MothSettings, {"wingspan": "2 in"})


@pytest.mark.parametrize(
    ("kind", "raw", "told"),
    [
        (Length(), "-1 mm", "at least 0 mm"),
        (Length(above=0.0), "0 mm", "above 0 mm"),
        (Length(most=5.0), "6 mm", "at most 5 mm"),
        (Length(most=20.0), "1 in", "at most 0.787 in, got '1 in'"),
        (Length(above=0.0), '0"', "above 0 in"),
        (Size(), "0 x 5 mm", "above 0 mm"),
        (Size(), "0 x 5 in", "above 0 in"),
        (Choice("plain", "mirror"), "miror", "did you mean 'mirror'"),
        (Number(0, 5), "6", "from 0 to 5"),
        (Number(), "inf", "expected a number"),
        (Number(), True, "expected a number"),
        (Integer(1), 1.5, "a whole number of at least 1"),
        (Flag(), "yes", "true or false"),
        (Colour(), "indigo", "such as #1b1b3a"),
        (Many(Text()), "guides", "list in brackets"),
        (Speed(), "0 mm/s", "above 0"),
        (Text(), "  ", "expected a text"),
    ],
)
def test_a_value_out_of_bounds_is_refused_with_what_would_do(kind: object, raw: object, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        kind.read(raw)  # type: ignore[attr-defined]


def test_colours_are_told_apart_by_value_not_by_spelling() -> None:
    assert Colour().read("#ABC") == Colour().read("#aabbcc") == "#aabbcc"


def test_settings_can_be_kept_in_a_drawing() -> None:
    read = read_settings(MothSettings, {"names": ["dusk", "dew"]})
    assert plain_settings(read) == {"wing-span": 40.0, "how": "rest", "lit": True, "names": ["dusk", "dew"]}


def test_a_far_word_gets_no_suggestion() -> None:
    assert did_you_mean("xyzzy", ["edges", "how"]) == "'xyzzy'"
