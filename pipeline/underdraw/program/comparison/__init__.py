"""What a program draws against what a drawing holds: how far off, what is missing, what is extra.

Strokes are matched one to one first: in the drawing's order, then by their ends, whichever way they are drawn
(`pairs`); a pair is measured point by point along the way, which takes no search (`along`). Whatever finds no partner
(other cuts, faults) is measured by nearest distance, strokes that are covered more than once counting as extra
(`nearest`).
"""

from underdraw.program.comparison.result import Comparison, compare, drawn_strokes, marker_of_strokes, tell

__all__ = ["Comparison", "compare", "drawn_strokes", "marker_of_strokes", "tell"]
