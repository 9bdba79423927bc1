"""Trim a drawing to boxes: lines end exactly at the edge, fills stay fills, and a cut makes no line of its own."""

from underdraw.drawing.trimming.cut_shapes import Trimmed, trim, trim_loose, trim_pile
from underdraw.drawing.trimming.pieces import Loose, Pile, together

__all__ = ["Loose", "Pile", "Trimmed", "together", "trim", "trim_loose", "trim_pile"]
