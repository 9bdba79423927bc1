"""What a program's texts say of its markers: which one a pause asks for, and which loads the header announces."""

import math
import re
import unicodedata
from collections.abc import Iterable
from typing import NamedTuple

from underdraw.words.lengths import LENGTH_UNITS
from underdraw.words.plain_text import plain_name

ANNOUNCED_LOAD = re.compile(
    r"\bload: (?P<marker>marker .{1,300}?): (?P<strokes>\d{1,9}) strokes?\b"
    r"(?:, [\d.,]+ (?:m|mm|ft|in), (?P<least>[\d.]+)(?: to (?P<most>[\d.]+))? (?P<unit>mm|in)/min\b)?",
    re.IGNORECASE,
)
MOST_LETTERS = 40  # of a name that are looked for: a writer may shorten a long one
ANNOUNCED = r"\bmarker\s+"  # the word before a name, where a text has it


class AnnouncedLoad(NamedTuple):
    """One load of a program by its header; marker: "" if unknown; slowest and fastest drawing, mm/s."""

    marker: str
    strokes: int
    slowest: float = 0.0
    fastest: float = math.inf


def announced_loads(texts: Iterable[str], names: Iterable[str]) -> list[AnnouncedLoad]:
    """The loads that a program's header announces, in order.

    >>> announced_loads(["load: marker gold (tip 0.5 mm): 3 strokes, 1 m, 600 mm/min, 2 min 0 s"], ["outline", "gold"])
    [AnnouncedLoad(marker='gold', strokes=3, slowest=10.0, fastest=10.0)]
    """
    known, loads = list(names), []
    for found in ANNOUNCED_LOAD.finditer(" ".join(texts)):
        load = AnnouncedLoad(named_marker(found["marker"], known) or "", int(found["strokes"]))
        if found["least"] is not None:
            mm_per_s = LENGTH_UNITS[found["unit"].lower()] / 60
            slowest, fastest = (float(speed) * mm_per_s for speed in (found["least"], found["most"] or found["least"]))
            load = load._replace(slowest=slowest, fastest=fastest)
        loads.append(load)
    return loads


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


def look_alike(name: str, other: str) -> bool:
    """Whether a program's plain text cannot tell two names apart; the loads around them still can.

    >>> look_alike("moth/gold", "moth:GOLD"), look_alike("gold", "gold fine")
    (True, False)
    """
    return _plain(name) == _plain(other)


def _plain(name: str) -> str:
    return plain_name(name).lower()[:MOST_LETTERS]


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
