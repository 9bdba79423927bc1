"""Walks the artwork as it is painted, from the bottom up, and finds every shape with its matrix and appearance."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from lxml import etree

from underdraw.drawing.affine import IDENTITY, Matrix, compose, scale_of
from underdraw.drawing.boxes import Box
from underdraw_stages.import_.file.source_file import SVG, href
from underdraw_stages.import_.file.transforms import about, read_transform
from underdraw_stages.import_.file.user_units import View, font_size
from underdraw_stages.import_.shapes.basic_shapes import SHAPES
from underdraw_stages.import_.shapes.found_shape import FoundShape, bounds_of
from underdraw_stages.import_.shapes.inherited_state import Clip, Group, InheritedState
from underdraw_stages.import_.style.blur import blur_of
from underdraw_stages.import_.style.cascade import GEOMETRY, INHERITED, Style, computed, own
from underdraw_stages.import_.style.svg_paint import WITH_GAPS, read_share, split_url
from underdraw_stages.import_.text.text_layout import is_simple
from underdraw_stages.import_.tree.document import Document
from underdraw_stages.import_.tree.drawn_elements import DrawnElements, Purpose
from underdraw_stages.import_.tree.left_out import LeftOut
from underdraw_stages.import_.tree.reuse import into_use, use_target
from underdraw_stages.import_.tree.selection import (
    GROUPS,
    Selection,
    choose_of_switch,
    conditions_hold,
    element_names,
    label_of,
)
from underdraw_stages.import_.tree.viewports import into_svg, into_symbol

CONTAINERS = {"g", "a", "svg", "switch", "use", "symbol"}
LEFT_OUT = {"text": "text", "image": "image", "foreignObject": "foreign"}
DRAWABLE = {*SHAPES, *CONTAINERS, *LEFT_OUT}
NEVER_DRAWN = {  # where they stand; some are drawn by what refers to them
    "defs", "clipPath", "mask", "pattern", "marker", "linearGradient", "radialGradient", "filter", "style", "title",
    "desc", "metadata", "script", "view", "cursor", "stop", "color-profile", "font", "font-face", "tspan", "textPath",
}  # fmt: skip
ANIMATIONS = {"animate", "animateMotion", "animateTransform", "animateColor", "set", "discard"}
OBJECT_BOXES = {"fill-box", "content-box", "stroke-box", "border-box"}

REPORT_EVERY = 500  # elements

Visit = list[tuple[etree._Element, InheritedState]]


@dataclass(eq=False)
class Walker:
    """One walk. `paint` finds what is visible; `clip` and `measure` find outlines whatever they are painted with."""

    document: Document
    selection: Selection
    left_out: LeftOut
    report_progress: Callable[[float], None] = lambda share: None  # how far the walk is, from 0 to 1
    purpose: Purpose = "paint"
    groups: list[Group] = field(default_factory=list)
    visited: int = 0
    expected: int = 1

    def __post_init__(self) -> None:
        self._drawn = DrawnElements(self.document, self.purpose, self.left_out)

    def other(self, purpose: Purpose) -> "Walker":
        """A walker through the same artwork that finds outlines only, and reports nothing."""
        return Walker(self.document, Selection(), LeftOut(), purpose=purpose)

    def items(self) -> Iterator[FoundShape]:
        """Every visible shape as it is found, in stacking order. Raises CannotDo where reuse would draw too much."""
        elements = sum(1 for _ in self.document.root.iter("*"))
        if next(self.document.root.iter("{*}use"), None) is not None:
            self.document.budget.room_for(self.document.visits_of(self.document.root) - elements)
        self.visited, self.expected = 0, elements
        start = InheritedState(
            self.document.page.matrix, dict(INHERITED), self.document.page.view, taken=not self.selection.only
        )
        yield from self._found(self.document.root, start)

    def collect(
        self, element: etree._Element, state: InheritedState, untransformed: etree._Element | None = None
    ) -> list[FoundShape]:
        """The shapes of an element and all in it; `state` is its parent's.

        The transform of `untransformed` is left out.
        """
        return list(self._found(element, state, untransformed))

    def _found(
        self, element: etree._Element, state: InheritedState, untransformed: etree._Element | None = None
    ) -> Iterator[FoundShape]:
        """One shape after the other. No recursion: depth costs nothing."""
        waiting: Visit = [(element, state)]
        while waiting:
            element, state = waiting.pop()
            if isinstance(element.tag, str):
                shapes: list[FoundShape] = []
                inside = self._visit(element, state, shapes, element is not untransformed)
                yield from shapes
                waiting.extend(reversed(inside))

    def _visit(
        self, element: etree._Element, state: InheritedState, shapes: list[FoundShape], transformed: bool
    ) -> Visit:
        """Add an element's own shape to `shapes`, and return what is to be visited inside it."""
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
            self._drawn.add_shape(element, name, inner, shapes, self.collect)
        elif name == "text" and self.document.font is not None and is_simple(element):
            self._drawn.add_letters(element, inner, shapes, self.enter_span)
        elif name in LEFT_OUT:
            self._drawn.report_undrawn(element, LEFT_OUT[name], inner)
        else:
            return self._inside(element, name, inner)
        return []

    def _not_drawable(self, name: str) -> None:
        if name in ANIMATIONS:
            self.left_out.add("animation", f"<{name}>")
        elif name not in NEVER_DRAWN:
            self.left_out.add("unknown", f"<{name}>")

    def _count(self, state: InheritedState) -> None:
        self.visited += 1
        if self.visited % REPORT_EVERY == 0 and self.purpose == "paint":
            self.report_progress(min(1.0, self.visited / self.expected))
        self.document.budget.deep(state.depth)
        if self.purpose == "measure":
            self.document.budget.measure()
        elif state.uses or self.purpose == "clip":
            self.document.budget.copy()

    def _enter(
        self, element: etree._Element, name: str, state: InheritedState, transformed: bool = True
    ) -> InheritedState | None:
        """The state inside an element: style, transform, clipping. None where it is not drawn at all."""
        attributes: dict[str, str] = dict(element.attrib)
        declared = self.document.cascade.declared(element, attributes)
        names = element_names(attributes) if attributes else ()
        inner = state.inside(declared, computed(state.style, declared))
        if names:
            self._enter_layer(element, name, attributes, names, inner)
            if self.selection.skips(names):
                self.left_out.add("skipped", names[0], self.document.shapes_in(element))
                return None
        if not conditions_hold(attributes, self.document.language):
            self.left_out.add("language", names[0] if names else "", self.document.shapes_in(element))
            return None
        if not declared:
            return inner
        inner.opacity *= read_share(own(declared, "opacity", state.declared))
        if inner.opacity < state.opacity and name in CONTAINERS and self.document.shapes_in(element) > 1:
            self.left_out.add("see-through", names[0] if names else f"<{name}>")
        unseen = inner.opacity == 0 and self.purpose == "paint"
        if unseen or own(declared, "display", state.declared) == "none":
            self._hide(element, names)
            return None
        if "font-size" in declared:
            size = font_size(declared["font-size"], state.view)
            inner.view = state.view.with_font(size, root=element is self.document.root)
        if "transform" in declared and element is self.document.root:
            if self._transform(element, declared, state, inner.view) != IDENTITY:
                self.left_out.add("root")
        elif transformed and "transform" in declared:
            inner.matrix = compose(state.matrix, self._transform(element, declared, state, inner.view))
        if "clip-path" in declared and self.purpose != "measure":
            clip = self._clip(element, own(declared, "clip-path", state.declared), inner, state)
            if clip is not None:
                inner.clips = (*state.clips, clip)
        label = names[0] if names else f"<{name}>"
        if own(declared, "mask", state.declared) != "none":
            self.left_out.add("mask", label)
        if own(declared, "mix-blend-mode", state.declared) != "normal":
            self.left_out.add("blend", label)
            inner.opacity *= WITH_GAPS
        effect = own(declared, "filter", state.declared)
        if effect != "none":
            blur = blur_of(self.document.target(effect, "filter"))
            self.left_out.add("filter" if blur is None else "blur", label)
            inner.blur = math.hypot(state.blur, (blur or 0.0) * scale_of(inner.matrix))
        return inner

    def enter_span(self, element: etree._Element, state: InheritedState) -> InheritedState | None:
        """The state inside a span of text, None where it is not drawn."""
        return self._enter(element, "tspan", state)

    def _enter_layer(
        self,
        element: etree._Element,
        name: str,
        attributes: dict[str, str],
        names: tuple[str, ...],
        inner: InheritedState,
    ) -> None:
        inner.taken = inner.taken or self.selection.takes(names)
        if name in GROUPS and element is not self.document.root:
            around = inner.groups[-1].path if inner.groups else ()
            group = Group(names, (*around, names), bool(label_of(attributes)))
            self.groups.append(group)
            inner.groups = (*inner.groups, group)

    def _hide(self, element: etree._Element, names: tuple[str, ...]) -> None:
        self.left_out.add("hidden", names[0] if names else "", self.document.shapes_in(element))
        if self.groups and self.groups[-1].names == names:
            self.groups[-1].hidden = True

    def _transform(self, element: etree._Element, declared: Style, state: InheritedState, view: View) -> Matrix:
        written = own(declared, "transform", state.declared)
        matrix = read_transform(written)
        if matrix is None:
            self.left_out.add("transform", written[:40])
            return IDENTITY
        origin = own(declared, "transform-origin")
        if not origin:
            return matrix
        by_object = own(declared, "transform-box") in OBJECT_BOXES
        box = (self.box_of(element, state) or (0.0, 0.0, 0.0, 0.0)) if by_object else None
        return about(matrix, origin, view, box)

    def _clip(
        self, element: etree._Element, written: str, state: InheritedState, parent: InheritedState
    ) -> Clip | None:
        """The clipping path of an element; `state` is its own, `parent` that around it."""
        if written == "none":
            return None
        url = split_url(written)
        if url is None:
            self.left_out.add("clip", written[:40])
            return None
        target = self.document.by_id.get(url[0][1:]) if url[0].startswith("#") else None
        if target is None or target.tag.rpartition("}")[2] != "clipPath":
            self.left_out.add("missing" if url[0].startswith("#") else "reference", f"clip-path {url[0]}")
            return None
        if target.get("clipPathUnits") == "objectBoundingBox":
            return Clip(state.matrix, element=target, bounds=self.box_of(element, parent))
        is_use = element.tag.rpartition("}")[2] == "use"  # x and y are of its user space, too (SVG 1.1, 5.6)
        around = into_use(element, state.declared, state) if is_use else state
        return Clip(around.matrix, element=target)

    def _inside(self, element: etree._Element, name: str, state: InheritedState) -> Visit:
        """What is to be visited inside a container, each with the state around it; `state` is the container's."""
        if name == "use":
            target = use_target(element, state.uses, self.document.by_id)
            if isinstance(target, str):
                self.left_out.add(target, href(element)[:60] or "<use>")
                return []
            return [(target, into_use(element, state.declared, state))]
        if name == "switch":
            chosen = choose_of_switch(element, self.document.language, DRAWABLE)
            for child in element:
                if child is not chosen and isinstance(child.tag, str):
                    self.left_out.add("language", "", self.document.shapes_in(child))
            return [] if chosen is None else [(chosen, state.changed(size=None))]
        inner: InheritedState | None = state
        if name == "symbol":
            inner = into_symbol(element, state.declared, state)
        elif name == "svg" and element is not self.document.root:
            inner = into_svg(element, {key: element.get(key, "") for key in GEOMETRY} | state.declared, state)
        elif state.size is not None:
            inner = state.changed(size=None)
        return [] if inner is None else [(child, inner) for child in element]

    def box_of(self, element: etree._Element, state: InheritedState) -> Box | None:
        """The box (x0, y0, x1, y1) around an element's outlines, in user units inside its own `transform`.

        `state` is its parent's. Clips and strokes do not count. None where there is nothing to measure.
        """
        boxes = self.document.boxes
        key = (element, state.view)
        if key not in boxes:
            boxes[key] = None  # what is measured by itself has no box
            style = state.style or dict(INHERITED)
            free = InheritedState(IDENTITY, style, state.view, state.declared, depth=state.depth, uses=state.uses)
            # the element's own transform does not count: its box is in the units inside
            boxes[key] = bounds_of(self.other("measure").collect(element, free, untransformed=element), IDENTITY)
        return boxes[key]
