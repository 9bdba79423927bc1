"""What an element takes over from those around it: matrix, style, view, clips, groups."""

from dataclasses import dataclass, field, replace
from typing import Any

from lxml import etree

from underdraw.drawing.affine import Matrix
from underdraw.drawing.boxes import Box
from underdraw_stages.import_.file.user_units import View
from underdraw_stages.import_.style.cascade import Style
from underdraw_stages.import_.style.svg_paint import NO_PAINT, Paint


@dataclass(eq=False, slots=True)
class Group:
    """A group that has a name, for layers. `path` is the names of the named groups around it and its own."""

    names: tuple[str, ...]  # label first, then id, then classes
    path: tuple[tuple[str, ...], ...]
    labelled: bool
    hidden: bool = False

    @property
    def name(self) -> str:
        return self.names[0]


@dataclass(frozen=True, eq=False, slots=True)
class Clip:
    """Something that cuts what is drawn: a viewport's `box` (user units of `matrix`), or a clipPath element.

    `bounds` is the box of the element clipped, in its user units, for clipPathUnits="objectBoundingBox".
    """

    matrix: Matrix
    box: Box | None = None
    element: etree._Element | None = None
    bounds: Box | None = None


@dataclass(slots=True)
class InheritedState:
    """What an element takes over from those around it. matrix: its user units to mm.

    Set only while it is made (a frozen class takes three times as long, and there is one an element).
    """

    matrix: Matrix
    style: Style
    view: View
    declared: Style = field(default_factory=dict)  # the parent's own declarations, for `inherit`
    opacity: float = 1.0
    clips: tuple[Clip, ...] = ()
    groups: tuple[Group, ...] = ()
    taken: bool = True  # inside a layer that was asked for
    depth: int = 0
    uses: tuple[etree._Element, ...] = ()  # the `use` elements that lead here
    size: tuple[str | None, str | None] | None = None  # width and height that a `use` gives; None: not drawn by one
    context: tuple[Paint, Paint] = (NO_PAINT, NO_PAINT)  # fill and stroke of the shape a marker stands on
    blur: float = 0.0  # mm over which edges fade, by the filters around

    def inside(self, declared: Style, style: Style) -> "InheritedState":
        """What stands inside an element with these declarations, before it changes anything else."""
        return InheritedState(
            self.matrix,
            style,
            self.view,
            declared,
            self.opacity,
            self.clips,
            self.groups,
            self.taken,
            self.depth + 1,
            self.uses,
            self.size,
            self.context,
            self.blur,
        )

    def changed(self, **fields: Any) -> "InheritedState":
        """A copy with some fields changed."""
        return replace(self, **fields)


def layer_name(groups: tuple[Group, ...]) -> str:
    """The innermost group with a label, else the innermost with a name; "" where none has."""
    named = next((group.name for group in reversed(groups) if group.labelled), "")
    return named or (groups[-1].name if groups else "")
