"""Which elements each rule of a style sheet is for, within a bound on the work.

Selectors are cssselect2's, which finds rules by id, class and element name. What a selector looks at (ancestors,
siblings, attributes) is counted as it happens: the text alone does not tell what `a b ~ c:nth-of-type(2n)` costs.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import cssselect2
from lxml import etree

from underdraw.errors import CannotDo
from underdraw_stages.import_.file import limits

Declarations = list[tuple[str, str, bool]]  # property, value, whether it is !important
Rule = tuple[str, Declarations]  # the selectors as written
SIBLINGS = re.compile(r"[~+]|:nth")
STEPS_A_WRAPPER = 10  # made anew where a selector looks down into an element
STEPS_A_HIT = 4  # a rule that is for an element is sorted among the others too
LETTERS_A_STEP = 256  # of an attribute, compared about as fast as one element is looked at


@dataclass
class Steps:
    """Counts what selectors look at; `file` is what messages call the artwork."""

    file: str
    taken: int = 0

    def take(self, count: int = 1) -> None:
        """So many more. Raises CannotDo beyond `MOST_STYLE_STEPS`."""
        self.taken += count
        if self.taken > limits.MOST_STYLE_STEPS:
            text = f"its style sheets take more than {limits.MOST_STYLE_STEPS:,} steps to match; simplify them"
            raise CannotDo(text, file=self.file)


def match_rules(root: etree._Element, rules: list[Rule], file: str) -> dict[etree._Element, Declarations]:
    """The declarations of rules that match each element, from the least specific to the most.

    Raises CannotDo where there are too many selectors, or they look too far.
    """
    steps = Steps(file)
    matcher = _matcher(rules, steps)
    matched: dict[etree._Element, Declarations] = {}
    joined: dict[tuple[int, ...], Declarations] = {}  # elements that the same rules are for share what is declared
    siblings = any(SIBLINGS.search(selectors) for selectors, _ in rules)
    for wrapper in _all_of(_Wrapper.from_xml_root(_Watched(root, steps)), siblings):
        hits = sorted(matcher.match(wrapper), key=lambda hit: hit[:2])  # specificity, then order
        if not hits:
            continue
        steps.take(STEPS_A_HIT * len(hits))
        which = tuple(hit[1] for hit in hits)
        if which not in joined:
            steps.take(sum(len(hit[-1]) for hit in hits))
            joined[which] = [declaration for hit in hits for declaration in hit[-1]]
        if joined[which]:
            matched[wrapper.etree_element.element] = joined[which]
    return matched


def _all_of(top: "_Wrapper", siblings: bool) -> "Iterator[_Wrapper]":
    """Every element once, which counts nothing. siblings: whether each must know those before it, which keeps them."""
    waiting = [_of_children(top, siblings)]
    yield top
    while waiting:
        wrapper = next(waiting[-1], None)
        if wrapper is None:
            waiting.pop()
        else:
            yield wrapper
            waiting.append(_of_children(wrapper, siblings))


def _of_children(parent: "_Wrapper", siblings: bool) -> "Iterator[_Wrapper]":
    before: _Wrapper | None = None
    for index, child in enumerate(list.__iter__(parent.etree_children)):
        wrapper = _Wrapper(child, parent, index, before, in_html_document=False)
        yield wrapper
        before = wrapper if siblings else None


def _matcher(rules: list[Rule], steps: Steps) -> "_Matcher":
    matcher, count = _Matcher(), 0
    for selectors, declarations in rules:
        if not declarations:
            continue
        count += selectors.count(",") + 1
        if count > limits.MOST_SELECTORS:
            text = f"its style sheets have more than {limits.MOST_SELECTORS:,} selectors; simplify them"
            raise CannotDo(text, file=steps.file)
        try:
            for selector in cssselect2.compile_selector_list(selectors):
                if selector.pseudo_element is None:
                    matcher.add_selector(selector, declarations)
        except (cssselect2.SelectorError, NotImplementedError):
            continue  # CSS 2.1, 4.1.7: a rule whose selector cannot be read is dropped
    return matcher


class _Matcher(cssselect2.Matcher):  # type: ignore[misc]  # the library is not typed
    """Counts every selector that is tried."""

    @staticmethod
    def add_relevant_selectors(element: "_Wrapper", selectors: list[Any], relevant_selectors: list[Any]) -> None:
        element.steps.take(len(selectors))
        cssselect2.Matcher.add_relevant_selectors(element, selectors, relevant_selectors)


class _Watched:
    """An element as far as selectors look at it. Each letter of an attribute that they read is counted."""

    __slots__ = ("element", "steps", "tag")

    def __init__(self, element: etree._Element, steps: Steps) -> None:
        self.element, self.steps, self.tag = element, steps, element.tag

    def __iter__(self) -> "Iterator[_Watched]":
        return (_Watched(child, self.steps) for child in self.element if isinstance(child.tag, str))

    def __contains__(self, name: str) -> bool:
        return name in self.element.attrib

    @property
    def attrib(self) -> "_Watched":
        return self

    @property
    def text(self) -> str | None:
        return str(self.element.text) if self.element.text else None

    def get(self, name: str, default: str | None = None) -> str | None:
        value: str | None = self.element.get(name, default)
        if value:
            self.steps.take(1 + len(value) // LETTERS_A_STEP)
        return value

    def iter(self, tag: str) -> Iterator[etree._Element]:
        return iter(self.element.iter(tag))


class _Siblings(list[_Watched]):
    """Children of one element. Each that is looked at is counted."""

    def __iter__(self) -> Iterator[_Watched]:
        if self:
            self[0].steps.take(len(self))
        return super().__iter__()

    def __getitem__(self, which: Any) -> Any:
        found = super().__getitem__(which)
        if isinstance(which, slice) and found:
            found[0].steps.take(len(found))
        return found


class _Wrapper(cssselect2.ElementWrapper):  # type: ignore[misc]
    """Finds ancestors and siblings one after the other; the library's own builds a tuple of all for every element."""

    @property
    def steps(self) -> Steps:
        return self.etree_element.steps  # type: ignore[no-any-return]

    @cached_property
    def etree_children(self) -> _Siblings:
        return _Siblings(self.etree_element)

    def iter_children(self) -> "Iterator[_Wrapper]":
        for child in super().iter_children():
            self.steps.take(STEPS_A_WRAPPER)
            yield child

    @property
    def ancestors(self) -> "Iterator[_Wrapper]":
        around = self.parent
        while around is not None:
            self.steps.take()
            yield around
            around = around.parent

    @property
    def previous_siblings(self) -> "Iterator[_Wrapper]":
        before = self.previous
        while before is not None:
            self.steps.take()
            yield before
            before = before.previous
