"""What an artwork's page was drawn for: the face, the whole image with its sides, or the canvas with its staple strips.

If no setting decides, its size does: a page that agrees within `ALIKE` both ways with one of the three is the one that
it is nearest to. On a large, shallow panel more than one of them may be so near.
"""

from typing import TYPE_CHECKING

from underdraw.panel import Panel, Size
from underdraw.words.quantities import size_in

if TYPE_CHECKING:
    from underdraw.plugins.parts import Context

ALIKE = 0.02  # share by which page and image may differ, each way: rounding in a drawing program, not another size
FACE, IMAGE, CANVAS = "face", "image", "canvas"


def drawn_for(page: Size, panel: Panel, asked: str | None, context: "Context") -> str:
    """`face`, `image` or `canvas`; page: (width, height) in mm after its turn. Says what it chose by size, or may miss.

    >>> from underdraw.testing.trial import TrialContext
    >>> panel = Panel(face=(400, 500), depth=60, bleed=15, staple=25)
    >>> [drawn_for(page, panel, None, TrialContext(None)) for page in ((400, 500), (550, 655), (600, 700))]
    ['face', 'image', 'canvas']
    """
    if asked is not None:
        return asked
    if not panel.wraps:
        return FACE
    finished = sizes(panel)
    unlike = {name: unlikeness(page, size) for name, size in finished.items()}
    nearest = min(unlike, key=lambda name: unlike[name])
    if unlike[nearest] <= ALIKE:
        return nearest
    if proportional(page, finished[IMAGE]) and not proportional(page, panel.face):
        context.warn(
            f"the page of {size_in(page, panel.unit)} has the proportions of the whole image, "
            f"{size_in(finished[IMAGE], panel.unit)}, and goes on the face alone; if its sides are drawn, set "
            "covers = image, else covers = face"
        )
    return FACE


def sizes(panel: Panel) -> dict[str, Size]:
    """The finished sizes that a page may have been drawn for, in mm."""
    (w, h), side = panel.face, panel.depth + panel.bleed
    image = (w + 2 * side, h + 2 * side) if panel.wraps else panel.face
    strip = panel.staple if panel.wraps else 0.0
    return {FACE: panel.face, IMAGE: image, CANVAS: (image[0] + 2 * strip, image[1] + 2 * strip)}


def unlikeness(page: Size, size: Size) -> float:
    """By what share of a size a page differs from it, the way that it differs more."""
    return max(abs(own - other) / other for own, other in zip(page, size, strict=True))


def proportional(page: Size, size: Size) -> bool:
    """Whether two sizes have the same proportions."""
    return min(*page, *size) > 0 and abs(page[0] / page[1] - size[0] / size[1]) <= ALIKE * size[0] / size[1]


def chosen_line(page: Size, panel: Panel, kind: str) -> str:
    """One line: what a page was taken for by its size, and names the setting."""
    what = {IMAGE: "the whole image, its sides drawn", CANVAS: "the canvas to cut, its staple strips left out"}[kind]
    return f"the page of {size_in(page, panel.unit)} is the size of {what}; --covers face puts it on the face alone"
