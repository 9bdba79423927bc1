"""Drawing away from one side of the board, so that neither hand nor holder drags through wet paint: a preference.

Travel along the preferred direction counts several times over, so that the way goes to and fro across it, and the
tour begins at that side and ends at the other.
"""

import numpy as np

from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.search.best_ends import best_ends
from underdraw_stages.order.search.effort import Effort
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds
from underdraw_stages.order.search.tour import shortest_tour
from underdraw_stages.order.search.travel_cost import TravelCost

AGAINST = 5.0  # how many times over travel along the preferred direction counts
TRIES = 2  # times: stretched so, the first tour is farther from the best and the way doubles back for longer (measured)
ALONG = {"left": (0, False), "right": (0, True), "far": (1, False), "near": (1, True)}  # axis (y down), from its end


def tour_from_side(
    strokes: StrokeEnds, park: StrokeEnds, side: str, cost: TravelCost, kernels: Kernels, effort: Effort
) -> Plan:
    """A short tour that begins at one side and moves away from it; `near` is the operator's, the board's lower edge."""
    axis, from_end = ALONG[side]
    ends = np.concatenate([strokes.first, strokes.last, strokes.ring])
    start, stop = park.first[0].copy(), park.first[0].copy()
    start[axis], stop[axis] = ends[:, axis].min(), ends[:, axis].max()
    if from_end:
        start[axis], stop[axis] = stop[axis], start[axis]
    scale = [1.0, 1.0]
    scale[axis] = AGAINST
    outer = StrokeEnds.point(stop, start).scaled(*scale)
    plan = shortest_tour(strokes.scaled(*scale), outer, cost, kernels, effort, TRIES)
    everything = park.with_others(strokes)
    rows = np.concatenate([[0], plan.order + 1])
    whole = Plan(rows, np.concatenate([[False], plan.turned]), np.concatenate([[0], plan.entry]))
    plan_of_all = best_ends(everything, whole, cost, kernels)
    return Plan(plan_of_all.order[1:] - 1, plan_of_all.turned[1:], plan_of_all.entry[1:])
