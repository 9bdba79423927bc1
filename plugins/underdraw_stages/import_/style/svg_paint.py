"""What fills and strokes are painted with: colours (CSS Color 4) as `#rrggbb`, gradients, patterns; and opacities."""

import itertools
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import tinycss2.color4
from lxml import etree

from underdraw.drawing.affine import Matrix
from underdraw.drawing.boxes import Box
from underdraw.drawing.paint.gradients import Gradient, Stop, moved_gradient
from underdraw_stages.import_.file import limits
from underdraw_stages.import_.file.source_file import href
from underdraw_stages.import_.file.user_units import NUMBER, View
from underdraw_stages.import_.style.written_gradient import WrittenGradient

WITH_GAPS = 0.5  # opacity that a pattern counts as: what is visible through its gaps is drawn, too
NO_COLOUR_KNOWN = "#808080"  # a pattern of pictures alone, or a gradient without stops of a colour
MOST_STOPS_READ = 256  # of one gradient: every shape that it paints carries its own on the wire
GEOMETRY = ("gradientUnits", "gradientTransform", "spreadMethod", "x1", "y1", "x2", "y2", "cx", "cy", "r", "fx", "fy")
_URL = re.compile(
    r"""\s*+url\(\s*+(?P<quote>["']?+)(?P<target>[^"')]*+)(?P=quote)\s*+\)\s*+(?P<rest>.*+)""",
    re.IGNORECASE | re.DOTALL,
)
_ICC = re.compile(r"(?<!\s)\s++icc-color\b.*+", re.IGNORECASE)  # a profiled colour after the plain one, SVG 1.1, 12.2


@dataclass(frozen=True, slots=True)
class Paint:
    """A colour and its own opacity; colour "" paints nothing.

    A gradient has its opacities itself, and the colour stands for it: `written` until its place on a shape is known.
    """

    colour: str = ""
    opacity: float = 1.0
    written: WrittenGradient | None = None
    gradient: Gradient | None = None
    pattern: bool = False  # a pattern, whose first colour stands for it

    def on_shape(self, matrix: Matrix, view: View, box: Callable[[], Box | None]) -> "Paint":
        """The paint as it lies on a shape; see `WrittenGradient.on_shape`."""
        if self.written is None:
            return self
        found = self.written.on_shape(matrix, view, box())
        if found is None:
            return NO_PAINT
        if isinstance(found, Stop):
            return Paint(found.colour, self.opacity * found.opacity)
        return Paint(self.colour, self.opacity, gradient=found)


NO_PAINT = Paint()


def moved(paint: Paint, matrix: Matrix) -> Paint:
    """The paint of a shape that was moved."""
    return paint if paint.gradient is None else replace(paint, gradient=moved_gradient(paint.gradient, matrix))


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
    """Looks up what a paint names: the first visible stop stands for a gradient, patterns are what they paint first.

    declared: gives an element's own declarations, property to value, after the cascade.
    """

    def __init__(self, by_id: dict[str, etree._Element], declared: Callable[[etree._Element], dict[str, str]]) -> None:
        self._by_id = by_id
        self._declared = declared
        self._servers: dict[str, Paint | None] = {}
        self._of_content: dict[etree._Element, Paint] = {}  # what many patterns may take from one
        self._stops: dict[etree._Element, tuple[Stop, ...]] = {}  # and many gradients

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
        """A gradient as written, and its first visible stop's colour."""
        chain = self._chain(element)
        attributes: dict[str, str] = {}
        for link in reversed(chain):
            attributes |= {key: value for key in GEOMETRY if (value := link.get(key)) is not None}
        for link in chain:
            if link not in self._stops:
                stops = itertools.islice(link.iterchildren("{*}stop"), MOST_STOPS_READ)
                self._stops[link] = self._read_stops(list(stops))
            found = self._stops[link]
            if not found:
                continue
            first = next((stop for stop in found if stop.opacity > 0), None)
            if first is None:
                return NO_PAINT
            name = etree.QName(chain[0]).localname
            return Paint(first.colour, written=WrittenGradient(name, found, tuple(sorted(attributes.items()))))
        return NO_PAINT  # without stops as if `none` (SVG 1.1, 13.2.4)

    def _read_stops(self, stops: list[etree._Element]) -> tuple[Stop, ...]:
        found: list[Stop] = []
        for stop in stops:
            declared = self._declared(stop)
            paint = self.resolve(declared.get("stop-color", "#000000"), declared.get("color", "#000000"))
            offset = max(read_share(stop.get("offset"), 0.0), found[-1].offset if found else 0.0)  # 13.2.4
            opacity = paint.opacity * read_share(declared.get("stop-opacity"))
            found.append(Stop(offset, paint.colour or NO_COLOUR_KNOWN, opacity if paint.colour else 0.0))
        return tuple(found)

    def _pattern(self, element: etree._Element | None) -> Paint:
        """The first colour that the pattern's own shapes name; it hides nothing, since it may have gaps."""
        for link in self._chain(element):
            if next(link.iterdescendants("*"), None) is None:
                continue
            if link not in self._of_content:
                self._of_content[link] = Paint(self._first_colour(link), WITH_GAPS, pattern=True)
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
