"""Which marker a pause asks for: the text beside it, and the marker's name that stands in it."""

import re
import unicodedata
from collections.abc import Iterable

import numpy as np

from underdraw.program.rules.reading import Reading

MESSAGE = re.compile(r"^\s*MSG\s*,", re.IGNORECASE)  # NISTIR 6556, section 3.3.5.1
MOST_LETTERS = 40  # of a name that are looked for: a writer may shorten a long one
ANNOUNCED = r"\bmarker\s+"  # the word before a name, where a text has it


def text_at(reading: Reading, pause: int) -> str:
    """The comments and messages that belong to a pause: on its line, and between the block before it and it."""
    lines = reading.blocks.line
    before = lines[lines < pause]
    first = int(before[-1]) if len(before) else 0
    numbers = np.array([line for line, _ in reading.comments], dtype=np.int64)
    low, high = np.searchsorted(numbers, [first, pause], side="right")
    return " ".join(MESSAGE.sub("", text).strip() for _, text in reading.comments[low:high])


def named_marker(text: str, names: Iterable[str]) -> str | None:
    """Which of these markers a text asks for: what comes after the word "marker", else what is found; None: none.

    A program is plain ASCII, so other letters of a name may be any in the text, and where a text was folded, a blank
    may stand within a name. Of two names at one place the longer is meant.

    >>> named_marker("put in marker gold fine (tip 0.5 mm)", ["gold", "gold (fine)", "tip"])
    'gold (fine)'
    """
    plain = _folded(text)
    for lead in (ANNOUNCED, r"(?<![a-z0-9])"):
        found = []
        for name in names:
            held = re.search(lead + _pattern(name), plain)
            if held is not None:
                found.append((held.start(), -len(held.group()), name))
        if found:
            return min(found)[2]
    return None


def _pattern(name: str) -> str:
    """A name as it may stand in plain ASCII."""
    parts = []
    for run in re.findall(r"[a-z0-9]+|[^a-z0-9]+", _folded(name)[:MOST_LETTERS]):
        if run.isascii():
            parts.append(r"\s*".join(run) if run.isalnum() else rf"[^a-z0-9]{{0,{4 * len(run)}}}")
        else:
            parts.append(rf".{{0,{4 * len(run)}}}?")
    ends = r"(?![a-z0-9])" if len(name) <= MOST_LETTERS else ""
    return "".join(parts) + ends


def _folded(text: str) -> str:
    """Small letters without accents; a letter that is not of ASCII is a mark of its own."""
    split = unicodedata.normalize("NFKD", text.replace("×", "x")).lower()
    return "".join(letter for letter in split if not unicodedata.combining(letter))
