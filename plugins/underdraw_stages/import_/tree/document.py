"""The artwork as one document: its page, styles, paints and elements by name, and what was worked out of them once."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from lxml import etree

from underdraw.drawing.boxes import Box
from underdraw_stages.import_.file.limits import Budget
from underdraw_stages.import_.file.user_units import View
from underdraw_stages.import_.outlines.path_data import Outline
from underdraw_stages.import_.shapes.basic_shapes import SHAPES
from underdraw_stages.import_.style.cascade import INHERITED, Cascade, Style, computed
from underdraw_stages.import_.style.svg_paint import Paints, split_url
from underdraw_stages.import_.tree.artwork_page import ArtworkPage
from underdraw_stages.import_.tree.reuse import count_visits

if TYPE_CHECKING:
    from underdraw_stages.import_.text.font import Font  # fontTools is loaded when text is drawn


@dataclass(eq=False)
class Document:
    """What every walk through one artwork shares. file: what messages call it. font: None where text is not drawn."""

    root: etree._Element
    file: str
    page: ArtworkPage
    cascade: Cascade
    language: str
    font: "Font | None"
    budget: Budget
    by_id: dict[str, etree._Element] = field(default_factory=dict)
    outlines: dict[etree._Element, Outline | None] = field(default_factory=dict)  # of paths that may be drawn again
    boxes: dict[tuple[etree._Element, View], Box | None] = field(default_factory=dict)
    _styles: dict[etree._Element, Style] = field(default_factory=dict)
    _visits: dict[etree._Element, int] = field(default_factory=dict)
    _shape_counts: dict[etree._Element, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for element in self.root.iter("*"):
            name = element.get("id")
            if name:
                self.by_id.setdefault(name, element)
        self.paints = Paints(self.by_id, self.cascade.declared)

    def target(self, written: str, kind: str) -> etree._Element | None:
        """The element of a kind that `url(#…)` names; None where there is no such one."""
        url = split_url(written)
        element = self.by_id.get(url[0][1:]) if url and url[0].startswith("#") else None
        return element if element is not None and element.tag.rpartition("}")[2] == kind else None

    def visits_of(self, element: etree._Element) -> int:
        """How many elements are visited to draw one, reuse included."""
        if element not in self._visits:
            self._visits |= count_visits(element, self.by_id)
        return self._visits[element]

    def shapes_in(self, element: etree._Element) -> int:
        """How many shapes, uses, texts and pictures an element holds, itself included."""
        if element not in self._shape_counts:
            tags = (item.tag.rpartition("}")[2] for item in element.iter("*"))
            self._shape_counts[element] = sum(1 for tag in tags if tag in SHAPES or tag in ("use", "text", "image"))
        return self._shape_counts[element]

    def style_of(self, element: etree._Element) -> Style:
        """An element's inherited properties where it stands in the file, as markers and clipping paths have them."""
        if element not in self._styles:
            style: Style = dict(INHERITED)
            for around in (*reversed(list(element.iterancestors())), element):
                style = computed(style, self.cascade.declared(around))
            self._styles[element] = style
        return self._styles[element]
