"""Improves a cyclic plan by the local search, perturbed and annealed, within an effort; keeps the best it has seen."""

import numpy as np

from underdraw_stages.order.compiled import Wholes
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.compiled.local_search import EVERY, JOURNAL, RANDOM, WAITING, Search, set_entry
from underdraw_stages.order.search.effort import Effort
from underdraw_stages.order.search.neighbours import Near, Nodes, near_cities
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, ends_of
from underdraw_stages.order.search.travel_cost import TravelCost

SEED = 20_231  # any number from 1 to 2^31 - 2; fixed, so that the same drawing gives the same order
START_TEMPERATURE = 0.3  # of a usual travel: so much a perturbation may lose at first and be kept; it falls to nothing
FEWEST_STROKES = 4  # what a perturbation needs
BATCHES = 40  # looks at the clock, at least; the search is a little stricter after each
BATCH_KICKS = (10, 400)  # perturbations between two of them, at least and at most


def improve(
    strokes: StrokeEnds, near: Near, plan: Plan, cost: TravelCost, kernels: Kernels, effort: Effort, kicks: int
) -> Plan:
    """A better plan of the same strokes, `kicks` perturbations unless the effort sets a time; near: of their nodes."""
    into, out = ends_of(strokes, plan)
    usual = float(np.hypot(*(into - np.roll(out, 1, axis=0)).T).mean())
    renumbered, here = strokes.subset(plan.order), Plan(np.arange(len(plan.order)), plan.turned, plan.entry)
    near = near.renumbered(plan.order, Nodes.of(renumbered))
    search = kernels.arrays(search_arrays(renumbered, near, here, cost))
    kernels.settle(search, EVERY, EVERY)  # well under a second for 100,000 strokes: not worth stopping within
    best_tour = search.tour.copy(), search.entry.copy()
    if kicks and len(strokes) >= FEWEST_STROKES:
        best_tour = _anneal(search, kernels, effort, kicks, START_TEMPERATURE * usual)
    tour, entry = np.asarray(best_tour[0])[::2], np.asarray(best_tour[1])
    return Plan(tour >> 1, (tour & 1).astype(np.bool_), entry[tour >> 1]).within(plan.order)


def _anneal(search: Search, kernels: Kernels, effort: Effort, kicks: int, temperature: float) -> tuple[Wholes, Wholes]:
    """Perturb so many times, ever more strictly; returns the best tour and entries.

    With time to spend, that comes first, so that an interrupt soon finds a good order; the time left is one more
    search, begun from the best.
    """
    gained, best, best_tour = 0.0, 0.0, (search.tour.copy(), search.entry.copy())
    done, again = 0, 0.0  # `again`: how much was spent when the second search began
    batch = min(max(kicks // BATCHES, BATCH_KICKS[0]), BATCH_KICKS[1])
    while (spent := effort.spent(min(1.0, done / kicks))) < 1.0:
        if done >= kicks and not again:
            again, gained = spent, best
            _restore(search, *best_tour)
        strictness = (spent - again) / (1.0 - again) if again else max(spent, done / kicks)
        count = batch if effort.seconds is not None else min(batch, kicks - done)
        gained += kernels.perturb(search, count, temperature * (1.0 - strictness))
        done += count
        if gained > best:
            best, best_tour = gained, (search.tour.copy(), search.entry.copy())
    return best_tour


def _restore(search: Search, tour: Wholes, entry: Wholes) -> None:
    """Go back to an earlier tour."""
    search.tour[:] = tour
    for position, city in enumerate(tour):
        search.position[city] = position
    for stroke, point in enumerate(entry):
        if search.ring_start[stroke + 1] > search.ring_start[stroke]:
            set_entry(search, stroke, point)


def search_arrays(strokes: StrokeEnds, near: Near, plan: Plan, cost: TravelCost) -> Search:
    """The search's arrays, as numpy's, for strokes numbered in the plan's order; every city is queued."""
    count = len(strokes)
    cities, distance, width = near_cities(near)
    into, out = ends_of(strokes, plan)
    turned = plan.turned.astype(np.int64)
    points = np.empty((count, 2, 2))
    points[np.arange(count), turned] = into
    points[np.arange(count), 1 - turned] = out
    tour = np.column_stack([2 * plan.order + turned, 2 * plan.order + 1 - turned]).ravel()
    position = np.empty(2 * count, dtype=np.int64)
    position[tour] = np.arange(2 * count)
    middle, radius = strokes.circles()
    state = np.zeros(4, dtype=np.int64)
    state[WAITING], state[RANDOM] = 2 * count, SEED
    return Search(
        x=np.ascontiguousarray(points[:, :, 0]).ravel(),
        y=np.ascontiguousarray(points[:, :, 1]).ravel(),
        tour=tour,
        position=position,
        near=cities,
        near_cost=cost.of(distance),
        width=width,
        ring_start=strokes.ring_start,
        ring_x=np.ascontiguousarray(strokes.ring[:, 0]),
        ring_y=np.ascontiguousarray(strokes.ring[:, 1]),
        middle_x=np.ascontiguousarray(middle[:, 0]),
        middle_y=np.ascontiguousarray(middle[:, 1]),
        radius=radius,
        entry=plan.entry.copy(),
        queue=tour.copy(),
        queued=np.ones(2 * count, dtype=np.int64),
        step_a=np.zeros(JOURNAL + 8, dtype=np.int64),
        step_b=np.zeros(JOURNAL + 8, dtype=np.int64),
        state=state,
        knee=float(cost.knee),
    )
