"""What one element adds that draws something: a shape with the markers on it, or the letters of a text."""

import math
from typing import TYPE_CHECKING

from lxml import etree

from underdraw_stages.import_.basic_shapes import SHAPES
from underdraw_stages.import_.cascade import GEOMETRY, GEOMETRY_ELEMENTS, Style
from underdraw_stages.import_.items import Item, State, layer_name
from underdraw_stages.import_.looks import CAPS, JOINS, dashes_of, fill_of, stroke_of, stroke_width_of
from underdraw_stages.import_.paint import NO_PAINT, Paint, split_url
from underdraw_stages.import_.path_data import Outline
from underdraw_stages.import_.placing import times
from underdraw_stages.import_.text_runs import first_words, place, read_letters
from underdraw_stages.import_.user_units import View, user_units
from underdraw_stages.import_.vertex_markers import direction_of, marker_places
from underdraw_stages.import_.viewports import marker_state

if TYPE_CHECKING:
    from underdraw_stages.import_.walk import Walker

WITH_MARKERS = {"path", "line", "polyline", "polygon"}  # SVG 1.1, 11.6.2


def add_shape(walker: "Walker", element: etree._Element, name: str, state: State, found: list[Item]) -> None:
    """Add a shape, and the markers on its vertices; `state` is its own."""
    outline = _outline(walker, element, name, state.said, state.view)
    label = element.get("id") or f"<{name}> line {element.sourceline}"
    if outline is not None and outline.cut_short:
        walker.left_out.add("error", label)
    if outline is None or not len(outline.starts):
        return
    item = _item(walker, outline, name, state, label)
    if item is not None:
        item.path_length = user_units(element.get("pathLength"), "d", state.view) or 0.0
        walker.budget.curve(len(outline))
        found.append(item)
        if name in WITH_MARKERS and walker.purpose == "paint":
            _add_markers(walker, outline, state, item, found)


def _outline(walker: "Walker", element: etree._Element, name: str, said: Style, view: View) -> Outline | None:
    """The outline of a shape; a path that may be drawn more than once is read once."""
    if name == "path" and element in walker.outlines:
        return walker.outlines[element]
    written: dict[str, str] = dict(element.attrib)
    if name in GEOMETRY_ELEMENTS:
        written |= {key: said[key] for key in GEOMETRY if key in said}
    outline = SHAPES[name](written, view)
    if name == "path" and "id" in written:
        walker.outlines[element] = outline
    return outline


def _item(walker: "Walker", outline: Outline, name: str, state: State, label: str) -> Item | None:
    """The shape with its looks, or None where it is not seen."""
    style = state.style
    if style["visibility"] != "visible" and walker.purpose != "measure":
        walker.left_out.add("hidden", "", 1)
        return None
    if not state.taken:
        walker.left_out.add("skipped", "", 1)
        return None
    width = stroke_width_of(style, state.said, state.view, state.matrix, walker.page.px_mm)
    fill = NO_PAINT if name == "line" else fill_of(walker.paints, style, state.opacity, state.context)
    stroke = stroke_of(walker.paints, style, state.opacity, state.context, width)
    rule = style["clip-rule" if walker.purpose == "clip" else "fill-rule"]
    if walker.purpose != "paint":
        fill, stroke = Paint("#000000"), NO_PAINT
    elif not fill.colour and not stroke.colour:
        walker.left_out.add("unpainted", label)
        return None
    elif "pattern" in (walker.paints.kind(style["fill"]), walker.paints.kind(style["stroke"])):
        walker.left_out.add("pattern", label)
    dashes, offset = dashes_of(style, state.view) if stroke.colour else ((), 0.0)
    return Item(
        outline=outline,
        matrix=state.matrix,
        fill=fill,
        stroke=stroke,
        evenodd=rule == "evenodd",
        stroke_width=width if stroke.colour else 0.0,
        cap=CAPS[style["stroke-linecap"]],
        join=JOINS[style["stroke-linejoin"]],
        dashes=dashes,
        dash_offset=offset,
        path_length=0.0,
        clips=state.clips,
        groups=state.groups,
        element=label,
        colour=stroke.colour or fill.colour,
    )


def _add_markers(walker: "Walker", outline: Outline, state: State, item: Item, found: list[Item]) -> None:
    """Add what `marker-start`, `-mid` and `-end` put on a shape's vertices. Markers on markers are not drawn."""
    style = state.style
    wanted = {which: style[f"marker-{which}"] for which in ("start", "mid", "end")}
    if all(value == "none" for value in wanted.values()) or any(user.tag.endswith("marker") for user in state.uses):
        return
    width = user_units(style["stroke-width"], "d", state.view)
    markers = {which: _marker(walker, value) for which, value in wanted.items()}
    places = marker_places(outline)
    walker.budget.room_for(sum(walker.visits_of(one) for which, *_ in places if (one := markers[which]) is not None))
    for which, at, degrees in places:
        marker = markers[which]
        if marker is None:
            continue
        turn = direction_of(marker.get("orient", "0").strip(), which, degrees)
        said = walker.cascade.declared(marker)
        around = state.changed(
            said=said,
            style=walker.style_of(marker),
            uses=(*state.uses, marker),
            context=(item.fill, item.stroke),
        )
        inner = marker_state(marker, said, around, at, turn, 1.0 if width is None else width)
        if inner is not None:
            for child in marker:
                found += walker.collect(child, inner)


def _marker(walker: "Walker", written: str) -> etree._Element | None:
    """The marker element that a property names, or None."""
    url = split_url(written)
    if url is None:
        return None
    marker = walker.by_id.get(url[0].removeprefix("#"))
    if marker is None or marker.tag.rpartition("}")[2] != "marker":
        walker.left_out.add("missing", f"marker {url[0]}")
        return None
    return marker


def add_letters(walker: "Walker", element: etree._Element, state: State, found: list[Item]) -> None:
    """Add the letters of a text that is drawn with a font; `state` is the text's own."""
    font = walker.lettering
    assert font is not None
    label = f"“{first_words(element)}”"
    letters = read_letters(element, state, walker.enter_span)
    walker.budget.room_for(len(letters))
    walker.budget.copies += len(letters)
    strange = sorted({letter.letter for letter in letters if not font.has(letter.letter)})
    if strange:
        walker.left_out.add("letter", f"{' '.join(strange)} in {label}", len(strange))
    for letter in place([letter for letter in letters if letter.letter not in strange], font):
        outline = font.outline(letter.letter)
        item = None if outline is None else _item(walker, outline, "text", letter.state, label)
        if outline is not None and item is not None:
            turn, scale = math.radians(letter.rotate), letter.size / font.units
            cos, sin = math.cos(turn) * scale, math.sin(turn) * scale
            item.matrix = times(letter.state.matrix, (cos, sin, sin, -cos, letter.x, letter.y))
            item.dashes = tuple(dash / scale for dash in item.dashes) if scale else ()
            item.dash_offset = item.dash_offset / scale if scale else 0.0
            walker.budget.curve(len(outline))
            found.append(item)


def tell_of(walker: "Walker", element: etree._Element, kind: str, state: State) -> None:
    """Say that text, a picture or another page is not drawn."""
    if state.style["visibility"] != "visible":
        walker.left_out.add("hidden", "", 1)
    elif not state.taken:
        walker.left_out.add("skipped", "", 1)
    elif kind == "text":
        layer = layer_name(state.groups)
        words = first_words(element)
        if words:
            walker.left_out.add("text", f"“{words}”" + (f" in {layer}" if layer else ""))
    else:
        walker.left_out.add(kind, element.get("id", ""))
