"""What one controller reads: its limits, the words it has, and words of its own put into the standard's.

A controller may declare words that NISTIR 6556 does not have, with what each does in words it does have: a pause, a
wait, or the marker lifted or lowered by something else than Z. Nothing else can be declared: no word that the reader
knows may be given another meaning, so that no declaration hides a started spindle. Line numbers stay as they are.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from underdraw.errors import CannotDo
from underdraw.program.codes import G_CODES, M_CODES
from underdraw.program.problems import Faults
from underdraw.program.tokens import LONGEST_LINE, read_words

SAMPLE_WAIT_S = 0.5
SLOWEST_LIFT_S = 2.0  # all that a controller may wait by itself for a lift; more is a wait in another unit

Word = tuple[str, float]  # a letter and its number, such as ("G", 17.0)

OWN_WORD = re.compile(
    r"(?P<letter>[GM])0*(?P<code>\d+(?:\.\d+)?)(?P<parameters>(?: ?[DEHLPQRS]-?(?:\d+\.?\d*|\.\d+))*)"
)
PARAMETER = re.compile(r"([A-Z])(-?)0*(\d*\.?\d*)")
MEANING = re.compile(r"M0|G4 P(?P<wait>\d+\.?\d*|\.\d+)|G(?P<move>[01]) Z(?P<height>-?(?:\d+\.?\d*|\.\d+))")
EXPLAINED = "output"  # the one fault that a declaration may explain: an output that moves the marker, and no laser
_MODE = r"G\s*0*(?P<mode>9[01])(?![\d.])"


@dataclass(frozen=True)
class Dialect:
    """One controller as a program's reader needs it.

    decimals: digits after the point of coordinates, by unit. words: the G and M words that it writes, own words as
    what they mean; letters: of every word that it writes. begins: the G and M words of its beginning, by unit; modes:
    those that it states again after a pause.
    longest_number: the highest N that it reads; highest_number: of those that number strokes.
    absolute_only: it has no G90. dwell_s: s a unit of its dwells.
    meanings: own words in the standard's. swing_s: s that it waits by itself for a slow lift. Empty: not known.
    """

    name: str
    arcs: bool = True
    comments: bool = True
    pauses: bool = True
    dwells: bool = True
    decimals: Mapping[str, int] = field(default_factory=dict)
    feed_decimals: int = 8
    longest_line: int = LONGEST_LINE
    longest_number: int | None = None
    highest_number: int | None = None
    absolute_only: bool = False
    dwell_s: float = 1.0
    meanings: Mapping[str, str] = field(default_factory=dict)
    words: frozenset[Word] = frozenset()
    letters: frozenset[str] = frozenset()
    begins: Mapping[str, frozenset[Word]] = field(default_factory=dict)
    modes: Mapping[str, frozenset[Word]] = field(default_factory=dict)
    swing_s: float = 0.0

    @classmethod
    def of(cls, controller: Any, path: str = "exact") -> "Dialect":
        """Of a controller, as plugins declare one. Raises CannotDo for own words that cannot be read.

        path: how it is to pass corners, `exact` or `blend`.

        The words that it has are read from a short sample of each kind of block that it writes.
        """
        begins, modes, words, swing = {}, {}, set[Word](), 0.0
        dwell_s = 0.001 if controller.dwell_unit == "ms" else 1.0
        for units in controller.decimals:
            stated = controller.path(path)
            first = _words([*controller.begin(units), *stated], controller.meanings, controller.name)
            sample = _words(_sample(controller, units), controller.meanings, controller.name)
            words |= {*first, *sample}
            begins[units] = frozenset(word for word in first if word[0] in "GM")
            again = _words([*controller.modes(units), *stated], controller.meanings, controller.name)
            modes[units] = frozenset(word for word in again if word[0] in "GM")
            words |= set(again)
            waited = sum(value for letter, value in sample if letter == "P") * dwell_s
            swing = max(swing, min(waited - SAMPLE_WAIT_S * controller.dwells, SLOWEST_LIFT_S))
        return cls(
            name=controller.name,
            arcs=controller.arcs,
            comments=controller.comments,
            pauses=controller.pauses,
            dwells=controller.dwells,
            decimals=controller.decimals,
            feed_decimals=controller.feed_decimals,
            longest_line=controller.longest_line,
            longest_number=controller.longest_number,
            highest_number=min(controller.highest_number, controller.longest_number),
            absolute_only=controller.absolute_only,
            dwell_s=dwell_s,
            meanings=controller.meanings,
            words=frozenset(word for word in words if word[0] in "GM"),
            letters=frozenset(letter for letter, _ in words) | {"N"},
            begins=begins,
            modes=modes,
            swing_s=swing,
        )

    @property
    def own_heights(self) -> frozenset[float]:
        """The heights, in the program's units, of words that move the marker without Z; empty: Z moves it."""
        match = [MEANING.fullmatch(meaning.strip().upper()) for meaning in self.meanings.values()]
        return frozenset(float(means["height"]) for means in match if means is not None and means["height"])

    def in_standard_words(self, data: bytes) -> bytes:
        """See `in_standard_words`."""
        return in_standard_words(data, self.meanings, self.name, self.dwell_s)


