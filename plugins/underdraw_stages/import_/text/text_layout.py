"""Where each letter of a simple run of text stands. Source: SVG 1.1 (2nd ed.), sections 10.4 to 10.9."""

import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lxml import etree

from underdraw_stages.import_.shapes.inherited_state import InheritedState
from underdraw_stages.import_.style.style_sheets import read_style

if TYPE_CHECKING:
    from underdraw_stages.import_.text.font import Font  # fontTools is loaded when text is drawn
from underdraw_stages.import_.file.user_units import split_length, user_units

SPACE = "{http://www.w3.org/XML/1998/namespace}space"
LONGEST_EXAMPLE = 24  # letters of a text that a message shows
ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}


@dataclass(slots=True)
class Letter:
    """One letter, in the user units of the text: where it is put outright (or None), and by how much it is moved."""

    letter: str
    element: etree._Element  # text or tspan
    state: InheritedState
    x: float | None = None
    y: float | None = None
    dx: float = 0.0
    dy: float = 0.0
    rotate: float = 0.0


@dataclass(slots=True)
class PlacedLetter:
    """A letter at its place on the baseline; `size` is the font size, `rotate` in degrees."""

    letter: str
    element: etree._Element
    state: InheritedState
    x: float
    y: float
    size: float
    rotate: float


# what puts letters elsewhere, or others in their place, than one after another on a baseline; but for these values
OTHERWISE: dict[str, set[str]] = {
    "textLength": set(),
    "text-transform": {"none", "initial"},
    "writing-mode": {"lr", "lr-tb", "horizontal-tb", "initial"},
    "dominant-baseline": {"auto", "alphabetic", "initial"},
    "alignment-baseline": {"auto", "baseline", "alphabetic", "initial"},
    "baseline-shift": {"baseline", "0", "0px", "0%", "initial"},
}


def first_words(element: etree._Element) -> str:
    """The first words of a text, for messages."""
    words = " ".join("".join(element.itertext()).split())
    return words if len(words) <= LONGEST_EXAMPLE else words[:LONGEST_EXAMPLE].rsplit(" ", 1)[0] + " …"


def is_simple(element: etree._Element) -> bool:
    """Whether a text can be drawn letter by letter: one direction, no path to follow, no letters that join."""
    for item in element.iter():
        if isinstance(item.tag, str) and item.tag.rpartition("}")[2] in ("textPath", "tref"):
            return False
        written = [*item.attrib.items(), *((name, value) for name, value, _ in read_style(item.get("style", "")))]
        if any(name in OTHERWISE and value.strip().lower() not in OTHERWISE[name] for name, value in written):
            return False
    return all(
        unicodedata.bidirectional(letter) not in ("R", "AL", "AN") and not unicodedata.combining(letter)
        for letter in "".join(element.itertext())
    )


def lay_out(letters: list[Letter], font: "Font") -> Iterator[PlacedLetter]:
    """Each letter at its place; runs are anchored from one outright place to the next."""
    pen_x = pen_y = 0.0
    start = 0
    for end in range(1, len(letters) + 1):
        if end < len(letters) and letters[end].x is None and letters[end].y is None:
            continue
        run = letters[start:end]
        pen_x = run[0].x if run[0].x is not None else pen_x
        pen_y = run[0].y if run[0].y is not None else pen_y
        widths = [_width(run, at, font) for at in range(len(run))]
        shares = ANCHORS.get(run[0].state.style["text-anchor"], 0.0)
        total = sum(widths) + sum(letter.dx for letter in run)
        pen_x -= shares * total
        for letter, width in zip(run, widths, strict=True):
            pen_x += letter.dx
            pen_y += letter.dy
            size = letter.state.view.font_size
            yield PlacedLetter(letter.letter, letter.element, letter.state, pen_x, pen_y, size, letter.rotate)
            pen_x += width
        start = end


def _width(run: list[Letter], at: int, font: "Font") -> float:
    """How far after letter `at` of a run the next one stands."""
    letter = run[at]
    size = letter.state.view.font_size
    width = font.advance(letter.letter)
    after = run[at + 1] if at + 1 < len(run) else None
    spacing = _spacing(letter, "letter-spacing") + (_spacing(letter, "word-spacing") if letter.letter == " " else 0.0)
    if after is not None and after.state.view.font_size == size:
        width += font.kerning(letter.letter, after.letter)
    return width * size / font.units + spacing


def _spacing(letter: Letter, name: str) -> float:
    return user_units(letter.state.style[name], "x", letter.state.view) or 0.0


EnterSpan = Callable[
    [etree._Element, InheritedState], InheritedState | None
]  # the state inside a span, None where it is hidden
Lists = dict[str, list[float]]


def read_letters(text: etree._Element, state: InheritedState, enter: EnterSpan) -> list[Letter]:
    """The letters of a text and its spans, each with what places it; white space is run together unless preserved."""
    found: list[Letter] = []
    spans: list[tuple[etree._Element, Lists]] = []
    _collect(text, state, enter, found, spans)
    letters = _collapsed(found)
    for element, lists in spans:  # outer before inner, so that the inner one's word holds
        own = [letter for letter in letters if letter.element is element or element in letter.element.iterancestors()]
        for name, values in lists.items():
            for letter, value in zip(own, values, strict=False):
                setattr(letter, name, value)
        for letter in own[len(lists["rotate"]) :] if lists["rotate"] else ():
            letter.rotate = lists["rotate"][-1]
    return letters


def _collect(
    element: etree._Element,
    state: InheritedState,
    enter: EnterSpan,
    found: list[Letter],
    spans: list[tuple[etree._Element, Lists]],
) -> None:
    spans.append((element, {name: _list(element, name, state) for name in ("x", "y", "dx", "dy", "rotate")}))
    _add(element.text, element, state, found)
    for child in element:
        if isinstance(child.tag, str) and child.tag.rpartition("}")[2] in ("tspan", "a"):
            inner = enter(child, state)
            if inner is not None:
                _collect(child, inner, enter, found, spans)
        _add(child.tail, element, state, found)


def _add(text: str | None, element: etree._Element, state: InheritedState, found: list[Letter]) -> None:
    found += [Letter(" " if letter in "\t\n\r" else letter, element, state) for letter in text or ""]


def _list(element: etree._Element, name: str, state: InheritedState) -> list[float]:
    words = element.get(name, "").replace(",", " ").split()
    if name == "rotate":
        return [parts[0] for word in words if (parts := split_length(word)) is not None]
    axis = "x" if name in ("x", "dx") else "y"
    return [value for word in words if (value := user_units(word, axis, state.view)) is not None]


def _collapsed(letters: list[Letter]) -> list[Letter]:
    """Runs of blanks are one, and none stands at the ends. Source: SVG 1.1, section 10.15."""
    kept: list[Letter] = []
    for letter in letters:
        blank = letter.letter == " " and not _preserves(letter.element)
        if not blank or (kept and kept[-1].letter != " "):
            kept.append(letter)
    if kept and kept[-1].letter == " " and not _preserves(kept[-1].element):
        kept.pop()
    return kept


def _preserves(element: etree._Element) -> bool:
    for around in (element, *element.iterancestors()):
        if around.get(SPACE):
            return bool(around.get(SPACE) == "preserve")
    return False
