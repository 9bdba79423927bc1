"""The best ends and entry points for strokes in a given order."""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw_stages.order.compiled.kernels import Kernels
from underdraw_stages.order.compiled.shortest_path import Layers
from underdraw_stages.order.search.neighbours import sample_rings
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, ends_of
from underdraw_stages.order.search.travel_cost import TravelCost


def best_ends(strokes: StrokeEnds, plan: Plan, cost: TravelCost, kernels: Kernels, turn: bool = False) -> Plan:
    """The plan with the best entry point of each closed stroke (of points spread over it, and the
    one it has), and with `turn` the best direction of each open one. The first stroke stays as it is."""
    if len(plan.order) < 2:
        return plan
    layers, entries, turns = _layers(strokes, plan, cost, turn)
    into, out = ends_of(strokes, plan)
    layers = kernels.arrays(layers)
    kernels.shortest_path(layers, float(out[0, 0]), float(out[0, 1]), float(into[0, 0]), float(into[0, 1]))
    chosen = np.asarray(layers.chosen)
    return Plan(
        plan.order,
        np.concatenate([plan.turned[:1], turns[chosen]]),
        np.concatenate([plan.entry[:1], entries[chosen]]),
    )


def _layers(
    strokes: StrokeEnds, plan: Plan, cost: TravelCost, turn: bool
) -> tuple[Layers, NDArray[np.int64], NDArray[np.bool_]]:
    """Every way to draw each stroke but the first, and the entry point and the direction that each way means."""
    order, count = plan.order[1:], len(plan.order) - 1
    picked, stroke_of_picked = sample_rings(strokes)
    position = np.full(len(strokes), -1)
    position[order] = np.arange(count)
    sampled = position[stroke_of_picked] >= 0
    both_ways = np.flatnonzero(~strokes.pointlike[order]) if turn else np.empty(0, np.int64)
    layer = np.concatenate([np.arange(count), position[stroke_of_picked[sampled]], both_ways])
    ring_entry = (picked - strokes.ring_start[stroke_of_picked])[sampled]
    entry = np.concatenate([plan.entry[1:], ring_entry, plan.entry[1:][both_ways]])
    turned = np.concatenate([plan.turned[1:], np.zeros(sampled.sum(), np.bool_), ~plan.turned[1:][both_ways]])
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
        knee=cost.knee,
    )
    return layers, entry, turned