def _sample(controller: Any, units: str) -> list[str]:
    """A few blocks of every kind that a controller writes, after its last pass over them."""
    place = {"x": 1.0, "y": 1.0}
    up, there = controller.coordinates(units, z=5.0), controller.coordinates(units, **place)
    blocks = [*controller.begin(units), controller.rapid(up), controller.rapid(there)]
    blocks.append(controller.line(f"{controller.coordinates(units, z=0.0)} {controller.feed(600.0)}"))
    if controller.dwells:
        blocks.append(controller.dwell(SAMPLE_WAIT_S))
    blocks.append(controller.line(f"{controller.coordinates(units, x=3.0, y=2.0)} {controller.feed(700.0)}"))
    if controller.arcs:
        arc = controller.coordinates(units, x=4.0, y=3.0, i=0.0, j=1.0)
        blocks += [
            controller.arc(False, arc),
            controller.arc(True, controller.coordinates(units, **place, i=1.0, j=1.0)),
        ]
    blocks += [controller.rapid(up), controller.rapid(there)]
    if controller.pauses:
        blocks += [*controller.pause("put in marker outline"), *controller.modes(units), controller.rapid(up)]
    if controller.optional_stops:
        blocks += [*controller.optional_stop(), *controller.modes(units), controller.rapid(up)]
    return list(controller.finish([*blocks, *controller.end()]))


def _words(blocks: list[str], meanings: Mapping[str, str], who: str) -> list[Word]:
    """Every word of some blocks; what is none is for the check of a whole program to find."""
    data = in_standard_words("\n".join(blocks).encode("ascii", "replace"), meanings, who)
    words = read_words(data, Faults())
    return [(chr(letter), float(value)) for letter, value in zip(words.letter, words.value, strict=True)]


def in_standard_words(data: bytes, meanings: Mapping[str, str], who: str, dwell_s: float = 1.0) -> bytes:
    """A program with a controller's own words replaced by what they mean.

    dwell_s: s a unit of the program's own dwells, which a declared wait (in seconds) is put into.

    A height is where the marker then is, whatever the distance mode: after G91 it is written as a step from the
    height before. Raises CannotDo, naming the controller (`who`), for a declaration that may not be, and for a height
    that no absolute one came before.

    >>> in_standard_words(b"G90 M91\\nM90 (swap)", {"M90": "M0", "M91": "G0 Z5"}, "servo").splitlines()[1]
    b'M0 (swap)'
    """
    if not meanings:
        return data
    declared = [_declaration(word, meaning, who) for word, meaning in meanings.items()]
    declared.sort(key=lambda item: -len(item[0]))  # M280 P0 S40 before M280 P0
    own = "|".join(f"(?P<own{index}>{pattern})" for index, (pattern, _, _) in enumerate(declared))
    word = re.compile(rf"(?=[(GM])(?:\([^()\n]*\)|{_MODE}|{own})", re.IGNORECASE)
    state = _Marker(declared, who, dwell_s)
    return word.sub(state.replaced, data.decode("utf-8", "surrogateescape")).encode("utf-8", "surrogateescape")


def _declaration(word: str, meaning: str, who: str) -> tuple[str, str, re.Match[str]]:
    """One word as a pattern, as it was declared, and what it means. Raises CannotDo."""
    match, means = OWN_WORD.fullmatch(word.strip().upper()), MEANING.fullmatch(meaning.strip().upper())
    if match is None or means is None:
        raise CannotDo(
            f"controller {who!r} declares {word!r} as {meaning!r}; a word such as M90 or M280 P0 S40 may mean a pause "
            "(M0), a wait (G4 P0.3) or the marker's height (G0 Z5, G1 Z0)"
        )
    known = (G_CODES if match["letter"] == "G" else M_CODES).get(float(match["code"]))
    if known is not None and known.fault != EXPLAINED:
        raise CannotDo(f"controller {who!r} gives {word!r} a meaning of its own; the standard has one for it already")
    rest = "".join(
        rf"\s*{letter}\s*{sign}0*{re.escape(digits or '0')}"
        for letter, sign, digits in PARAMETER.findall(match["parameters"])
    )
    return rf"{match['letter']}\s*0*{re.escape(match['code'])}(?![\d.]){rest}(?![\d.])", word, means


class _Marker:
    """What has been read so far: the distance mode, and where the marker was last put."""

    def __init__(self, declared: list[tuple[str, str, re.Match[str]]], who: str, dwell_s: float) -> None:
        self.declared = declared
        self.who = who
        self.dwell_s = dwell_s
        self.relative = False
        self.height: float | None = None

    def replaced(self, match: re.Match[str]) -> str:
        """What stands in a found word's place. Raises CannotDo for a height that cannot be known."""
        if match["mode"] is not None:
            self.relative = match["mode"] == "91"
        if match["mode"] is not None or match.group().startswith("("):
            return match.group()
        index = next(index for index in range(len(self.declared)) if match[f"own{index}"] is not None)
        _, word, means = self.declared[index]
        if means["wait"] is not None:
            return f"G4 P{float(means['wait']) / self.dwell_s:g}"
        if means["height"] is None:
            return means.group()
        before, self.height = self.height, float(means["height"])
        if not self.relative:
            return means.group()
        if before is None:
            raise CannotDo(f"controller {self.who!r}: {word} comes after G91, and no height was set before it")
        return f"G{means['move']} Z{self.height - before:g}"
