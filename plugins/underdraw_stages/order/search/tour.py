"""A tour through all strokes of one trip, from park back to park: a first tour, the search, the plan it gives."""

import numpy as np

from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.search.annealing import improve
from underdraw_stages.order.search.best_ends import best_ends
from underdraw_stages.order.search.cells import CELL_STROKES, CUTS, cells_of, cut_out, put_back
from underdraw_stages.order.search.effort import Effort
from underdraw_stages.order.search.exhaustive import EXHAUSTIVE_STROKES, best_of_all_orders
from underdraw_stages.order.search.first_tour import greedy_plan
from underdraw_stages.order.search.neighbours import NEAREST, Near, Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, ends_of
from underdraw_stages.order.search.travel_cost import TravelCost

# Tries, by strokes alone, so that the order is the same whether the search runs as it stands or compiled. As it stands
# 1,000 strokes take half a second or so; on the sample twice the tries saved 1 s of 48 min (measured).
LEAST_KICKS = 500
LEAST_KICKS_A_STROKE = 30  # a few strokes are soon tried in every way
KICKS_A_STROKE = 0.4
KICKS_A_STROKE_IN_CELLS = 1.2
POINTLIKE_SHARE = 3  # a closed stroke, or one of no length, takes some three times as long to try as an open one
WHOLE_STROKES = 3 * CELL_STROKES  # up to here in one piece


def shortest_tour(
    strokes: StrokeEnds, park: StrokeEnds, cost: TravelCost, kernels: Kernels, effort: Effort, tries: int = 1
) -> Plan:
    """The order, ends and entry points of all strokes that take least time from park's exit round to its entrance.

    `park` is one stroke; where it has length, the tour begins at its last point and ends at its first. `tries` is how
    many times over the search tries, where the drawing is searched in one piece.
    """
    if not len(strokes):
        return Plan.as_drawn(np.empty(0, np.int64))
    everything = strokes.with_others(park)
    near = near_nodes(Nodes.of(everything), NEAREST)
    if len(strokes) <= EXHAUSTIVE_STROKES:
        plan = best_of_all_orders(strokes, park, cost)
    else:
        greedy = best_ends(everything, greedy_plan(near, kernels), cost, kernels)
        given = Plan.as_drawn(np.arange(len(everything)))  # what is in a good order already is never made worse
        plan = min(greedy, given, key=lambda each: _cost_of(everything, each, cost))
    if len(everything) <= WHOLE_STROKES:
        kicks = min(LEAST_KICKS, LEAST_KICKS_A_STROKE * len(strokes)) + _kicks(everything, KICKS_A_STROKE)
        plan = improve(everything, near, plan, cost, kernels, effort, tries * kicks)
    else:
        plan = _improve_in_cells(everything, near, plan, cost, kernels, effort)
    plan = best_ends(everything, plan, cost, kernels)
    return _from_park(plan, len(strokes))


def _improve_in_cells(
    strokes: StrokeEnds, near: Near, plan: Plan, cost: TravelCost, kernels: Kernels, effort: Effort
) -> Plan:
    """The search without perturbation over the whole, perturbed cell by cell, and over the whole again."""
    with effort.part(0.0, 0.02):
        plan = improve(strokes, near, plan, cost, kernels, effort, 0)
    for turn, cut in enumerate(CUTS):
        cells = cells_of(strokes, cut)
        for number, rows in enumerate(cells):
            done = (turn + number / len(cells)) / len(CUTS)
            with effort.part(0.02 + 0.96 * done, 0.02 + 0.96 * (done + 1 / len(cells) / len(CUTS))):
                if effort.interrupted:
                    return plan
                cell = cut_out(strokes, plan, rows)
                kicks = _kicks(cell.strokes, KICKS_A_STROKE_IN_CELLS / len(CUTS))
                near_in_cell = near_nodes(Nodes.of(cell.strokes), NEAREST)
                better = improve(cell.strokes, near_in_cell, cell.plan, cost, kernels, effort, kicks)
                plan = put_back(plan, cell, better)
    with effort.part(0.98, 1.0):
        return improve(strokes, near, plan, cost, kernels, effort, 0)


def _cost_of(strokes: StrokeEnds, plan: Plan, cost: TravelCost) -> float:
    """Of all travels of a cyclic plan."""
    into, out = ends_of(strokes, plan)
    return float(cost.of_steps(into - np.roll(out, 1, axis=0)).sum())


def _kicks(strokes: StrokeEnds, each: float) -> int:
    """How many perturbations strokes are worth, so that open and closed ones take much the same time."""
    return int(each * (len(strokes) - strokes.pointlike.sum() * (1 - 1 / POINTLIKE_SHARE)))


def _from_park(plan: Plan, park: int) -> Plan:
    """The cyclic plan cut open at park, the way round that leaves it by its last point."""
    at = int(np.flatnonzero(plan.order == park)[0])
    order = np.concatenate([plan.order[at + 1 :], plan.order[:at]])
    turned = np.concatenate([plan.turned[at + 1 :], plan.turned[:at]])
    entry = np.concatenate([plan.entry[at + 1 :], plan.entry[:at]])
    if plan.turned[at]:
        return Plan(order[::-1].copy(), ~turned[::-1], entry[::-1].copy())
    return Plan(order, turned, entry)
