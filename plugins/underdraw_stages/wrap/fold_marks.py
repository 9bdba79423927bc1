"""Fold marks: ticks in the bleed that show where to fold, and end up behind the frame."""

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import Job
from underdraw.panel import Panel

LAYER = "fold marks"


def fold_marks(panel: Panel, job: Job) -> Drawing:
    """The panel's fold marks, drawn with the job's first marker."""
    marker = job.markers[0]
    return Drawing.build(
        [[mark] for mark in panel.fold_marks],
        sheet=panel.board,
        job=job,
        stroke=marker.looks,
        stroke_width=marker.tip,
        marker=marker.name,
        layer=LAYER,
    )
