"""On which line each key of a TOML text is, for messages. Grammar: TOML 1.0, toml.io/en/v1.0.0.

tomllib reads the values, and has read them before a line is asked for; it keeps no positions. So this walks over the
same text once, token by token, and minds only what keys and structure need: comments, the four kinds of strings, arrays
and inline tables over several lines, dotted and quoted keys, tables and arrays of tables.
"""

import contextlib
import re
from collections.abc import Sequence

Way = tuple[str | int, ...]  # from the top: names of tables and keys, and indices (from 0) within arrays

_STRINGS = ('"""', "'''", '"', "'")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANKS = re.compile(r"[ \t]*")
_BETWEEN = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")  # values of an array: blanks, ends of lines and comments
_PLAIN_VALUE = re.compile(r"[^,\]}#\r\n]*")  # a number, a date, true or false
_ENDS = {
    '"""': re.compile(r'(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}', re.DOTALL),  # up to two quotes more belong to the text
    "'''": re.compile(r"(?:[^']|'{1,2}(?!'))*'{3,5}", re.DOTALL),
    '"': re.compile(r'(?:[^"\\\n]|\\.)*"'),
    "'": re.compile(r"[^'\n]*'"),
}


def line_of(text: str, keys: Sequence[str | int]) -> int | None:
    """The line (from 1) of a key in TOML text, or of the table that it would be in; None where not even that is there.

    A hyphen and an underscore are the same in a key, as settings take both. A text that is no TOML gives what comes
    before its fault.

    >>> line_of('[bed]  # size = none\\nsize = "1 in"', ("bed", "size")), line_of("[bed]", ("bed", "size"))
    (2, 1)
    """
    lines = {_spoken(way): line for way, line in reversed(key_positions(text).items())}
    ways = (_spoken(tuple(keys[:count])) for count in range(len(keys), 0, -1))
    return next((lines[way] for way in ways if way in lines), None)


def key_positions(text: str) -> dict[Way, int]:
    """The line (from 1) of every table, key and item of an array in TOML text.

    A table is at its own header, or, if it has none, at the first key or header that implies it. A text that is no TOML
    gives what comes before its fault.
    """
    walk = _Walk(text)
    with contextlib.suppress(_Fault, RecursionError):
        walk.document()
    return {**walk.implied, **walk.stated}


def _spoken(way: Way) -> Way:
    return tuple(key.replace("_", "-") if isinstance(key, str) else key for key in way)


class _Fault(Exception):
    """The text is no TOML from here on."""


class _Walk:
    """One walk over a text: `at` is the index of the next character."""

    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.line, self.counted = 1, 0  # the line at index `counted`
        self.stated: dict[Way, int] = {}
        self.implied: dict[Way, int] = {}
        self.lengths: dict[Way, int] = {}  # of arrays of tables, so far

    def document(self) -> None:
        """Every line: a header, or a key and its value, within the last header's table."""
        table: Way = ()
        while self.skip(_BETWEEN) < len(self.text):
            if self.text.startswith("[", self.at):
                table = self.header()
            else:
                self.pair(table)

    def header(self) -> Way:
        """`[a.b]` or `[[a.b]]`: the table that the next keys are in."""
        line = self.here()
        bracket = "[[" if self.text.startswith("[[", self.at) else "["
        self.expect(bracket)
        way = self.in_arrays(self.dotted())
        self.expect("]" * len(bracket))
        self.imply(way, line)
        if bracket == "[":
            self.stated[way] = line
            return way
        index = self.lengths.get(way, 0)
        self.lengths[way] = index + 1
        self.stated.setdefault(way, line)
        self.stated[*way, index] = line
        return (*way, index)

    def in_arrays(self, names: Way) -> Way:
        """The way of a header's table: of an array of tables that leads to it, its last one."""
        way: Way = ()
        for count, name in enumerate(names, 1):
            way = (*way, name)
            if count < len(names) and way in self.lengths:
                way = (*way, self.lengths[way] - 1)
        return way

    def pair(self, table: Way) -> None:
        """`key = value`."""
        line = self.here()
        way = (*table, *self.dotted())
        self.expect("=")
        self.imply(way, line)
        self.stated.setdefault(way, line)
        self.skip(_BLANKS)
        self.value(way)

    def imply(self, way: Way, line: int) -> None:
        """The tables that lead to a key are here, unless they have a place already."""
        for count in range(1, len(way)):
            self.implied.setdefault(way[:count], line)

    def value(self, way: Way) -> None:
        """A value, and whatever keys and items are in it."""
        quote = next((mark for mark in _STRINGS if self.text.startswith(mark, self.at)), None)
        if quote is not None:
            self.string(quote)
        elif self.text.startswith("[", self.at):
            self.array(way)
        elif self.text.startswith("{", self.at):
            self.inline_table(way)
        else:
            start = self.at
            if not self.text[start : self.skip(_PLAIN_VALUE)].strip():
                raise _Fault

    def array(self, way: Way) -> None:
        """`[ value, value, ]`."""
        self.expect("[")
        index = 0
        while not self.closed("]"):
            self.stated[*way, index] = self.here()
            self.value((*way, index))
            index += 1
            self.comma("]")

    def inline_table(self, way: Way) -> None:
        """`{ key = value, key = value }`."""
        self.expect("{")
        while not self.closed("}"):
            self.pair(way)
            self.comma("}")

    def closed(self, bracket: str) -> bool:
        """Whether the closing bracket comes next; it is passed."""
        self.skip(_BETWEEN)
        if not self.text.startswith(bracket, self.at):
            return False
        self.at += 1
        return True

    def comma(self, bracket: str) -> None:
        """The comma after a value; none is needed before the closing bracket."""
        self.skip(_BETWEEN)
        if not self.text.startswith(bracket, self.at):
            self.expect(",")

    def dotted(self) -> Way:
        """`a.b."c d"`, each name as it is meant."""
        names = [self.name()]
        while self.skip(_BLANKS) < len(self.text) and self.text[self.at] == ".":
            self.at += 1
            names.append(self.name())
        return tuple(names)

    def name(self) -> str:
        """One bare or quoted name."""
        self.skip(_BLANKS)
        start = self.at
        if self.text.startswith(('"', "'"), start):
            self.string(self.text[start])
            return _meant(self.text[start : self.at])
        match = _BARE.match(self.text, start)
        if match is None:
            raise _Fault
        self.at = match.end()
        return match[0]

    def string(self, quote: str) -> None:
        """Past a string, of whichever kind."""
        match = _ENDS[quote].match(self.text, self.at + len(quote))
        if match is None:
            raise _Fault
        self.at = match.end()

    def expect(self, mark: str) -> None:
        """Past a mark that must be next."""
        self.skip(_BLANKS)
        if not self.text.startswith(mark, self.at):
            raise _Fault
        self.at += len(mark)

    def skip(self, what: re.Pattern[str]) -> int:
        """Past whatever of it comes next; the index after it."""
        match = what.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return self.at

    def here(self) -> int:
        """The line of the next character."""
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        return self.line


def _meant(quoted: str) -> str:
    """What a quoted name means, its escapes resolved."""
    if quoted.startswith("'"):
        return quoted[1:-1]
    import tomllib

    try:
        return str(tomllib.loads(f"name = {quoted}")["name"])
    except tomllib.TOMLDecodeError:
        raise _Fault from None
