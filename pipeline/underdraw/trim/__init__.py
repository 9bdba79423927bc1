"""Trim a drawing to boxes: lines end exactly at the edge, fills stay fills, and a cut makes no line of its own."""

from underdraw.trim.loose import Loose, Pile, together
from underdraw.trim.shapes import Trimmed, trim, trim_loose, trim_pile

__all__ = ["Loose", "Pile", "Trimmed", "together", "trim", "trim_loose", "trim_pile"]
