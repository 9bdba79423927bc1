"""Where the texts of a page lie, worked out from its SVG as written: no renderer, the widths of a wide face."""

import re
from xml.etree import ElementTree

from underdraw.page.text_width import text_width

SVG = "{http://www.w3.org/2000/svg}"
ASCENT, DESCENT = 0.74, 0.22  # of the font size: from the base line up and down (from memory, common sans-serif faces)
DOWN = set("gjpqy,;()/")  # what goes below the base line
Box = tuple[str, float, float, float, float]  # words, left, top, right, bottom


def text_boxes(svg: str) -> tuple[tuple[float, float], list[Box]]:
    """The page's width and height, and the box of each text that shows; of pages whose texts are not transformed."""
    root = ElementTree.fromstring(svg)
    style = root.findtext(f"{SVG}style") or ""
    classes = {
        name: dict(re.findall(r"([\w-]+):([^;]+)", held)) for name, held in re.findall(r"\.(\w+)\{([^}]*)\}", style)
    }
    _, _, wide, tall = map(float, root.get("viewBox", "").split())
    found: list[Box] = []

    def visit(element: ElementTree.Element, inherited: dict[str, str]) -> None:
        own = {**inherited, **{key: element.get(key, "") for key in inherited if element.get(key)}}
        for name in element.get("class", "").split():
            own |= {key: value for key, value in classes.get(name, {}).items() if key in own}
        if element.get("font-size"):
            own["font-size"] = element.get("font-size", "")
        if element.tag == f"{SVG}text":
            assert element.get("transform") is None and "transform" not in own
            words = "".join(element.itertext())
            size = float(own["font-size"].removesuffix("px"))
            x, y = float(element.get("x", 0)), float(element.get("y", 0))
            width = text_width(words, size, bold=own["font-weight"] == "bold")
            left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[own["text-anchor"]]
            found.append((words, left, y - ASCENT * size, left + width, y + DESCENT * size * bool(DOWN & set(words))))
        for child in element:
            if child.tag not in (f"{SVG}defs", f"{SVG}title", f"{SVG}desc"):
                visit(child, own)

    visit(root, {"font-size": "0", "font-weight": "normal", "text-anchor": "start"})
    return (wide, tall), found


def overlaps(boxes: list[Box], air: float = 0.1) -> list[tuple[str, str]]:
    """Which texts lie over each other by more than `air` mm each way."""
    return [
        (words, other)
        for place, (words, *a) in enumerate(boxes)
        for other, *b in boxes[place + 1 :]
        if a[0] + air < b[2] and b[0] + air < a[2] and a[1] + air < b[3] and b[1] + air < a[3]
    ]


def beyond(size: tuple[float, float], boxes: list[Box], margin: float) -> list[str]:
    """Which texts reach into the page's margin."""
    return [
        words
        for words, x0, y0, x1, y1 in boxes
        if x0 < margin - 0.01 or y0 < margin / 2 or x1 > size[0] - margin + 0.01 or y1 > size[1]
    ]
