"""The panel: every size, fold and position of face, sides, board, canvas and bed, worked out once for everyone."""

from underdraw.drawing.boxes import Box, Point, Size
from underdraw.panel.bed import LEAST_RETURN_MM, BedFit, bed_fit, largest_faces, reach
from underdraw.panel.geometry import SIDES, ImpossiblePanel, Panel, Segment, Side
from underdraw.panel.lying import Lying, holder_offset, require_on_bed
from underdraw.panel.marks import MARK_MM, Mark, corner_marks
from underdraw.panel.sections import Sections, band_marks

__all__ = [
    "LEAST_RETURN_MM",
    "MARK_MM",
    "SIDES",
    "BedFit",
    "Box",
    "ImpossiblePanel",
    "Lying",
    "Mark",
    "Panel",
    "Point",
    "Sections",
    "Segment",
    "Side",
    "Size",
    "band_marks",
    "bed_fit",
    "corner_marks",
    "holder_offset",
    "largest_faces",
    "reach",
    "require_on_bed",
]
