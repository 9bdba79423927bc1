"""Puts strokes in the order that takes least time, marker by marker, and swaps markers before they fade."""

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing import Drawing
from underdraw.errors import CannotDo
from underdraw.parts import Context, Result
from underdraw.timing import park_point, travel_legs
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.best_ends import best_ends
from underdraw_stages.order.effort import Effort, interruptible
from underdraw_stages.order.kernels import INTERPRETED_STROKES, Kernels, compiled, interpreted, is_built
from underdraw_stages.order.loads import FULL_SHARE, Loads, one_load, swap_at_best
from underdraw_stages.order.pace import Pace
from underdraw_stages.order.splitting import split_long
from underdraw_stages.order.strokes import Plan, Strokes, drawn_in, join_plans
from underdraw_stages.order.tour import shortest_tour


@dataclass
class Work:
    """One run: what every step needs beside the drawing."""

    settings: OrderSettings
    context: Context
    kernels: Kernels
    effort: Effort
    pace: Pace
    park: Strokes = field(default_factory=lambda: Strokes.point((0.0, 0.0)))


def order(drawing: Drawing, settings: OrderSettings, context: Context) -> Result:
    """The drawing's strokes in drawing order, each from its best end or entry point, in loads."""
    check_strokes(drawing)
    before = travel_legs(drawing)[0].length
    whole = split_long(drawing, load_lengths(drawing))
    drawing = whole.drawing
    with interruptible(Effort(settings.seconds, context.progress)) as effort:
        work = Work(settings, context, kernels_for(drawing, context), effort, Pace.of(drawing.job.machine))
        work.park = Strokes.point(park_point(drawing))
        plan, loads = plan_all(drawing, work)
    ordered = drawn_in(drawing, plan).replace(load=loads.astype(np.int32))
    figures = measure(ordered, before)
    return Result(ordered, figures, summary(ordered, figures, whole.strokes, effort))


def check_strokes(drawing: Drawing) -> None:
    """Refuse what is not yet strokes of markers."""
    if not len(drawing):
        raise CannotDo("no strokes are left to put in order; see what `import --skip` and `tidy --shortest` leave out")
    if not drawing.is_strokes or (np.diff(drawing.parts) == 0).any():
        raise CannotDo("the drawing holds shapes that are not yet strokes; `tidy`, before `order`, makes them so")


def load_lengths(drawing: Drawing) -> NDArray[np.float64]:
    """(s,) mm that one load of each stroke's marker may draw, infinite where the job does not say."""
    names = drawing.marker.tolist()
    most = {name: (drawing.job.marker(name).ink_length or np.inf) * FULL_SHARE for name in set(names)}
    return np.array([most[name] for name in names])


def kernels_for(drawing: Drawing, context: Context) -> Kernels:
    """The search in the form that suits the size of the job; says when it must be built first."""
    if len(drawing) <= INTERPRETED_STROKES:
        return interpreted()
    if not is_built():
        context.warn("building the compiled search, once on this machine; this takes some ten seconds")
    return compiled()


def plan_all(drawing: Drawing, work: Work) -> tuple[Plan, NDArray[np.int64]]:
    """The plan of all markers, one after the other, and (s,) each stroke's load in that order."""
    strokes, lengths = Strokes.of(drawing), drawing.shape_lengths()
    plans, numbers = [], []
    done = 0
    for name in markers_in_order(drawing, work.settings.lightest_first):
        rows = np.flatnonzero(drawing.marker == name)
        most = (drawing.job.marker(name).ink_length or np.inf) * FULL_SHARE
        with work.effort.part(done / len(drawing), (done + len(rows)) / len(drawing)):
            plan, loads = plan_marker(strokes.subset(rows), lengths[rows], most, work)
        done += len(rows)
        plans.append(plan.within(rows))
        numbers.append(loads.numbers(len(rows)))
    return join_plans(plans), np.concatenate(numbers)


def markers_in_order(drawing: Drawing, lightest_first: bool) -> list[str]:
    """The markers that have strokes: as the job lists them, then any it does not know; or by how light they look."""
    used = list(dict.fromkeys(drawing.marker.tolist()))
    listed = [marker.name for marker in drawing.job.markers]
    names = [name for name in listed if name in used] + [name for name in used if name not in listed]
    return sorted(names, key=lambda name: -lightness(drawing.job.marker(name).looks)) if lightest_first else names


def lightness(colour: str) -> float:
    """Relative luminance of `#rrggbb`, 0 black to 1 white (sRGB, IEC 61966-2-1)."""
    shares = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    linear = (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares)
    return sum(weight * share for weight, share in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def plan_marker(strokes: Strokes, lengths: NDArray[np.float64], most: float, work: Work) -> tuple[Plan, Loads]:
    """One marker's plan and its loads."""
    if lengths.sum() <= most:
        return plan_trip(strokes, work), one_load()
    with work.effort.part(0.0, 0.5):
        plan = plan_trip(strokes, work)
    loads = swap_at_best(strokes, plan, lengths[plan.order], most, work.park.first[0])
    trips = []
    for first, last in pairwise([*loads.starts.tolist(), len(plan.order)]):
        rows = np.sort(plan.order[first:last])
        with work.effort.part(0.5 + 0.5 * first / len(plan.order), 0.5 + 0.5 * last / len(plan.order)):
            trips.append(plan_trip(strokes.subset(rows), work).within(rows))
    return join_plans(trips), loads


def plan_trip(strokes: Strokes, work: Work) -> Plan:
    """The plan from park through these strokes and back."""
    if work.settings.keep:
        everything = work.park.with_others(strokes)
        kept = best_ends(everything, Plan.as_drawn(np.arange(len(everything))), work.pace, work.kernels, turn=True)
        return Plan(kept.order[1:] - 1, kept.turned[1:], kept.entry[1:])
    return shortest_tour(strokes, work.park, work.pace, work.kernels, work.effort)


def measure(drawing: Drawing, before: float) -> dict[str, Any]:
    """What the history keeps."""
    legs, swaps = travel_legs(drawing)
    return {
        "travel_before_mm": round(before, 3),
        "travel_mm": round(legs.length, 3),
        "lifts": len(drawing),
        "loads": len(swaps),
    }


def summary(drawing: Drawing, figures: dict[str, Any], split: int, effort: Effort) -> str:
    """What a person reads."""
    lines = [
        f"travel {figures['travel_mm'] / 1000:.1f} m, {figures['travel_before_mm'] / 1000:.1f} m before;"
        f" {figures['lifts']} lifts, {figures['loads']} loads"
    ]
    if split:
        lines.append(f"{split} strokes longer than a load were split at their sharpest corners")
    if effort.interrupted:
        lines.append("interrupted: this is the best order found so far")
    return "\n".join(lines)
