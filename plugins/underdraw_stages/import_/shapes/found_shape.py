"""One shape as the walk through the artwork finds it, and the box around several."""

from collections.abc import Iterable
from dataclasses import dataclass

from underdraw.drawing.affine import Matrix, compose, inverse
from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import COLUMNS
from underdraw_stages.import_.outlines.path_data import Outline
from underdraw_stages.import_.shapes.inherited_state import Clip, Group, layer_name
from underdraw_stages.import_.style.svg_paint import Paint


@dataclass(slots=True)
class FoundShape:
    """One shape as found: its outline in user units, its matrix to mm, its appearance.

    Once it is flattened the outline is without its curves, so that those of all shapes are never held.
    """

    outline: Outline
    matrix: Matrix
    fill: Paint
    stroke: Paint
    evenodd: bool
    stroke_width: float  # mm
    cap: str
    join: str
    dashes: tuple[float, ...]  # user units; empty: a whole line
    dash_offset: float
    path_length: float  # how long its author states the outline to be, which dashes go by; 0: not given
    clips: tuple[Clip, ...]
    groups: tuple[Group, ...]
    element: str  # id, or the element's name and line, for messages
    colour: str  # of the stroke, else of the fill: chooses the marker
    blur: float = 0.0  # mm over which its edge fades
    miter_limit: float = COLUMNS["miter_limit"].default  # in stroke widths

    @property
    def layer(self) -> str:
        """The layer it is on, for messages."""
        return layer_name(self.groups)


def bounds_of(items: Iterable[FoundShape], user: Matrix) -> Box | None:
    """The box around shapes, in the user units of `user` (a matrix to mm); None where there is nothing to measure."""
    back = inverse(user)
    if back is None:
        return None
    boxes = [box for item in items if (box := item.outline.box(compose(back, item.matrix))) is not None]
    if not boxes:
        return None
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)
