"""A tour through all strokes of one trip, from park back to park: a first tour, the search, the plan it gives."""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing import offsets
from underdraw_stages.order.chain import Layers
from underdraw_stages.order.effort import Effort
from underdraw_stages.order.kernels import Kernels
from underdraw_stages.order.local_search import EVERY, JOURNAL, STEPS, WAITING, Search
from underdraw_stages.order.neighbours import NEAREST, Nodes, near_cities, near_nodes, sample_rings
from underdraw_stages.order.pace import Pace
from underdraw_stages.order.start import greedy_plan
from underdraw_stages.order.strokes import Plan, Strokes, ends_of

SEED = 20_231  # any number from 1 to 2^31 - 2; fixed, so that the same drawing gives the same order
KICKS_A_STROKE = 20
LEAST_KICKS = 600
FEWEST_STROKES = 4  # with park: what a perturbation needs
BATCH = {False: 20, True: 4000}  # perturbations between two looks at the clock, interpreted and compiled
LOOKS = {False: 500, True: 200_000}


def shortest_tour(strokes: Strokes, park: Strokes, pace: Pace, kernels: Kernels, effort: Effort) -> Plan:
    """The order, ends and entry points of all strokes that take least time from park's exit round to its entrance.

    `park` is one stroke; where it has length, the tour begins at its last point and ends at its first.
    """
    if not len(strokes):
        return Plan.as_drawn(np.empty(0, np.int64))
    everything = strokes.with_others(park)
    nodes = Nodes.of(everything)
    near, near_mm = near_nodes(nodes, NEAREST, kernels)
    plan = greedy_plan(nodes, near, near_mm, kernels)
    plan = best_ends(everything, plan, pace, kernels)
    renumbered = everything.subset(plan.order)
    here = Plan(np.arange(len(plan.order)), plan.turned, plan.entry)
    found = _search(renumbered, here, pace, kernels, effort)
    found = best_ends(renumbered, found, pace, kernels)
    return _from_park(found.within(plan.order), len(strokes))


def best_ends(strokes: Strokes, plan: Plan, pace: Pace, kernels: Kernels, turn: bool = False) -> Plan:
    """The plan with the best entry point of each closed stroke (of up to RING_POINTS that are spread over it, and the
    one it has), and with `turn` the best direction of each open one. The first stroke stays as it is."""
    if len(plan.order) < 2:
        return plan
    layers, entries, turns = _layers(strokes, plan, pace, turn)
    into, out = ends_of(strokes, plan)
    layers = kernels.arrays(layers)
    kernels.best_chain(layers, float(out[0, 0]), float(out[0, 1]), float(into[0, 0]), float(into[0, 1]))
    chosen = np.asarray(layers.chosen)
    return Plan(
        plan.order,
        np.concatenate([plan.turned[:1], turns[chosen]]),
        np.concatenate([plan.entry[:1], entries[chosen]]),
    )


def _layers(
    strokes: Strokes, plan: Plan, pace: Pace, turn: bool
) -> tuple[Layers, NDArray[np.int64], NDArray[np.bool_]]:
    """Every way to draw each stroke but the first, and the entry point and the direction that each way means."""
    order, count = plan.order[1:], len(plan.order) - 1
    picked, of = sample_rings(strokes)
    position = np.full(len(strokes), -1)
    position[order] = np.arange(count)
    sampled = position[of] >= 0
    open_ = np.flatnonzero(~strokes.pointlike[order]) if turn else np.empty(0, np.int64)
    layer = np.concatenate([np.arange(count), position[of[sampled]], open_])
    entry = np.concatenate([plan.entry[1:], (picked - strokes.ring_start[of])[sampled], plan.entry[1:][open_]])
    turned = np.concatenate([plan.turned[1:], np.zeros(sampled.sum(), np.bool_), ~plan.turned[1:][open_]])
    by_layer = np.argsort(layer, kind="stable")
    layer, entry, turned = layer[by_layer], entry[by_layer], turned[by_layer]
    into, out = ends_of(strokes, Plan(order[layer], turned, entry))
    layers = Layers(
        offsets(np.bincount(layer, minlength=count)),
        into_x=np.ascontiguousarray(into[:, 0]),
        into_y=np.ascontiguousarray(into[:, 1]),
        out_x=np.ascontiguousarray(out[:, 0]),
        out_y=np.ascontiguousarray(out[:, 1]),
        spent=np.empty(len(layer)),
        before=np.empty(len(layer), np.int64),
        chosen=np.empty(count, np.int64),
        knee=pace.knee,
        lift=pace.lift_mm,
    )
    return layers, entry, turned


