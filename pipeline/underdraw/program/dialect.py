"""A machine's own words, put into the standard's before a program is read.

A controller may declare words that NISTIR 6556 does not have, with what each does in words it does have: a pause, a
wait, or the marker lifted or lowered by something else than Z. Nothing else can be declared: no word that the reader
knows may be given another meaning, so that no declaration hides a started spindle. Line numbers stay as they are.
"""

import re
from collections.abc import Mapping

from underdraw.errors import CannotDo
from underdraw.program.codes import G_CODES, M_CODES

OWN_WORD = re.compile(r"(?P<letter>[GM])0*(?P<code>\d+(?:\.\d+)?)(?: ?P0*(?P<p>\d+))?")
MEANING = re.compile(r"M0|G4 P(?:\d+\.?\d*|\.\d+)|G(?P<move>[01]) Z(?P<height>-?(?:\d+\.?\d*|\.\d+))")
EXPLAINED = "output"  # the one fault that a declaration may explain: an output that moves the marker, and no laser
_MODE = r"G0*(?P<mode>9[01])(?![\d.])"


def in_standard_words(data: bytes, meanings: Mapping[str, str], who: str) -> bytes:
    """A program with a controller's own words replaced by what they mean.

    A height is where the marker then is, whatever the distance mode: after G91 it is written as a step from the
    height before. Raises CannotDo, naming the controller (`who`), for a declaration that may not be, and for a height
    that no absolute one came before.

    >>> in_standard_words(b"G90 M91\\nM90 (swap)", {"M90": "M0", "M91": "G0 Z5"}, "servo").splitlines()[1]
    b'M0 (swap)'
    """
    if not meanings:
        return data
    declared = [_declaration(word, meaning, who) for word, meaning in meanings.items()]
    own = "|".join(f"(?P<own{index}>{pattern})" for index, (pattern, _, _) in enumerate(declared))
    word = re.compile(rf"(?=[(GM])(?:\([^()\n]*\)|{_MODE}|{own})", re.IGNORECASE)
    state = _Marker(declared, who)
    return word.sub(state.replaced, data.decode("utf-8", "surrogateescape")).encode("utf-8", "surrogateescape")


def _declaration(word: str, meaning: str, who: str) -> tuple[str, str, re.Match[str]]:
    """One word as a pattern, as it was declared, and what it means. Raises CannotDo."""
    found, means = OWN_WORD.fullmatch(word.strip().upper()), MEANING.fullmatch(meaning.strip().upper())
    if found is None or means is None:
        raise CannotDo(
            f"controller {who!r} declares {word!r} as {meaning!r}; a word such as M90 or M62 P1 may mean a pause (M0), "
            "a wait (G4 P0.3) or the marker's height (G0 Z5, G1 Z0)"
        )
    known = (G_CODES if found["letter"] == "G" else M_CODES).get(float(found["code"]))
    if known is not None and known.fault != EXPLAINED:
        raise CannotDo(f"controller {who!r} gives {word!r} a meaning of its own; the standard has one for it already")
    rest = rf"\s*P\s*0*{found['p']}" if found["p"] else ""
    return rf"{found['letter']}\s*0*{re.escape(found['code'])}(?![\d.]){rest}(?![\d.])", word, means


class _Marker:
    """What has been read so far: the distance mode, and where the marker was last put."""

    def __init__(self, declared: list[tuple[str, str, re.Match[str]]], who: str) -> None:
        self.declared = declared
        self.who = who
        self.relative = False
        self.height: float | None = None

    def replaced(self, found: re.Match[str]) -> str:
        """What stands in a found word's place. Raises CannotDo for a height that cannot be known."""
        if found["mode"] is not None:
            self.relative = found["mode"] == "91"
        if found["mode"] is not None or found.group().startswith("("):
            return found.group()
        index = next(index for index in range(len(self.declared)) if found[f"own{index}"] is not None)
        _, word, means = self.declared[index]
        if means["height"] is None:
            return means.group()
        before, self.height = self.height, float(means["height"])
        if not self.relative:
            return means.group()
        if before is None:
            raise CannotDo(f"controller {self.who!r}: {word} comes after G91, and no height was said before it")
        return f"G{means['move']} Z{self.height - before:g}"
