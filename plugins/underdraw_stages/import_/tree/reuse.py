"""What a `use` draws again, and how many elements that makes: a chain of ten tenfold uses is 10^10.

Source: SVG 1.1 (2nd ed.), section 5.6.
"""

from lxml import etree

from underdraw.drawing.affine import compose, translation
from underdraw_stages.import_.file.source_file import href
from underdraw_stages.import_.file.user_units import user_units
from underdraw_stages.import_.shapes.inherited_state import InheritedState
from underdraw_stages.import_.style.cascade import Style


def use_target(
    element: etree._Element, uses: tuple[etree._Element, ...], by_id: dict[str, etree._Element]
) -> etree._Element | str:
    """The element that a `use` draws again, or the kind of what is wrong with it."""
    reference = href(element)
    if not reference.startswith("#"):
        return "reference" if reference else "missing"
    target = by_id.get(reference[1:])
    if target is None:
        return "missing"
    for user in (element, *uses):
        if target is user or any(target is around for around in user.iterancestors()):
            return "loop"
    return target


def into_use(element: etree._Element, declared: Style, state: InheritedState) -> InheritedState:
    """The state in which the target of a `use` is drawn."""
    x = user_units(declared.get("x", element.get("x")), "x", state.view) or 0.0
    y = user_units(declared.get("y", element.get("y")), "y", state.view) or 0.0
    return state.changed(
        matrix=compose(state.matrix, translation(x, y)),
        size=(element.get("width"), element.get("height")),
        uses=(*state.uses, element),
    )


def count_visits(root: etree._Element, by_id: dict[str, etree._Element]) -> dict[etree._Element, int]:
    """For each element, how many elements are visited to draw it once, itself and what `use` draws again included.

    A use of what holds it counts as one element, as it is not drawn.
    """
    visits: dict[etree._Element, int] = {}
    open_elements: set[etree._Element] = set()
    waiting: list[tuple[etree._Element, bool]] = [(root, False)]
    while waiting:
        element, inside_done = waiting.pop()
        if inside_done:
            open_elements.discard(element)
            visits[element] = 1 + sum(visits.get(inner, 0) for inner in _inside(element, by_id))
        elif element not in visits and element not in open_elements:
            open_elements.add(element)
            waiting.append((element, True))
            waiting.extend((inner, False) for inner in _inside(element, by_id))
    return visits


def _inside(element: etree._Element, by_id: dict[str, etree._Element]) -> list[etree._Element]:
    if element.tag.rpartition("}")[2] == "use":
        reference = href(element)
        target = by_id.get(reference[1:]) if reference.startswith("#") else None
        return [] if target is None else [target]
    return [child for child in element if isinstance(child.tag, str)]
