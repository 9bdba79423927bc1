"""Marks that end up out of sight: ticks in the bleed to fold by, and registration crosses in the corners."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.paint.colours import rgb_of
from underdraw.drawing.paint.difference import ciede2000, lab
from underdraw.job.sections import Job, MarkerSection
from underdraw.panel import Mark, Panel, Segment

LAYER = "fold marks"
LEAST_DIFFERENCE = 20.0  # CIEDE2000, from white: less is hard to put a tip over (common practice, no source)
REGISTRATION_LAYER = "registration marks"


@dataclass(frozen=True)
class MarkLines:
    """Lines of marks: a layer's name, the marker that draws them, and the lines."""

    layer: str
    marker: MarkerSection
    lines: Sequence[Segment]


def fold_marks(panel: Panel, job: Job) -> MarkLines:
    """The panel's fold marks, drawn with the job's first marker."""
    return MarkLines(LAYER, job.markers[0], panel.fold_marks)


def registration_marks(marks: Sequence[Mark], drawing: Drawing) -> MarkLines:
    """The crosses, drawn with the thinnest marker that the drawing uses anyway: none is put in for them alone.

    One that hardly shows on bare canvas draws them only where no other is used.
    """
    used = set(drawing.marker.tolist())
    markers = [marker for marker in drawing.job.markers if marker.name in used] or list(drawing.job.markers[:1])
    shows = lab(rgb_of([marker.looks for marker in markers]))
    plain = ciede2000(shows, np.repeat(lab(rgb_of([""])), len(markers), axis=0)) >= LEAST_DIFFERENCE
    thinnest = min(zip(~plain, markers, strict=True), key=lambda item: (item[0], item[1].tip))[1]
    return MarkLines(REGISTRATION_LAYER, thinnest, [line for mark in marks for line in mark.strokes])


def as_drawing(marks: Sequence[MarkLines], panel: Panel, job: Job) -> Drawing | None:
    """All of them in one drawing; None where there are none."""
    each = [(line, item) for item in marks for line in item.lines]
    if not each:
        return None
    return Drawing.build(
        [[line] for line, _ in each],
        sheet=panel.board,
        job=job,
        stroke=np.array([item.marker.looks for _, item in each], dtype=object),
        stroke_width=[item.marker.line_width for _, item in each],
        marker=np.array([item.marker.name for _, item in each], dtype=object),
        layer=np.array([item.layer for _, item in each], dtype=object),
    )
