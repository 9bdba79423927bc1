"""Trim a drawing to boxes: lines end exactly at the edge, fills stay fills, and a cut makes no line of its own."""

from underdraw.drawing.trimming.beginning import without_beginning
from underdraw.drawing.trimming.cut_lines import strung
from underdraw.drawing.trimming.cut_shapes import Trimmed, trim, trim_batches, trim_detached
from underdraw.drawing.trimming.detached import DetachedShapes, ShapeBatches, together

__all__ = [
    "DetachedShapes",
    "ShapeBatches",
    "Trimmed",
    "strung",
    "together",
    "trim",
    "trim_batches",
    "trim_detached",
    "without_beginning",
]
