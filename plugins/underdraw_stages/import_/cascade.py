"""Which style each element has: presentation attributes, `style`, style sheets, inheritance.

Source: SVG 1.1 (2nd ed.), chapter 6; CSS 2.1, chapter 6 (cascade). Selectors are cssselect2's, parsing tinycss2's.
"""

import re
from functools import lru_cache

import cssselect2
import tinycss2
from lxml import etree

from underdraw_stages.import_.paint import is_paint

INHERITED: dict[str, str] = {  # property: initial value
    "color": "#000000",
    "fill": "#000000",
    "fill-rule": "nonzero",
    "fill-opacity": "1",
    "stroke": "none",
    "stroke-opacity": "1",
    "stroke-width": "1",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "clip-rule": "nonzero",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
    "visibility": "visible",
    "font-size": "16",
    "text-anchor": "start",
    "letter-spacing": "normal",
    "word-spacing": "normal",
    "paint-order": "normal",
}
OWN: dict[str, str] = {  # not inherited
    "display": "inline",
    "opacity": "1",
    "clip-path": "none",
    "mask": "none",
    "filter": "none",
    "overflow": "",  # by element: an inner svg, symbol or marker hides what hangs over, others do not
    "transform": "",
    "transform-origin": "",
    "transform-box": "view-box",
    "vector-effect": "none",
    "stop-color": "#000000",
    "stop-opacity": "1",
    "mix-blend-mode": "normal",
}
GEOMETRY = ("x", "y", "width", "height", "cx", "cy", "r", "rx", "ry")  # SVG 2: properties as well as attributes
GEOMETRY_ELEMENTS = {"svg", "rect", "circle", "ellipse", "image", "foreignObject"}
PROPERTIES = {*INHERITED, *OWN}
SHORTHAND = {"marker": ("marker-start", "marker-mid", "marker-end")}
ONE_OF = {  # values that a property takes; anything else is dropped, and the inherited value stays
    "fill-rule": {"nonzero", "evenodd"},
    "clip-rule": {"nonzero", "evenodd"},
    "stroke-linecap": {"butt", "round", "square"},
    "stroke-linejoin": {"miter", "round", "bevel", "miter-clip", "arcs"},
    "visibility": {"visible", "hidden", "collapse"},
}
SCREEN_MEDIA = re.compile(r"^\s*(?:|all|screen|only screen)\s*$", re.IGNORECASE)
_PLAIN_STYLE = re.compile(r"[^'\"()/!\\{}@]*")

Style = dict[str, str]


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
    for node in tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True):
        if node.type == "declaration":
            found.append((node.lower_name, tinycss2.serialize(node.value).strip(), node.important))
    return tuple(found)


def says_something(name: str, value: str) -> bool:
    """Whether CSS would keep the declaration."""
    if value == "inherit":
        return True
    if name in ("fill", "stroke"):
        return is_paint(value)
    return name not in ONE_OF or value in ONE_OF[name]


class Cascade:
    """The declared style of every element of one tree."""

    def __init__(self, root: etree._Element) -> None:
        self.refused: list[str] = []  # style sheets outside the file, named but never opened
        self._matched: dict[etree._Element, list[tuple[str, str, bool]]] = {}
        rules = self._rules(root)
        if rules:
            self._match(root, rules)

    def declared(self, element: etree._Element) -> Style:
        """What is said of this element itself: property to value, after the cascade; `inherit` is kept as a word."""
        style: Style = {}
        for name, value in element.attrib.items():
            if name in PROPERTIES and says_something(name, value := value.strip()):
                style[name] = value
        matched = self._matched.get(element)
        written = element.get("style")
        if matched is None and written is None:
            return style
        ordered = (matched or []) + list(read_style(written) if written else ())
        # sorted() is stable: what is important goes over what is not, later over earlier
        for name, value, _ in sorted(ordered, key=lambda item: item[2]):
            for longhand in SHORTHAND.get(name, (name,)):
                if says_something(longhand, value):
                    style[longhand] = value
        return style

    def _rules(self, root: etree._Element) -> list[tuple[str, list[tuple[str, str, bool]]]]:
        """(selectors, declarations) of each rule of each style sheet, in document order."""
        rules: list[tuple[str, list[tuple[str, str, bool]]]] = []
        for element in root.iter("{*}style"):
            kind = element.get("type", "text/css").strip().lower()
            if kind in ("", "text/css") and SCREEN_MEDIA.match(element.get("media", "")):
                nodes = tinycss2.parse_stylesheet("".join(element.itertext()), skip_comments=True, skip_whitespace=True)
                self._collect(nodes, rules)
        return rules

    def _collect(self, nodes: list[object], rules: list[tuple[str, list[tuple[str, str, bool]]]]) -> None:
        for node in nodes:
            kind = getattr(node, "type", "")
            if kind == "qualified-rule":
                content = tinycss2.parse_blocks_contents(node.content, skip_comments=True, skip_whitespace=True)  # type: ignore[attr-defined]
                said = [
                    (item.lower_name, tinycss2.serialize(item.value).strip(), item.important)
                    for item in content
                    if item.type == "declaration"
                ]
                rules.append((tinycss2.serialize(node.prelude), said))  # type: ignore[attr-defined]
            elif kind == "at-rule":
                at, prelude = node.lower_at_keyword, tinycss2.serialize(node.prelude)  # type: ignore[attr-defined]
                if at == "import":
                    self.refused.append(prelude.strip())
                elif at == "media" and node.content is not None and SCREEN_MEDIA.match(prelude):  # type: ignore[attr-defined]
                    inner = tinycss2.parse_rule_list(node.content, skip_comments=True, skip_whitespace=True)  # type: ignore[attr-defined]
                    self._collect(inner, rules)

    def _match(self, root: etree._Element, rules: list[tuple[str, list[tuple[str, str, bool]]]]) -> None:
        matcher = cssselect2.Matcher()
        for selectors, said in rules:
            try:
                for selector in cssselect2.compile_selector_list(selectors):
                    if selector.pseudo_element is None:
                        matcher.add_selector(selector, said)
            except cssselect2.SelectorError:
                continue  # CSS 2.1, 4.1.7: a rule whose selector cannot be read is dropped
        for wrapper in cssselect2.ElementWrapper.from_xml_root(root).iter_subtree():
            hits = sorted(matcher.match(wrapper), key=lambda hit: hit[:2])  # specificity, then order
            found = [declaration for hit in hits for declaration in hit[-1]]
            if found:
                self._matched[wrapper.etree_element] = found


def computed(parent: Style, said: Style) -> Style:
    """The inherited properties of an element: its own where it says so, else its parent's."""
    style = parent
    for name, value in said.items():
        if name in INHERITED and value != "inherit":
            if style is parent:
                style = dict(parent)
            style[name] = INHERITED[name] if value == "initial" else value
    return style


def own(said: Style, name: str, parent_said: Style | None = None) -> str:
    """A property that is not inherited, unless `inherit` asks for the parent's."""
    value = said.get(name, OWN[name])
    if value == "inherit":
        return own(parent_said, name) if parent_said else OWN[name]
    return OWN[name] if value == "initial" else value
