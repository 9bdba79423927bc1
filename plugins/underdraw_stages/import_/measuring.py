"""The box of an element in its own user units, for what is measured by the object: clips, transform origins."""

from typing import TYPE_CHECKING

from lxml import etree

from underdraw_stages.import_.cascade import INHERITED
from underdraw_stages.import_.items import Box, State
from underdraw_stages.import_.outline_bounds import bounds_in
from underdraw_stages.import_.placing import IDENTITY

if TYPE_CHECKING:
    from underdraw_stages.import_.walk import Walker


def box_of(walker: "Walker", element: etree._Element, state: State) -> Box | None:
    """The box (x0, y0, x1, y1) around an element's outlines, in user units inside its own `transform`.

    `state` is its parent's. Clips and strokes do not count. None where there is nothing to measure.
    """
    key = (element, state.view)
    if key not in walker.boxes:
        walker.boxes[key] = None  # what is measured by itself has no box
        free = State(
            IDENTITY, state.style or dict(INHERITED), state.view, state.said, depth=state.depth, uses=state.uses
        )
        # the element's own transform does not count: its box is in the units inside
        walker.boxes[key] = bounds_in(walker.other("measure").collect(element, free, untransformed=element), IDENTITY)
    return walker.boxes[key]
