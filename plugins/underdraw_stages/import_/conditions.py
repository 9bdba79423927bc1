"""What `switch` and its conditions choose. Source: SVG 1.1 (2nd ed.), section 5.8."""

from collections.abc import Mapping

from lxml import etree


def holds(attributes: Mapping[str, str], language: str) -> bool:
    """Whether an element's conditions let it be drawn for a reader of `language`; features count as there."""
    if "requiredExtensions" in attributes:
        return False  # no extension is known here, and an empty list is false by the standard
    languages = attributes.get("systemLanguage")
    if languages is None:
        return True
    wanted = language.lower()
    tags = [tag.strip().lower() for tag in languages.split(",")]
    return any(tag == wanted or tag.startswith(wanted + "-") for tag in tags if tag)


def choose(switch: etree._Element, language: str, drawable: set[str]) -> etree._Element | None:
    """The first direct child whose conditions hold, or None. Children that are never drawn do not count."""
    for child in switch:
        if isinstance(child.tag, str) and etree.QName(child).localname in drawable and holds(child.attrib, language):
            return child
    return None
