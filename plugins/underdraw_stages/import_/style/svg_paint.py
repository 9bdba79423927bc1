"""What fills and strokes are painted with, as `#rrggbb` and an opacity: colours (CSS Color 4), gradients, patterns."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import tinycss2.color4
from lxml import etree

from underdraw_stages.import_.file import limits
from underdraw_stages.import_.file.source_file import href
from underdraw_stages.import_.file.user_units import NUMBER

WITH_GAPS = 0.5  # most opacity that a paint with gaps counts as: what is visible through them is drawn, too
NO_COLOUR_KNOWN = "#808080"  # a pattern of pictures alone, or a gradient without stops of a colour
_URL = re.compile(
    r"""\s*+url\(\s*+(?P<quote>["']?+)(?P<target>[^"')]*+)(?P=quote)\s*+\)\s*+(?P<rest>.*+)""",
    re.IGNORECASE | re.DOTALL,
)
_ICC = re.compile(r"(?<!\s)\s++icc-color\b.*+", re.IGNORECASE)  # a profiled colour after the plain one, SVG 1.1, 12.2


@dataclass(frozen=True, slots=True)
class Paint:
    """A colour and its own opacity; colour "" paints nothing."""

    colour: str = ""
    opacity: float = 1.0


NO_PAINT = Paint()


@lru_cache(maxsize=8192)
def read_colour(text: str) -> Paint | None:
    """A colour as written; None where it is none. `currentColor` comes back as the colour `currentcolor`."""
    try:
        colour = tinycss2.color4.parse_color(_ICC.sub("", text.strip()))
        if colour is None or isinstance(colour, str):
            return Paint("currentcolor") if colour else None
        red, green, blue = (
            math.floor(255 * min(max(float(part), 0.0), 1.0) + 0.5 + 1e-9) for part in colour.to("srgb").coordinates
        )
        return Paint(f"#{red:02x}{green:02x}{blue:02x}", min(max(float(colour.alpha), 0.0), 1.0))
    except (NotImplementedError, TypeError, ValueError, AttributeError, OverflowError):
        return None  # a colour space that the library does not convert


def split_url(text: str) -> tuple[str, str] | None:
    """`url(#a) red` to ("#a", "red"); None where it is no reference."""
    match = _URL.fullmatch(text)
    return (match["target"].strip(), match["rest"].strip()) if match else None


@lru_cache(maxsize=8192)
def is_paint(text: str) -> bool:
    """Whether a `fill` or `stroke` can be read; CSS drops the declaration otherwise."""
    if text in ("none", "context-fill", "context-stroke"):
        return True
    url = split_url(text)
    if url:
        return not url[1] or url[1] == "none" or read_colour(url[1]) is not None
    return read_colour(text) is not None


@lru_cache(maxsize=1024)
def read_share(text: str | None, default: float = 1.0) -> float:
    """An opacity or offset, number or percentage, kept from 0 to 1."""
    match = re.fullmatch(rf"\s*+({NUMBER})\s*+(%?+)\s*+", text or "")
    if match is None:
        return default
    return min(max(float(match[1]) / (100 if match[2] else 1), 0.0), 1.0)


class Paints:
    """Looks up what a paint names: gradients count as their first visible stop, patterns as what they paint first.

    declared: gives an element's own declarations, property to value, after the cascade.
    """

    def __init__(self, by_id: dict[str, etree._Element], declared: Callable[[etree._Element], dict[str, str]]) -> None:
        self._by_id = by_id
        self._declared = declared
        self._servers: dict[str, Paint | None] = {}
        self._of_content: dict[etree._Element, Paint] = {}  # what many gradients or patterns may take from one

    def resolve(self, text: str, current: str, context: tuple[Paint, Paint] = (NO_PAINT, NO_PAINT)) -> Paint:
        """The colour and opacity that a computed `fill` or `stroke` paints with; `current`: the property `color`.

        `context` is the fill and stroke of the shape that a marker stands on (SVG 2, `context-fill`).
        """
        text = text.strip()
        if text == "none":
            return NO_PAINT
        if text in ("context-fill", "context-stroke"):
            return context[text == "context-stroke"]
        url = split_url(text)
        if url is None:
            found = read_colour(text) or NO_PAINT
        else:
            server = self._server(url[0])
            if server is not None:
                return server
            found = (read_colour(url[1]) if url[1] else None) or NO_PAINT
        if found.colour == "currentcolor":
            colour = read_colour(current) or Paint("#000000")
            return Paint("#000000") if colour.colour == "currentcolor" else colour
        return found

    def kind(self, text: str) -> str:
        """The element name of the paint server that a paint names, or ""."""
        url = split_url(text)
        element = self._by_id.get(url[0][1:]) if url else None
        return etree.QName(element).localname if element is not None else ""

    def _server(self, target: str) -> Paint | None:
        """What a gradient or pattern counts as; None where there is no such one."""
        if target not in self._servers:
            element = self._by_id.get(target.removeprefix("#")) if target.startswith("#") else None
            name = etree.QName(element).localname if element is not None else ""
            if name in ("linearGradient", "radialGradient"):
                self._servers[target] = self._gradient(element)
            elif name == "pattern":
                self._servers[target] = self._pattern(element)
            else:
                self._servers[target] = None
        return self._servers[target]

    def _chain(self, element: etree._Element | None) -> list[etree._Element]:
        """An element and what it takes over through `href`, nearest first."""
        chain: list[etree._Element] = []
        while element is not None and element not in chain and len(chain) < limits.LONGEST_REFERENCE_CHAIN:
            chain.append(element)
            reference = href(element)
            element = self._by_id.get(reference[1:]) if reference.startswith("#") else None
        return chain

    def _gradient(self, element: etree._Element | None) -> Paint:
        """The first visible stop's colour, and the least opacity of all stops: what is surely hidden beneath it.

        A gradient that is transparent somewhere has a visible edge elsewhere, so it counts as a paint with gaps.
        """
        for link in self._chain(element):
            stops = [child for child in link if isinstance(child.tag, str) and etree.QName(child).localname == "stop"]
            if not stops:
                continue
            if link in self._of_content:
                return self._of_content[link]
            found: list[Paint] = []
            for stop in stops:
                declared = self._declared(stop)
                paint = self.resolve(declared.get("stop-color", "#000000"), declared.get("color", "#000000"))
                found.append(Paint(paint.colour, paint.opacity * read_share(declared.get("stop-opacity"))))
            least, most = min(paint.opacity for paint in found), max(paint.opacity for paint in found)
            first = next((paint for paint in found if paint.opacity > 0), NO_PAINT)
            self._of_content[link] = Paint(first.colour or NO_COLOUR_KNOWN, least or min(most, WITH_GAPS))
            return self._of_content[link]
        return NO_PAINT  # without stops as if `none` (SVG 1.1, 13.2.4)

    def _pattern(self, element: etree._Element | None) -> Paint:
        """The first colour that the pattern's own shapes name; it hides nothing, since it may have gaps."""
        for link in self._chain(element):
            if next(link.iterdescendants("*"), None) is None:
                continue
            if link not in self._of_content:
                self._of_content[link] = Paint(self._first_colour(link), WITH_GAPS)
            return self._of_content[link]
        return NO_PAINT  # a pattern without content paints nothing (SVG 1.1, 13.3)

    def _first_colour(self, element: etree._Element) -> str:
        """The first colour that what an element holds is painted with, as written."""
        for child in element.iterdescendants("*"):
            declared = self._declared(child)
            for name in ("fill", "stroke"):
                paint = read_colour(declared.get(name, ""))
                if paint is not None and paint.colour.startswith("#"):
                    return paint.colour
        return NO_COLOUR_KNOWN
