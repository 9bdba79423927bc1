"""Which style each element has: presentation attributes, `style`, style sheets, inheritance.

Source: SVG 1.1 (2nd ed.), chapter 6; CSS 2.1, chapter 6 (cascade)."""

import re

from lxml import etree

from underdraw_stages.import_.file.user_units import NUMBER
from underdraw_stages.import_.style.selectors import Declarations, match_rules
from underdraw_stages.import_.style.style_sheets import Styles
from underdraw_stages.import_.style.svg_paint import is_paint

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
    "stroke-miterlimit": "4",
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
MOVING = {"translate", "rotate", "scale", "d", "offset-path", "zoom"}  # styles that browsers know beside SVG 1.1's
GEOMETRY = ("x", "y", "width", "height", "cx", "cy", "r", "rx", "ry")  # SVG 2: properties as well as attributes
GEOMETRY_ELEMENTS = {"svg", "rect", "circle", "ellipse", "image", "foreignObject"}
PROPERTIES = {*INHERITED, *OWN}
KNOWN = {*PROPERTIES, *GEOMETRY}
SHORTHAND = {"marker": ("marker-start", "marker-mid", "marker-end")}
ONE_OF = {  # values that a property takes; anything else is dropped, and the inherited value stays
    "fill-rule": {"nonzero", "evenodd"},
    "clip-rule": {"nonzero", "evenodd"},
    "stroke-linecap": {"butt", "round", "square"},
    "stroke-linejoin": {"miter", "round", "bevel", "miter-clip", "arcs"},
    "visibility": {"visible", "hidden", "collapse"},
}


Style = dict[str, str]
Settled = tuple[Style, Style]  # what is not important, and what is


KEYWORDS = {
    "mix-blend-mode",
    "display",
    "visibility",
    "overflow",
    "vector-effect",
    "text-anchor",
    "transform-box",
    *ONE_OF,
}
SIZE_IN_FONT = re.compile(rf"(?:^|\s)({NUMBER}(?:px|pt|pc|mm|cm|in|q|em|rem|ex|%))(?:/|\s)", re.IGNORECASE)


def kept(name: str, value: str) -> str | None:
    """A declaration's value as the cascade keeps it; None where it is in error, and CSS drops it."""
    word = value.lower()
    if "var(" in word:
        return None
    if word in ("inherit", "initial") or (word == "none" and name not in ONE_OF):
        return word
    if name in ("fill", "stroke"):
        return value if is_paint(value) else None
    if name in ONE_OF and word not in ONE_OF[name]:
        return None
    return word if name in KEYWORDS else value


def longhands(name: str, value: str) -> tuple[tuple[str, str], ...]:
    """What a declaration sets: the properties that a short one stands for, each with its value."""
    if name == "font":
        size = SIZE_IN_FONT.search(value)
        return (("font-size", size[1]),) if size else ()
    return tuple((longhand, value) for longhand in SHORTHAND.get(name, (name,)))


class Cascade:
    """The declared style of every element of one tree."""

    def __init__(self, root: etree._Element, file: str) -> None:
        """Raises CannotDo for style sheets that ask for too much; `file` is what messages call the artwork."""
        self._styles = Styles(file)
        rules, self.refused = self._styles.sheets(root)  # refused: sheets outside the file, named but never opened
        self.variables: dict[str, None] = {}  # declarations that take a variable's value, as they were met
        self.moving: dict[str, None] = {}  # declarations that would move or reshape something in a browser
        self._matched = match_rules(root, rules, file) if rules else {}
        self._settled: dict[str | int, Settled] = {}  # of each text of `style`, and of each list of rules' declarations

    def declared(self, element: etree._Element, attributes: dict[str, str] | None = None) -> Style:
        """What is declared of this element itself: property to value, after the cascade; `inherit` stays a word.

        `attributes` are the element's own, where the caller has read them already.
        """
        style: Style = {}
        attributes = dict(element.attrib) if attributes is None else attributes
        for name, value in attributes.items():
            if name in PROPERTIES:
                if (read := kept(name, value.strip())) is not None:
                    style[name] = read
                elif "var(" in value:
                    self.variables[f"{name}: {value.strip()}"] = None
        matched = self._matched.get(element)
        written = attributes.get("style")
        if matched is None and written is None:
            return style
        sources = [self._settle(id(matched), matched)] if matched else []  # the lists live as long as this does
        sources += [self._settle(written, None)] if written else []
        for important in (False, True):
            for settled in sources:
                style.update(settled[important])
        return style

    def _settle(self, key: str | int, declarations: Declarations | None) -> Settled:
        """What declarations come to in the end, worked out once for all elements that have the same ones."""
        if key not in self._settled:
            normal: Style = {}
            important: Style = {}
            for name, value, is_important in declarations or self._styles.read(str(key)):
                if name in MOVING and value.lower() not in ("none", "initial", "inherit"):
                    self.moving[f"{name}: {value}"] = None
                for longhand, part in longhands(name, value):
                    if longhand not in KNOWN:
                        continue
                    if (read := kept(longhand, part)) is not None:
                        (important if is_important else normal)[longhand] = read
                    elif "var(" in part:
                        self.variables[f"{name}: {value}"] = None
            self._settled[key] = (normal, important)
        return self._settled[key]


def computed(parent: Style, declared: Style) -> Style:
    """The inherited properties of an element: its own if given, else its parent's."""
    style = parent
    for name, value in declared.items():
        if name in INHERITED and value != "inherit":
            if style is parent:
                style = dict(parent)
            style[name] = INHERITED[name] if value == "initial" else value
    return style


def own(declared: Style, name: str, parent_declared: Style | None = None) -> str:
    """A property that is not inherited, unless `inherit` asks for the parent's."""
    value = declared.get(name, OWN[name])
    if value == "inherit":
        return own(parent_declared, name) if parent_declared else OWN[name]
    return OWN[name] if value == "initial" else value