def _search(strokes: Strokes, plan: Plan, pace: Pace, kernels: Kernels, effort: Effort) -> Plan:
    """Improve a plan whose strokes are numbered in its own order."""
    search = kernels.arrays(_prepare(strokes, plan, pace, kernels))
    strokes_and_park = len(strokes)
    while search.state[WAITING] and not effort.interrupted:
        kernels.settle(search, LOOKS[kernels.compiled], EVERY)
        if effort.seconds is not None and effort.is_over(0.0):
            break
    if strokes_and_park >= FEWEST_STROKES and not search.state[WAITING]:
        kicks, done = LEAST_KICKS + KICKS_A_STROKE * strokes_and_park, 0
        while not effort.is_over(done / kicks):
            batch = BATCH[kernels.compiled]
            batch = batch if effort.seconds is not None else min(batch, kicks - done)
            kernels.perturb(search, batch)
            done += batch
    tour = np.asarray(search.tour)[::2]
    return Plan(tour >> 1, (tour & 1).astype(np.bool_), np.asarray(search.entry)[tour >> 1])


def _prepare(strokes: Strokes, plan: Plan, pace: Pace, kernels: Kernels) -> Search:
    """The search's arrays, with every city queued in tour order."""
    count = len(strokes)
    nodes = Nodes.of(strokes)
    cities, far, width = near_cities(nodes, *near_nodes(nodes, NEAREST, kernels))
    into, out = ends_of(strokes, plan)
    points = np.empty((count, 2, 2))
    points[np.arange(count), plan.turned.astype(int)] = into
    points[np.arange(count), 1 - plan.turned.astype(int)] = out
    turned = plan.turned.astype(np.int64)
    tour = np.column_stack([2 * plan.order + turned, 2 * plan.order + 1 - turned]).ravel()
    place = np.empty(2 * count, dtype=np.int64)
    place[tour] = np.arange(2 * count)
    entry = np.empty(count, dtype=np.int64)
    entry[plan.order] = plan.entry
    state = np.zeros(4, dtype=np.int64)
    state[WAITING], state[STEPS], state[3] = 2 * count, 0, SEED
    return Search(
        x=points[:, :, 0].ravel(),
        y=points[:, :, 1].ravel(),
        tour=tour,
        place=place,
        near=cities,
        near_mm=far,
        width=width,
        ring_start=strokes.ring_start,
        ring_x=np.ascontiguousarray(strokes.ring[:, 0]),
        ring_y=np.ascontiguousarray(strokes.ring[:, 1]),
        entry=entry,
        queue=tour.copy(),
        queued=np.ones(2 * count, dtype=np.int64),
        step_a=np.zeros(JOURNAL + 8, dtype=np.int64),
        step_b=np.zeros(JOURNAL + 8, dtype=np.int64),
        state=state,
        knee=float(pace.knee),
        lift=float(pace.lift_mm),
    )


def _from_park(plan: Plan, park: int) -> Plan:
    """The cyclic plan cut open at park, the way round that leaves it by its last point."""
    at = int(np.flatnonzero(plan.order == park)[0])
    order = np.concatenate([plan.order[at + 1 :], plan.order[:at]])
    turned = np.concatenate([plan.turned[at + 1 :], plan.turned[:at]])
    entry = np.concatenate([plan.entry[at + 1 :], plan.entry[:at]])
    if plan.turned[at]:
        return Plan(order[::-1].copy(), ~turned[::-1], entry[::-1].copy())
    return Plan(order, turned, entry)
