"""Trim a drawing to boxes: lines end exactly at the edge, fills stay fills, and a cut makes no line of its own."""

from underdraw.trim.shapes import Trimmed, assemble, is_cover, trim

__all__ = ["Trimmed", "assemble", "is_cover", "trim"]
