"""Style sheets and `style` attributes: their declarations, and which elements each rule is for.

Parsing is tinycss2's, selectors are cssselect2's. Source: CSS 2.1, chapters 4 and 5.
"""

import contextlib
import math
import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import cssselect2
import tinycss2
from lxml import etree

from underdraw.errors import CannotDo
from underdraw_stages.import_.file import limits

Declarations = list[tuple[str, str, bool]]  # property, value, whether it is !important
Rule = tuple[str, Declarations]  # the selectors as written

SCREEN_MEDIA = re.compile(r"\s*+(?:all|screen|only\s++screen)?+\s*+", re.IGNORECASE)
_PLAIN_STYLE = re.compile(r"[^'\"()/!\\{}@]*")
_COMBINED = re.compile(r"\s*[>+~]\s*|\s+")


class UnreadableStyle(Exception):
    """A style that the parser cannot take: a number of thousands of digits."""


@contextlib.contextmanager
def _readable() -> Iterator[None]:
    try:
        yield
    except ValueError as error:
        raise UnreadableStyle from error


@lru_cache(maxsize=65_536)
def read_style(text: str) -> tuple[tuple[str, str, bool], ...]:
    """Declarations of one `style` as (property, value, important)."""
    found: list[tuple[str, str, bool]] = []
    if _PLAIN_STYLE.fullmatch(text):  # most are: no strings, functions or escapes, so no parser is due
        for item in text.split(";"):
            name, colon, value = item.partition(":")
            if colon:
                found.append((name.strip().lower(), value.strip(), False))
        return tuple(found)
    with _readable():
        nodes = tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True)
    for node in nodes:
        if node.type == "declaration":
            found.append((node.lower_name, tinycss2.serialize(node.value).strip(), node.important))
    return tuple(found)


def read_sheets(root: etree._Element) -> tuple[list[Rule], list[str]]:
    """The rules of every style sheet for the screen, in document order, and the sheets outside the file they name."""
    rules: list[Rule] = []
    refused: list[str] = []
    for element in root.iter("{*}style"):
        kind = element.get("type", "text/css").strip().lower()
        if kind in ("", "text/css") and SCREEN_MEDIA.fullmatch(element.get("media", "")):
            text = "".join(element.itertext())
            with _readable():
                nodes = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
            _collect(nodes, rules, refused)
    return rules, refused


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
            elif node.lower_at_keyword == "media" and node.content is not None and SCREEN_MEDIA.fullmatch(prelude):
                inner = tinycss2.parse_rule_list(node.content, skip_comments=True, skip_whitespace=True)
                _collect(inner, rules, refused)


def match_sheets(root: etree._Element, rules: list[Rule], file: str) -> dict[etree._Element, Declarations]:
    """The declarations of rules that match each element, from the least specific to the most.

    Raises CannotDo where the selectors could try too many ancestors.
    """
    matcher = cssselect2.Matcher()
    for selectors, declarations in rules:
        try:
            for selector in cssselect2.compile_selector_list(selectors):
                if selector.pseudo_element is None:
                    matcher.add_selector(selector, declarations)
        except cssselect2.SelectorError:
            continue  # CSS 2.1, 4.1.7: a rule whose selector cannot be read is dropped
    if _tests(root, rules) > limits.MOST_SELECTOR_TESTS:
        raise CannotDo("its style sheets have selectors that look too far; simplify them", file=file)
    matched: dict[etree._Element, Declarations] = {}
    for wrapper in cssselect2.ElementWrapper.from_xml_root(root).iter_subtree():
        hits = sorted(matcher.match(wrapper), key=lambda hit: hit[:2])  # specificity, then order
        found = [declaration for hit in hits for declaration in hit[-1]]
        if found:
            matched[wrapper.etree_element] = found
    return matched


def _tests(root: etree._Element, rules: list[Rule]) -> float:
    """About how many ancestors the selectors try at worst: each combinator may try every ancestor of the one before."""
    combinators = [len(_COMBINED.findall(one.strip())) for selectors, _ in rules for one in selectors.split(",")]
    if max(combinators, default=0) < 2:
        return 0.0
    count = deepest = depth = 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        depth += 1 if event == "start" else -1
        deepest, count = max(deepest, depth), count + (event == "start")
    return sum(
        count * math.exp(many * math.log(deepest + 1) - math.lgamma(many + 1)) for many in combinators if many > 1
    )
