"""Walks the artwork as it is painted, from the bottom up, and finds every shape with its place and looks."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from lxml import etree

from underdraw_stages.import_.basic_shapes import SHAPES
from underdraw_stages.import_.budget import Budget
from underdraw_stages.import_.cascade import GEOMETRY, INHERITED, Cascade, Style, computed, own
from underdraw_stages.import_.conditions import choose, holds
from underdraw_stages.import_.drawn_elements import add_letters, add_shape, tell_of
from underdraw_stages.import_.items import Box, Clip, Group, Item, State
from underdraw_stages.import_.layers import GROUPS, Selection, element_names, label_of
from underdraw_stages.import_.left_out import LeftOut
from underdraw_stages.import_.measuring import box_of
from underdraw_stages.import_.page import Page
from underdraw_stages.import_.paint import Paints, read_share, split_url
from underdraw_stages.import_.path_data import Outline
from underdraw_stages.import_.placing import IDENTITY, Matrix, about, read_transform, times
from underdraw_stages.import_.reuse_count import count_visits
from underdraw_stages.import_.source_file import SVG
from underdraw_stages.import_.text_runs import is_simple
from underdraw_stages.import_.user_units import View, font_size
from underdraw_stages.import_.viewports import href, into_svg, into_symbol, into_use, use_target

if TYPE_CHECKING:
    from underdraw_stages.import_.lettering import Lettering

CONTAINERS = {"g", "a", "svg", "switch", "use", "symbol"}
LEFT_OUT = {"text": "text", "image": "image", "foreignObject": "foreign"}
DRAWABLE = {*SHAPES, *CONTAINERS, *LEFT_OUT}
NEVER_DRAWN = {  # where they stand; some are drawn by what refers to them
    "defs", "clipPath", "mask", "pattern", "marker", "linearGradient", "radialGradient", "filter", "style", "title",
    "desc", "metadata", "script", "view", "cursor", "stop", "color-profile", "font", "font-face", "tspan", "textPath",
}  # fmt: skip
ANIMATIONS = {"animate", "animateMotion", "animateTransform", "animateColor", "set", "discard"}
OBJECT_BOXES = {"fill-box", "content-box", "stroke-box", "border-box"}

TELL_EVERY = 500  # elements

Purpose = Literal["paint", "clip", "measure"]
Visit = list[tuple[etree._Element, State]]


@dataclass(eq=False)
class Walker:
    """One walk. `paint` finds what is seen; `clip` and `measure` find outlines whatever they are painted with."""

    root: etree._Element
    file: str
    page: Page
    cascade: Cascade
    selection: Selection
    left_out: LeftOut
    language: str
    lettering: "Lettering | None"
    budget: Budget
    tell: Callable[[float], None] = lambda share: None  # how far the walk is, from 0 to 1
    purpose: Purpose = "paint"
    by_id: dict[str, etree._Element] = field(default_factory=dict)
    groups: list[Group] = field(default_factory=list)
    outlines: dict[etree._Element, Outline | None] = field(default_factory=dict)
    boxes: dict[tuple[etree._Element, View], Box | None] = field(default_factory=dict)
    visits: dict[etree._Element, int] = field(default_factory=dict)
    shapes_in: dict[etree._Element, int] = field(default_factory=dict)
    visited: int = 0
    expected: int = 1

    def __post_init__(self) -> None:
        if not self.by_id:
            for element in self.root.iter("*"):
                name = element.get("id")
                if name:
                    self.by_id.setdefault(name, element)
        self.paints = Paints(self.by_id, self.cascade.declared)

    def other(self, purpose: Purpose) -> "Walker":
        """A walker through the same artwork that looks for outlines only, and tells nobody."""
        return replace(self, purpose=purpose, selection=Selection(), left_out=LeftOut(), groups=[])

    def items(self) -> list[Item]:
        """Every shape that is seen, in stacking order. Raises CannotDo where reuse would draw too much."""
        elements = sum(1 for _ in self.root.iter("*"))
        if next(self.root.iter("{*}use"), None) is not None:
            self.budget.room_for(self.visits_of(self.root) - elements)
        self.visited, self.expected = 0, elements
        start = State(self.page.matrix, dict(INHERITED), self.page.view, taken=not self.selection.only)
        return self.collect(self.root, start)

    def visits_of(self, element: etree._Element) -> int:
        """How many elements are visited to draw one, reuse included."""
        if element not in self.visits:
            self.visits |= count_visits(element, self.by_id)
        return self.visits[element]

    def collect(self, element: etree._Element, state: State, untransformed: etree._Element | None = None) -> list[Item]:
        """The shapes of an element and all in it; `state` is its parent's. No recursion: depth costs nothing.

        The transform of `untransformed` is left out.
        """
        found: list[Item] = []
        waiting: Visit = [(element, state)]
        while waiting:
            element, state = waiting.pop()
            if isinstance(element.tag, str):
                inside = self._visit(element, state, found, element is not untransformed)
                waiting.extend(reversed(inside))
        return found

    def _visit(self, element: etree._Element, state: State, found: list[Item], transformed: bool) -> Visit:
        """Add an element's own shape to `found`, and return what is to be visited inside it."""
        tag: str = element.tag
        name = tag.rpartition("}")[2]
        if tag[0] == "{" and not tag.startswith("{" + SVG):
            return []  # another vocabulary's notes, such as a drawing program's own settings
        if name not in DRAWABLE:
            self._not_drawable(name)
            return []
        if name == "symbol" and state.size is None:
            return []
        self._count(state)
        inner = self._enter(element, name, state, transformed)
        if inner is None:
            return []
        if name in SHAPES:
            add_shape(self, element, name, inner, found)
        elif name == "text" and self.lettering is not None and is_simple(element):
            add_letters(self, element, inner, found)
        elif name in LEFT_OUT:
            tell_of(self, element, LEFT_OUT[name], inner)
        else:
            return self._inside(element, name, inner)
        return []

    def _not_drawable(self, name: str) -> None:
        if name in ANIMATIONS:
            self.left_out.add("animation", f"<{name}>")
        elif name not in NEVER_DRAWN:
            self.left_out.add("unknown", f"<{name}>")

    def _count(self, state: State) -> None:
        self.visited += 1
        if self.visited % TELL_EVERY == 0 and self.purpose == "paint":
            self.tell(min(1.0, self.visited / self.expected))
        self.budget.deep(state.depth)
        if self.purpose == "measure":
            self.budget.measure()
        elif state.uses or self.purpose == "clip":
            self.budget.copy()

    def _enter(self, element: etree._Element, name: str, state: State, transformed: bool = True) -> State | None:
        """The state inside an element: style, transform, clipping. None where it is not drawn at all."""
        attributes: dict[str, str] = dict(element.attrib)
        said = self.cascade.declared(element, attributes)
        names = element_names(attributes) if attributes else ()
        inner = state.inside(said, computed(state.style, said))
        if names:
            self._enter_layer(element, name, attributes, names, inner)
            if self.selection.skips(names):
                self.left_out.add("skipped", names[0], self._count_shapes(element))
                return None
        if not holds(attributes, self.language):
            self.left_out.add("language", names[0] if names else "", self._count_shapes(element))
            return None
        if not said:
            return inner
        inner.opacity *= read_share(own(said, "opacity", state.said))
        unseen = inner.opacity == 0 and self.purpose == "paint"
        if unseen or own(said, "display", state.said) == "none":
            self._hide(element, names)
            return None
        if "font-size" in said:
            size = font_size(said["font-size"], state.view)
            inner.view = View(state.view.width, state.view.height, size)
        if transformed and "transform" in said and element is not self.root:
            inner.matrix = times(state.matrix, self._transform(element, said, state, inner.view))
        if "clip-path" in said and self.purpose != "measure":
            clip = self._clip(element, own(said, "clip-path", state.said), inner, state)
            if clip is not None:
                inner.clips = (*state.clips, clip)
        for effect in ("mask", "filter"):
            if own(said, effect, state.said) != "none":
                self.left_out.add(effect, names[0] if names else f"<{name}>")
        return inner

    def enter_span(self, element: etree._Element, state: State) -> State | None:
        """The state inside a span of text, None where it is not drawn."""
        return self._enter(element, "tspan", state)

    def _enter_layer(
        self, element: etree._Element, name: str, attributes: dict[str, str], names: tuple[str, ...], inner: State
    ) -> None:
        inner.taken = inner.taken or self.selection.takes(names)
        if name in GROUPS and element is not self.root:
            around = inner.groups[-1].path if inner.groups else ()
            group = Group(names, (*around, names), bool(label_of(attributes)))
            self.groups.append(group)
            inner.groups = (*inner.groups, group)

    def _hide(self, element: etree._Element, names: tuple[str, ...]) -> None:
        self.left_out.add("hidden", names[0] if names else "", self._count_shapes(element))
        if self.groups and self.groups[-1].names == names:
            self.groups[-1].hidden = True

    def _count_shapes(self, element: etree._Element) -> int:
        """Shapes, uses, texts and pictures in an element."""
        if element not in self.shapes_in:
            tags = (item.tag.rpartition("}")[2] for item in element.iter("*"))
            self.shapes_in[element] = sum(1 for tag in tags if tag in SHAPES or tag in ("use", "text", "image"))
        return self.shapes_in[element]

    def _transform(self, element: etree._Element, said: Style, state: State, view: View) -> Matrix:
        written = own(said, "transform", state.said)
        matrix = read_transform(written)
        if matrix is None:
            self.left_out.add("transform", written[:40])
            return IDENTITY
        origin = own(said, "transform-origin")
        if not origin:
            return matrix
        by_object = own(said, "transform-box") in OBJECT_BOXES
        box = (box_of(self, element, state) or (0.0, 0.0, 0.0, 0.0)) if by_object else None
        return about(matrix, origin, view, box)

    def _clip(self, element: etree._Element, written: str, state: State, parent: State) -> Clip | None:
        """The clipping path of an element; `state` is its own, `parent` that around it."""
        if written == "none":
            return None
        url = split_url(written)
        if url is None:
            self.left_out.add("clip", written[:40])
            return None
        target = self.by_id.get(url[0][1:]) if url[0].startswith("#") else None
        if target is None or target.tag.rpartition("}")[2] != "clipPath":
            self.left_out.add("missing" if url[0].startswith("#") else "reference", f"clip-path {url[0]}")
            return None
        bounds = box_of(self, element, parent) if target.get("clipPathUnits") == "objectBoundingBox" else None
        return Clip(state.matrix, element=target, bounds=bounds)

    def _inside(self, element: etree._Element, name: str, state: State) -> Visit:
        """What is to be visited inside a container, each with the state around it; `state` is the container's."""
        if name == "use":
            target = use_target(element, state.uses, self.by_id)
            if isinstance(target, str):
                self.left_out.add(target, href(element)[:60] or "<use>")
                return []
            return [(target, into_use(element, state.said, state))]
        if name == "switch":
            chosen = choose(element, self.language, DRAWABLE)
            for child in element:
                if child is not chosen and isinstance(child.tag, str):
                    self.left_out.add("language", "", self._count_shapes(child))
            return [] if chosen is None else [(chosen, state.changed(size=None))]
        inner: State | None = state
        if name == "symbol":
            inner = into_symbol(element, state.said, state)
        elif name == "svg" and element is not self.root:
            inner = into_svg(element, {key: element.get(key, "") for key in GEOMETRY} | state.said, state)
        elif state.size is not None:
            inner = state.changed(size=None)
        return [] if inner is None else [(child, inner) for child in element]

    def style_of(self, element: etree._Element) -> Style:
        """An element's inherited properties where it stands in the file, as markers and clipping paths have them."""
        style: Style = dict(INHERITED)
        for around in (*reversed(list(element.iterancestors())), element):
            style = computed(style, self.cascade.declared(around))
        return style
