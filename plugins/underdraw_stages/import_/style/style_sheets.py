"""Style sheets and `style` attributes: their declarations. Parsing is tinycss2's. Source: CSS 2.1, chapter 4."""

import contextlib
import re
from collections.abc import Iterator
from sys import intern
from typing import Any

import tinycss2
from lxml import etree

from underdraw.errors import CannotDo
from underdraw_stages.import_.file import limits
from underdraw_stages.import_.style.selectors import Rule

SCREEN_MEDIA = re.compile(r"\s*+(?>(?:all|screen|only\s++screen)?)\s*+", re.IGNORECASE)
_PLAIN_STYLE = re.compile(  # words with or without arguments, strings without escapes; atomic, so linear
    r"""(?>(?:[\w-]++(?>(?:\([^'"()/!\\{}@;]*+\))?)|[^'"()/!\\{}@\w-]++|'[^'\\;\n]*+'|"[^"\\;\n]*+")*)"""
)


class UnreadableStyle(Exception):
    """A style that the parser cannot take: a number of thousands of digits."""


@contextlib.contextmanager
def _readable() -> Iterator[None]:
    try:
        yield
    except ValueError as error:
        raise UnreadableStyle from error


class Styles:
    """Reads style sheets and `style` attributes of one artwork; `file` is what messages call it."""

    def __init__(self, file: str) -> None:
        self._file = file
        self._parsed = 0

    def read(self, text: str) -> tuple[tuple[str, str, bool], ...]:
        """Declarations of one `style` as (property, value, important). Raises CannotDo where it is too long."""
        if not _PLAIN_STYLE.fullmatch(text):
            self._room_for(text)
        return read_style(text)

    def _room_for(self, text: str) -> None:
        self._parsed += len(text)
        if self._parsed > limits.LARGEST_STYLE:
            text = f"its style sheets are longer than {limits.LARGEST_STYLE:,} characters in all; simplify them"
            raise CannotDo(text, file=self._file)

    def sheets(self, root: etree._Element) -> tuple[list[Rule], list[str]]:
        """The rules of every style sheet for the screen, in document order, and the sheets outside the file they name.

        Raises CannotDo where they are too long.
        """
        rules: list[Rule] = []
        refused: list[str] = []
        for element in root.iter("{*}style"):
            kind = element.get("type", "text/css").strip().lower()
            if kind in ("", "text/css") and for_screen(element.get("media", "")):
                text = "".join(element.itertext())
                self._room_for(text)
                with _readable():
                    nodes = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
                _collect(nodes, rules, refused)
        return rules, refused


def for_screen(media: str) -> bool:
    """Whether one of the kinds of media that a list names is the screen.

    >>> for_screen("print, screen"), for_screen("print")
    (True, False)
    """
    return any(SCREEN_MEDIA.fullmatch(kind) for kind in media.split(","))


def read_style(text: str) -> tuple[tuple[str, str, bool], ...]:
    """Declarations of one `style` as (property, value, important)."""
    declarations: list[tuple[str, str, bool]] = []
    if _PLAIN_STYLE.fullmatch(text):  # most are: no escapes or brackets in brackets, so no parser is needed
        for item in text.split(";"):
            name, colon, value = item.partition(":")
            if colon:
                declarations.append((intern(name.strip().lower()), value.strip(), False))
        return tuple(declarations)
    if len(text) > limits.LARGEST_STYLE:
        raise CannotDo(f"a `style` is longer than {limits.LARGEST_STYLE:,} characters; simplify it")
    with _readable():
        nodes = tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True)
    for node in nodes:
        if node.type == "declaration":
            declarations.append((node.lower_name, tinycss2.serialize(node.value).strip(), node.important))
    return tuple(declarations)


def _collect(nodes: list[Any], rules: list[Rule], refused: list[str]) -> None:
    for node in nodes:
        if node.type == "qualified-rule":
            content = tinycss2.parse_blocks_contents(node.content, skip_comments=True, skip_whitespace=True)
            declarations = [
                (item.lower_name, tinycss2.serialize(item.value).strip(), item.important)
                for item in content
                if item.type == "declaration"
            ]
            rules.append((tinycss2.serialize(node.prelude), declarations))
        elif node.type == "at-rule":
            prelude = tinycss2.serialize(node.prelude).strip()
            if node.lower_at_keyword == "import":
                refused.append(prelude)
            elif node.lower_at_keyword == "media" and node.content is not None and for_screen(prelude):
                inner = tinycss2.parse_rule_list(node.content, skip_comments=True, skip_whitespace=True)
                _collect(inner, rules, refused)
