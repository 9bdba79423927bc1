"""Large jobs, a cell of the board at a time: the strokes in it, and what is outside as strokes that stay as they are.

Between two visits to a cell the tour goes on outside; each such stretch takes part as one stroke from its first point
to its last, so that whatever is better in the cell is better in the whole (cells: Karp, 'Probabilistic analysis of
partitioning algorithms', 1977). A search then takes time by the cell's size, not by the whole tour's.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import gather, offsets, row_positions
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, ends_of

CELL_STROKES = 1500
CUTS = (0.5, 0.37)  # where each round halves the board's cells: others' borders lie within this one's cells


def cells_of(strokes: StrokeEnds, cut: float) -> list[NDArray[np.int64]]:
    """The strokes of each cell: split by their middles across the longer side until none has more than CELL_STROKES."""
    middles = (strokes.first + strokes.last) / 2
    todo, done = [np.arange(len(strokes))], []
    while todo:
        rows = todo.pop()
        if len(rows) <= CELL_STROKES:
            done.append(rows)
            continue
        sides = np.ptp(middles[rows], axis=0)
        along = middles[rows, int(sides[1] > sides[0])]
        order = np.argsort(along, kind="stable")
        at = int(len(rows) * cut)
        todo += [rows[order[at:]], rows[order[:at]]]
    return done


@dataclass(frozen=True)
class Cell:
    """One cell's own small tour. Item i is a stroke of the cell, or (`inside` false) a stretch of the whole tour; it
    stands for `counts[i]` positions of that from `starts[i]` on. plan: the tour as it is now."""

    strokes: StrokeEnds
    plan: Plan
    inside: NDArray[np.bool_]
    starts: NDArray[np.int64]
    counts: NDArray[np.int64]


def cut_out(strokes: StrokeEnds, plan: Plan, rows: NDArray[np.int64]) -> Cell:
    """The cell of these rows, in a cyclic plan of all strokes."""
    in_cell = np.zeros(len(strokes), dtype=np.bool_)
    in_cell[rows] = True
    here = in_cell[plan.order]
    begins = here.copy()
    begins[1:] |= here[:-1]
    begins[0] = True
    starts = np.flatnonzero(begins)
    counts = np.diff(np.append(starts, len(here)))
    inside = here[starts]
    members = plan.order[starts[inside]]
    first, _ = ends_of(strokes, plan.at(starts))
    _, last = ends_of(strokes, plan.at(starts + counts - 1))
    first[inside], last[inside] = strokes.first[members], strokes.last[members]
    points, ring_start = gather(strokes.ring_start, members)
    sizes = np.zeros(len(starts), dtype=np.int64)
    sizes[inside] = np.diff(ring_start)
    turned = plan.turned[starts] & inside
    entry = np.where(inside, plan.entry[starts], 0)
    cell = StrokeEnds(first, last, offsets(sizes), strokes.ring[points])
    return Cell(cell, Plan(np.arange(len(starts)), turned, entry), inside, starts, counts)


def put_back(plan: Plan, cell: Cell, better: Plan) -> Plan:
    """The whole plan with the cell's part of it as in a better plan of the cell."""
    starts, counts, inside = cell.starts[better.order], cell.counts[better.order], cell.inside[better.order]
    item = np.repeat(np.arange(len(counts)), counts)
    along = row_positions(counts)
    back = (better.turned & ~inside)[item]
    positions = starts[item] + np.where(back, counts[item] - 1 - along, along)
    turned = np.where(inside[item], better.turned[item], plan.turned[positions] ^ back)
    entry = np.where(inside[item], better.entry[item], plan.entry[positions])
    return Plan(plan.order[positions], turned, entry)
