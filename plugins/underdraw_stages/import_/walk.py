"""Walks the artwork as it is painted, from the bottom up, and finds every shape with its place and looks."""

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from lxml import etree

from underdraw.errors import CannotDo
from underdraw_stages.import_ import limits
from underdraw_stages.import_.basic_shapes import SHAPES
from underdraw_stages.import_.cascade import GEOMETRY, GEOMETRY_ELEMENTS, INHERITED, Cascade, Style, computed, own
from underdraw_stages.import_.conditions import choose, holds
from underdraw_stages.import_.items import Box, Clip, Group, Item, State, layer_name
from underdraw_stages.import_.layers import GROUPS, Selection, element_names, label_of
from underdraw_stages.import_.left_out import LeftOut
from underdraw_stages.import_.looks import CAPS, JOINS, dashes_of, fill_of, stroke_of, stroke_width_of
from underdraw_stages.import_.outline_bounds import bounds_in
from underdraw_stages.import_.page import Page
from underdraw_stages.import_.paint import NO_PAINT, Paint, Paints, read_share, split_url
from underdraw_stages.import_.path_data import Outline
from underdraw_stages.import_.placing import IDENTITY, Matrix, about, read_transform, times
from underdraw_stages.import_.source_file import SVG
from underdraw_stages.import_.text_runs import first_words, is_simple, place, read_letters
from underdraw_stages.import_.user_units import View, user_units
from underdraw_stages.import_.vertex_markers import marker_places
from underdraw_stages.import_.viewports import href, into_svg, into_symbol, into_use, marker_state, use_target

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
WITH_MARKERS = {"path", "line", "polyline", "polygon"}  # SVG 1.1, 11.6.2
FONT_SIZES = {  # CSS Fonts 3, 3.5, about medium = 16 px
    "xx-small": 9.6, "x-small": 12.0, "small": 14.22, "medium": 16.0, "large": 19.2, "x-large": 24.0, "xx-large": 32.0,
    "smaller": 0.0, "larger": 0.0,
}  # fmt: skip

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
    lettering: "Lettering | None" = None
    purpose: Purpose = "paint"
    by_id: dict[str, etree._Element] = field(default_factory=dict)
    groups: list[Group] = field(default_factory=list)
    copies: int = 0
    curves: int = 0
    _shapes_in: dict[etree._Element, int] = field(default_factory=dict)
    _outlines: dict[etree._Element, Outline | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.by_id:
            for element in self.root.iter("*"):
                name = element.get("id")
                if name:
                    self.by_id.setdefault(name, element)
        self.paints = Paints(self.by_id, self.cascade)

    def other(self, purpose: Purpose) -> "Walker":
        """A walker through the same artwork that looks for outlines only, and tells nobody."""
        return replace(self, purpose=purpose, selection=Selection(), left_out=LeftOut(), groups=[])

    def items(self) -> list[Item]:
        """Every shape that is seen, in stacking order."""
        start = State(self.page.matrix, dict(INHERITED), self.page.view, taken=not self.selection.only)
        return self.collect(self.root, start)

    def collect(self, element: etree._Element, state: State) -> list[Item]:
        """The shapes of an element and all in it; `state` is its parent's. No recursion: depth costs nothing."""
        found: list[Item] = []
        waiting: Visit = [(element, state)]
        while waiting:
            element, state = waiting.pop()
            if isinstance(element.tag, str):
                waiting.extend(reversed(self._visit(element, state, found)))
        return found

    def collect_children(self, element: etree._Element, state: State) -> list[Item]:
        """The shapes of what an element holds; `state` is the element's own."""
        return [item for child in element for item in self.collect(child, state)]

    def _visit(self, element: etree._Element, state: State, found: list[Item]) -> Visit:
        """Add an element's own shape to `found`, and return what is to be visited inside it."""
        name = element.tag.rpartition("}")[2]
        if element.tag[0] == "{" and not element.tag.startswith("{" + SVG):
            return []  # another vocabulary's notes, such as a drawing program's own settings
        if name not in DRAWABLE:
            self._not_drawable(name)
            return []
        if name == "symbol" and state.size is None:
            return []
        self._count(state)
        said = self.cascade.declared(element)
        inner = self._enter(element, name, said, state)
        if inner is None:
            return []
        if name in SHAPES:
            self._shape(element, name, said, inner, found)
            return []
        if name == "text" and self.lettering is not None and is_simple(element):
            self._letters(element, said, inner, found)
            return []
        if name in LEFT_OUT:
            self._cannot_draw(element, name, inner)
            return []
        return self._inside(element, name, said, inner)

    def _not_drawable(self, name: str) -> None:
        if name in ANIMATIONS:
            self.left_out.add("animation", f"<{name}>")
        elif name not in NEVER_DRAWN:
            self.left_out.add("unknown", f"<{name}>")

    def _count(self, state: State) -> None:
        if state.uses:
            self.copies += 1
            if self.copies > limits.MOST_COPIES:
                raise CannotDo(
                    f"reuse (`use`, markers) would draw more than {limits.MOST_COPIES:,} copies; simplify the artwork",
                    file=self.file,
                )
        if state.depth > limits.DEEPEST:
            raise CannotDo(f"elements nest deeper than {limits.DEEPEST:,}; ungroup and export again", file=self.file)

    def _enter(self, element: etree._Element, name: str, said: Style, state: State) -> State | None:
        """The state inside an element: style, transform, clipping. None where it is not drawn at all."""
        names = element_names(element)
        groups, taken = self._layers(name, element, names, state)
        if names and self.selection.skips(names):
            self.left_out.add("skipped", names[0], self._count_shapes(element))
            return None
        if own(said, "display", state.said) == "none":
            self._hide(element, names)
            return None
        if not holds(element, self.language):
            self.left_out.add("language", names[0] if names else "", self._count_shapes(element))
            return None
        style = computed(state.style, said)
        opacity = state.opacity * read_share(own(said, "opacity", state.said))
        if opacity == 0 and self.purpose == "paint":
            self._hide(element, names)
            return None
        view = state.view
        if "font-size" in said:
            size = _font_size(said["font-size"], state.view)
            view = View(view.width, view.height, size)
        matrix = state.matrix
        outer = State(
            matrix,
            style,
            view,
            said,
            opacity,
            state.clips,
            groups,
            taken,
            state.depth + 1,
            state.uses,
            state.size,
            state.context,
        )
        written = own(said, "transform", state.said)
        if written and element is not self.root:
            outer = replace(outer, matrix=times(matrix, self._transform(element, written, said, state, view)))
        if said.get("clip-path", "none") != "none" and self.purpose != "measure":
            clip = self._clip(element, own(said, "clip-path", state.said), outer, state)
            outer = replace(outer, clips=(*outer.clips, clip)) if clip else outer
        for effect in ("mask", "filter"):
            if own(said, effect, state.said) != "none":
                self.left_out.add(effect, names[0] if names else f"<{name}>")
        return outer

    def _layers(
        self, name: str, element: etree._Element, names: tuple[str, ...], state: State
    ) -> tuple[tuple[Group, ...], bool]:
        taken = state.taken or bool(names and self.selection.takes(names))
        if name not in GROUPS or not names or element is self.root:
            return state.groups, taken
        group = Group(names, len(state.groups), bool(label_of(element)))
        self.groups.append(group)
        return (*state.groups, group), taken

    def _hide(self, element: etree._Element, names: tuple[str, ...]) -> None:
        count = self._count_shapes(element)
        self.left_out.add("hidden", names[0] if names else "", count)
        if self.groups and self.groups[-1].names == names:
            self.groups[-1].hidden = True

    def _count_shapes(self, element: etree._Element) -> int:
        """Shapes in an element, at least 1 where something in it would be drawn."""
        if element not in self._shapes_in:
            tags = (item.tag.rpartition("}")[2] for item in element.iter("*"))
            self._shapes_in[element] = sum(1 for tag in tags if tag in SHAPES or tag in ("use", "text", "image"))
        return self._shapes_in[element]

    def _transform(self, element: etree._Element, written: str, said: Style, state: State, view: View) -> Matrix:
        matrix = read_transform(written)
        if matrix is None:
            self.left_out.add("transform", written[:40])
            return IDENTITY
        origin = own(said, "transform-origin")
        if not origin:
            return matrix
        box = None
        if own(said, "transform-box") in ("fill-box", "content-box", "stroke-box", "border-box"):
            box = self.bounds(element, state) or (0.0, 0.0, 0.0, 0.0)
        return about(matrix, origin, view, box)

    def bounds(self, element: etree._Element, state: State) -> Box | None:
        """The box of an element in its own user units; `state` is its parent's."""
        if self.purpose == "measure":
            return None
        walker = self.other("measure")
        name = element.tag.rpartition("}")[2]
        said = walker.cascade.declared(element)
        free = replace(state, clips=(), groups=(), taken=True)
        inner = walker._enter(
            element, name, {key: value for key, value in said.items() if key != "transform-origin"}, free
        )
        if inner is None:
            return None
        found: list[Item] = []
        if name in SHAPES:
            walker._shape(element, name, said, inner, found)
        else:
            for child, child_state in walker._inside(element, name, said, inner):
                found += walker.collect(child, child_state)
        self.copies = walker.copies
        return bounds_in(found, inner.matrix)

    def _clip(self, element: etree._Element, written: str, state: State, parent: State) -> Clip | None:
        """The clipping path of an element; `state` is its own, `parent` that around it."""
        url = split_url(written)
        if url is None:
            self.left_out.add("clip", written[:40])
            return None
        target = self.by_id.get(url[0][1:]) if url[0].startswith("#") else None
        if target is None or target.tag.rpartition("}")[2] != "clipPath":
            self.left_out.add("reference" if not url[0].startswith("#") else "missing", f"clip-path {url[0]}")
            return None
        bounds = self.bounds(element, parent) if target.get("clipPathUnits") == "objectBoundingBox" else None
        return Clip(state.matrix, element=target, bounds=bounds)

    def _inside(self, element: etree._Element, name: str, said: Style, state: State) -> Visit:
        """What is to be visited inside a container, each with the state around it."""
        if name == "use":
            target = use_target(element, state.uses, self.by_id)
            if isinstance(target, str):
                self.left_out.add(target, href(element)[:60] or "<use>")
                return []
            return [(target, into_use(element, said, state))]
        if name == "switch":
            chosen = choose(element, self.language, DRAWABLE)
            for child in element:
                if child is not chosen and isinstance(child.tag, str):
                    self.left_out.add("language", "", self._count_shapes(child))
            return [] if chosen is None else [(chosen, replace(state, size=None))]
        inner: State | None = state
        if name == "symbol":
            inner = into_symbol(element, said, state)
        elif name == "svg" and element is not self.root:
            inner = into_svg(element, {key: element.get(key, "") for key in GEOMETRY} | said, state)
        elif state.size is not None:
            inner = replace(state, size=None)
        return [] if inner is None else [(child, inner) for child in element]

    def _cannot_draw(self, element: etree._Element, name: str, state: State) -> None:
        """Tell of text, pictures and other pages."""
        if state.style["visibility"] != "visible":
            self.left_out.add("hidden", "", 1)
        elif not state.taken:
            self.left_out.add("skipped", "", 1)
        elif name == "text":
            layer = layer_name(state.groups)
            words = first_words(element)
            if words:
                self.left_out.add("text", f"“{words}”" + (f" in {layer}" if layer else ""))
        else:
            self.left_out.add(LEFT_OUT[name], element.get("id", ""))

    def _shape(self, element: etree._Element, name: str, said: Style, state: State, found: list[Item]) -> None:
        """Add one shape, and the markers on its vertices."""
        outline = self._outline(element, name, said, state.view)
        label = element.get("id") or f"<{name}> line {element.sourceline}"
        if outline is None or not len(outline.starts):
            if outline is not None and outline.cut_short:
                self.left_out.add("error", label)
            return
        if outline.cut_short:
            self.left_out.add("error", label)
        item = self._item(outline, name, said, state, label)
        if item is not None:
            self._take(item, found)
            if name in WITH_MARKERS and self.purpose == "paint":
                self._markers(outline, said, state, item, found)

    def _take(self, item: Item, found: list[Item]) -> None:
        self.curves += len(item.outline)
        if self.curves > limits.MOST_CURVES:
            raise CannotDo(f"more than {limits.MOST_CURVES:,} curves; simplify the artwork", file=self.file)
        found.append(item)

    def _outline(self, element: etree._Element, name: str, said: Style, view: View) -> Outline | None:
        """The outline of a shape; what is drawn more than once is read once."""
        if name == "path" and element in self._outlines:
            return self._outlines[element]
        written: dict[str, str] = dict(element.attrib)
        if name in GEOMETRY_ELEMENTS:
            written |= {key: said[key] for key in GEOMETRY if key in said}
        outline = SHAPES[name](written, view)
        if name == "path" and element.get("id"):
            self._outlines[element] = outline
        return outline

    def _item(self, outline: Outline, name: str, said: Style, state: State, label: str) -> Item | None:
        style = state.style
        if style["visibility"] != "visible" and self.purpose != "measure":
            self.left_out.add("hidden", "", 1)
            return None
        if not state.taken:
            self.left_out.add("skipped", "", 1)
            return None
        width = stroke_width_of(style, said, state.view, state.matrix, self.page.px_mm)
        fill = NO_PAINT if name == "line" else fill_of(self.paints, style, state.opacity, state.context)
        stroke = stroke_of(self.paints, style, state.opacity, state.context, width)
        rule = style["clip-rule" if self.purpose == "clip" else "fill-rule"]
        if self.purpose != "paint":
            fill, stroke = Paint("#000000"), NO_PAINT
        elif not fill.colour and not stroke.colour:
            self.left_out.add("unpainted", label)
            return None
        dashes, offset = dashes_of(style, state.view) if stroke.colour else ((), 0.0)
        return Item(
            outline,
            state.matrix,
            fill,
            stroke,
            rule == "evenodd",
            width if stroke.colour else 0.0,
            CAPS[style["stroke-linecap"]],
            JOINS[style["stroke-linejoin"]],
            dashes,
            offset,
            state.clips,
            state.groups,
            label,
            stroke.colour or fill.colour,
        )

    def _letters(self, element: etree._Element, said: Style, state: State, found: list[Item]) -> None:
        """Add the letters of a text that is drawn with a font."""
        assert self.lettering is not None
        label = f"“{first_words(element)}”"

        def enter(span: etree._Element, around: State) -> State | None:
            return self._enter(span, "tspan", self.cascade.declared(span), around)

        letters = read_letters(element, state, enter)
        strange = sorted({letter.letter for letter in letters if not self.lettering.has(letter.letter)})
        if strange:
            self.left_out.add("letter", f"{' '.join(strange)} in {label}", len(strange))
        for letter in place([letter for letter in letters if letter.letter not in strange], self.lettering):
            outline = self.lettering.outline(letter.letter)
            if outline is None:
                continue
            around = letter.state
            turn, scale = math.radians(letter.rotate), letter.size / self.lettering.units
            cos, sin = math.cos(turn) * scale, math.sin(turn) * scale
            matrix = times(around.matrix, (cos, sin, sin, -cos, letter.x, letter.y))
            item = self._item(outline, "text", around.said, around, label)
            if item is not None:
                item.matrix = matrix
                self._take(item, found)

    def _markers(self, outline: Outline, said: Style, state: State, item: Item, found: list[Item]) -> None:
        """Add what `marker-start`, `-mid` and `-end` put on a shape's vertices. Markers on markers are not drawn."""
        style = state.style
        wanted = {which: style[f"marker-{which}"] for which in ("start", "mid", "end")}
        if all(value == "none" for value in wanted.values()) or any(
            user.tag.endswith("}marker") for user in state.uses
        ):
            return
        width = user_units(style["stroke-width"], "d", state.view)
        for which, at, degrees in marker_places(outline):
            url = split_url(wanted[which])
            if url is None:
                continue
            marker = self.by_id.get(url[0].removeprefix("#"))
            if marker is None or marker.tag.rpartition("}")[2] != "marker":
                self.left_out.add("missing", f"marker {url[0]}")
                continue
            said_of = self.cascade.declared(marker)
            orient = marker.get("orient", "0").strip()
            if orient == "auto-start-reverse" and which == "start":
                degrees += 180
            elif not orient.startswith("auto"):
                degrees = _degrees(orient)
            around = replace(
                state, uses=(*state.uses, marker), context=(item.fill, item.stroke),
                style=self.style_of(marker), said={},
            )  # fmt: skip
            inner = marker_state(marker, said_of, around, at, degrees, 1.0 if width is None else width)
            if inner is not None:
                found += self.collect_children(marker, replace(inner, said=said_of))

    def style_of(self, element: etree._Element) -> Style:
        """An element's inherited properties where it stands in the file, as markers and clipping paths have them."""
        style: Style = dict(INHERITED)
        for around in (*reversed(list(element.iterancestors())), element):
            style = computed(style, self.cascade.declared(around))
        return style


def _font_size(text: str, view: View) -> float:
    """Font size in user units; `view` has the parent's."""
    if text in ("smaller", "larger"):
        return view.font_size * (1.2 if text == "larger" else 1 / 1.2)
    if text in FONT_SIZES:
        return FONT_SIZES[text]
    if text.endswith("%"):
        text = text.removesuffix("%") + "em"
        return (user_units(text, "d", view) or 0.0) / 100
    size = user_units(text, "d", view)
    return view.font_size if size is None or not math.isfinite(size) else size


def _degrees(text: str) -> float:
    for unit, degrees in (("deg", 1.0), ("grad", 0.9), ("rad", 180 / math.pi), ("turn", 360.0), ("", 1.0)):
        if text.endswith(unit):
            try:
                value = float(text.removesuffix(unit)) * degrees
            except ValueError:
                return 0.0
            return value if math.isfinite(value) else 0.0
    return 0.0
