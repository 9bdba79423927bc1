"""What one element adds that draws something: a shape with the markers on it, or the letters of a text."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from lxml import etree

from underdraw.drawing.affine import IDENTITY, Matrix, compose
from underdraw_stages.import_.file.user_units import user_units
from underdraw_stages.import_.outlines.path_data import Outline
from underdraw_stages.import_.shapes.basic_shapes import SHAPES
from underdraw_stages.import_.shapes.found_shape import FoundShape
from underdraw_stages.import_.shapes.inherited_state import InheritedState, layer_name
from underdraw_stages.import_.shapes.vertex_markers import direction_of, marker_positions
from underdraw_stages.import_.style.appearance import (
    CAPS,
    JOINS,
    PaintFrame,
    dashes_of,
    fill_of,
    miter_limit_of,
    stroke_of,
    stroke_width_of,
)
from underdraw_stages.import_.style.cascade import GEOMETRY, GEOMETRY_ELEMENTS
from underdraw_stages.import_.style.svg_paint import NO_PAINT, Paint, split_url
from underdraw_stages.import_.text.text_layout import EnterSpan, first_words, lay_out, read_letters
from underdraw_stages.import_.tree.document import Document
from underdraw_stages.import_.tree.left_out import LeftOut
from underdraw_stages.import_.tree.viewports import marker_state

WITH_MARKERS = {"path", "line", "polyline", "polygon"}  # SVG 1.1, 11.6.2

Purpose = Literal["paint", "clip", "measure"]
Collect = Callable[[etree._Element, InheritedState], list[FoundShape]]  # an element's shapes, given its parent's state


@dataclass(frozen=True, eq=False)
class DrawnElements:
    """Adds what elements draw, for one walk.

    purpose: `paint` finds what is visible; `clip` and `measure` find outlines whatever they are painted with.
    """

    document: Document
    purpose: Purpose
    left_out: LeftOut

    def add_shape(
        self, element: etree._Element, name: str, state: InheritedState, shapes: list[FoundShape], collect: Collect
    ) -> None:
        """Add a shape, and the markers on its vertices; `state` is its own. collect: finds what a marker draws."""
        outline = self._outline(element, name, state)
        label = element.get("id") or f"<{name}> line {element.sourceline}"
        if outline is not None and outline.cut_short:
            self.left_out.add("error", label)
        if outline is None or not len(outline.starts):
            return
        item = self._item(outline, name, state, label)
        if item is not None:
            item.path_length = user_units(element.get("pathLength"), "d", state.view) or 0.0
            self.document.budget.curve(len(outline))
            shapes.append(item)
            if name in WITH_MARKERS and self.purpose == "paint":
                self._add_markers(outline, state, item, shapes, collect)

    def _outline(self, element: etree._Element, name: str, state: InheritedState) -> Outline | None:
        """The outline of a shape; a path that others draw, and may draw again, is read once."""
        kept = name == "path" and (bool(state.uses) or self.purpose != "paint")
        if kept and element in self.document.outlines:
            return self.document.outlines[element]
        written: dict[str, str] = dict(element.attrib)
        if name in GEOMETRY_ELEMENTS:
            written |= {key: state.declared[key] for key in GEOMETRY if key in state.declared}
        outline = SHAPES[name](written, state.view)
        if kept:
            self.document.outlines[element] = outline
        return outline

    def _item(
        self, outline: Outline, name: str, state: InheritedState, label: str, own: Matrix = IDENTITY
    ) -> FoundShape | None:
        """The shape with its appearance, or None where it is not visible; own: its outline's units to user units."""
        style = state.style
        if style["visibility"] != "visible" and self.purpose != "measure":
            self.left_out.add("hidden", "", 1)
            return None
        if not state.taken:
            self.left_out.add("skipped", "", 1)
            return None
        width = stroke_width_of(style, state.declared, state.view, state.matrix, self.document.page.px_mm)
        frame = PaintFrame(state.matrix, state.view, lambda: outline.box(own), state.opacity)
        fill = NO_PAINT if name == "line" else fill_of(self.document.paints, style, state.context, frame)
        stroke = stroke_of(self.document.paints, style, state.context, frame, width)
        rule = style["clip-rule" if self.purpose == "clip" else "fill-rule"]
        if self.purpose != "paint":
            fill, stroke = Paint("#000000"), NO_PAINT
        elif not fill.colour and not stroke.colour:
            self.left_out.add("unpainted", label)
            return None
        elif "pattern" in (self.document.paints.kind(style["fill"]), self.document.paints.kind(style["stroke"])):
            self.left_out.add("pattern", label)
        px_mm = self.document.page.px_mm
        dashes, offset = (
            dashes_of(style, state.declared, state.view, state.matrix, px_mm) if stroke.colour else ((), 0.0)
        )
        return FoundShape(
            outline=outline,
            matrix=compose(state.matrix, own) if own != IDENTITY else state.matrix,
            fill=fill,
            stroke=stroke,
            evenodd=rule == "evenodd",
            stroke_width=width if stroke.colour else 0.0,
            cap=CAPS[style["stroke-linecap"]],
            join=JOINS[style["stroke-linejoin"]],
            miter_limit=miter_limit_of(style, state.view),
            dashes=dashes,
            dash_offset=offset,
            path_length=0.0,
            clips=state.clips,
            groups=state.groups,
            element=label,
            colour=stroke.colour or fill.colour,
            blur=state.blur,
        )

    def _add_markers(
        self, outline: Outline, state: InheritedState, item: FoundShape, shapes: list[FoundShape], collect: Collect
    ) -> None:
        """Add what `marker-start`, `-mid` and `-end` put on a shape's vertices. Markers on markers are not drawn."""
        style = state.style
        wanted = {which: style[f"marker-{which}"] for which in ("start", "mid", "end")}
        if all(value == "none" for value in wanted.values()) or any(user.tag.endswith("marker") for user in state.uses):
            return
        width = user_units(style["stroke-width"], "d", state.view)
        markers = {which: self._marker(value) for which, value in wanted.items()}
        positions = marker_positions(outline)
        self.document.budget.room_for(
            sum(self.document.visits_of(one) for which, *_ in positions if (one := markers[which]) is not None)
        )
        for which, at, degrees in positions:
            marker = markers[which]
            if marker is None:
                continue
            turn = direction_of(marker.get("orient", "0").strip(), which, degrees)
            declared = self.document.cascade.declared(marker)
            around = state.changed(
                declared=declared,
                style=self.document.style_of(marker),
                uses=(*state.uses, marker),
                context=(item.fill, item.stroke),
            )
            inner = marker_state(marker, declared, around, at, turn, 1.0 if width is None else width)
            if inner is not None:
                for child in marker:
                    shapes += collect(child, inner)

    def _marker(self, written: str) -> etree._Element | None:
        """The marker element that a property names, or None."""
        url = split_url(written)
        if url is None:
            return None
        marker = self.document.by_id.get(url[0].removeprefix("#"))
        if marker is None or marker.tag.rpartition("}")[2] != "marker":
            self.left_out.add("missing", f"marker {url[0]}")
            return None
        return marker

    def add_letters(
        self, element: etree._Element, state: InheritedState, shapes: list[FoundShape], enter_span: EnterSpan
    ) -> None:
        """Add the letters of a text that is drawn with a font; `state` is the text's own."""
        font = self.document.font
        assert font is not None
        label = f"“{first_words(element)}”"
        letters = read_letters(element, state, enter_span)
        self.document.budget.room_for(len(letters))
        self.document.budget.copies += len(letters)
        strange = sorted({letter.letter for letter in letters if not font.has(letter.letter)})
        if strange:
            self.left_out.add("letter", f"{' '.join(strange)} in {label}", len(strange))
        for letter in lay_out([letter for letter in letters if letter.letter not in strange], font):
            outline = font.outline(letter.letter)
            turn, scale = math.radians(letter.rotate), letter.size / font.units
            cos, sin = math.cos(turn) * scale, math.sin(turn) * scale
            own = (cos, sin, sin, -cos, letter.x, letter.y)
            item = None if outline is None else self._item(outline, "text", letter.state, label, own)
            if outline is not None and item is not None:
                item.dashes = tuple(dash / scale for dash in item.dashes) if scale else ()
                item.dash_offset = item.dash_offset / scale if scale else 0.0
                self.document.budget.curve(len(outline))
                shapes.append(item)

    def report_undrawn(self, element: etree._Element, kind: str, state: InheritedState) -> None:
        """Say that text, a picture or another page is not drawn."""
        if state.style["visibility"] != "visible":
            self.left_out.add("hidden", "", 1)
        elif not state.taken:
            self.left_out.add("skipped", "", 1)
        elif kind == "text":
            layer = layer_name(state.groups)
            words = first_words(element)
            if words:
                self.left_out.add("text", f"“{words}”" + (f" in {layer}" if layer else ""))
        else:
            self.left_out.add(kind, element.get("id", ""))
