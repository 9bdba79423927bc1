"""Fold marks: ticks in the bleed that show where to fold, and end up behind the frame."""

import numpy as np

from underdraw.drawing import Drawing
from underdraw.panel import Panel
from underdraw.trim import assemble

LAYER = "fold marks"


def with_fold_marks(drawing: Drawing, panel: Panel) -> Drawing:
    """The drawing with the panel's fold marks on top, drawn with the job's first marker."""
    marker = drawing.job.markers[0]
    marks = Drawing.build(
        [[mark] for mark in panel.fold_marks],
        sheet=drawing.sheet,
        job=drawing.job,
        history=drawing.history,
        stroke=marker.looks,
        stroke_width=marker.tip,
        marker=marker.name,
        layer=LAYER,
    )
    if not len(marks):
        return drawing
    rows = np.arange(len(marks)) + len(drawing)
    return assemble([(drawing, np.arange(len(drawing)), 0), (marks, rows, 0)])[0]
