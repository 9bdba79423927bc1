"""How many elements reuse would draw, worked out without drawing them: a chain of ten tenfold uses is 10^10."""

from lxml import etree

from underdraw_stages.import_.viewports import href


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
