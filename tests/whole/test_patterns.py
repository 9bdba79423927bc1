"""No pattern repeats a group possessively: early Pythons keep what a repeat read before it failed.

Source: CPython's changelog, 3.11.5, gh-106052 ("possessive quantifiers in the case of a subpattern containing
backtracking"); seen with 3.11.2, where a length of `50em` was read as `50e` and `m`.
"""

import re
from pathlib import Path

import pytest

from underdraw.words.lengths import parse_length
from underdraw_stages.import_.file.user_units import split_length
from underdraw_stages.import_.style.style_sheets import SCREEN_MEDIA

TREE = Path(__file__).parents[2]
REPEATED_GROUP = re.compile(r"\)(?:[?*+]|\{[\d,]+\})\+")


def test_no_group_is_repeated_possessively() -> None:
    sources = [path for folder in ("pipeline", "plugins") for path in (TREE / folder).rglob("*.py")]
    assert len(sources) > 200
    found = []
    for path in sources:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if REPEATED_GROUP.search(line.partition("  #")[0]) and not line.startswith("#"):
                found.append(f"{path.relative_to(TREE)}:{number}")
    assert not found, "write (?>(?:…)?) for (?:…)?+"


@pytest.mark.parametrize(("text", "parts"), [("50em", (50.0, "em")), ("2e1em", (20.0, "em")), (".5ex", (0.5, "ex"))])
def test_a_unit_that_begins_like_a_power_of_ten_is_a_unit(text: str, parts: tuple[float, str]) -> None:
    """Source: CSS Values and Units 3, 4.2 and 5.1: `em` and `ex` after a number."""
    assert split_length(text) == parts


def test_half_of_a_medium_is_none() -> None:
    assert SCREEN_MEDIA.fullmatch("only screen")
    assert not SCREEN_MEDIA.fullmatch("only ")


def test_a_length_may_have_a_power_of_ten() -> None:
    assert parse_length("2.5e1 mm") == 25.0
