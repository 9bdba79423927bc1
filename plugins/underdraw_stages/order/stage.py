"""Puts strokes in the order that takes least time, marker by marker, and swaps markers before they fade."""

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.errors import CannotDo, InputError
from underdraw.machine.clock import Schedule
from underdraw.machine.travel import bodies_of, park_point, travel_legs
from underdraw.panel import Lying
from underdraw.plugins.parts import Context, Result
from underdraw.words.quantities import counted, distance, duration
from underdraw.words.units import unit_of
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.bound.least_travel import BOUND_STROKES, least_travel
from underdraw_stages.order.build_compiled import build
from underdraw_stages.order.compiled.kernels import (
    INTERPRETED_STROKES,
    LARGE_STROKES,
    REPAYING_STROKES,
    Kernels,
    can_keep,
    compiled,
    has_compiler,
    interpreted,
    is_built,
)
from underdraw_stages.order.ink.long_strokes import split_long
from underdraw_stages.order.ink.markers import (
    ink_figures,
    ink_lines,
    load_lengths,
    load_mm,
    markers_in_order,
    short_ink,
)
from underdraw_stages.order.ink.priming import primed
from underdraw_stages.order.ink.swap_planning import Swaps, no_swaps, swap_at_best
from underdraw_stages.order.ink.wet_lines import ROUNDS, Drying, let_dry
from underdraw_stages.order.search.best_ends import best_ends
from underdraw_stages.order.search.effort import Effort, interruptible
from underdraw_stages.order.search.from_side import tour_from_side
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds, drawn_in, join_plans
from underdraw_stages.order.search.tour import shortest_tour
from underdraw_stages.order.search.travel_cost import TravelCost
from underdraw_stages.order.sections.in_sections import Cut, in_sections

INTERRUPTED = (
    "interrupted: the search for a shorter way stops, and the work goes on with the best order so far; "
    "Ctrl-C again stops it all"
)


@dataclass(frozen=True)
class Work:
    """What every step needs beside the strokes."""

    settings: OrderSettings
    kernels: Kernels
    effort: Effort
    cost: TravelCost
    parks: list[StrokeEnds]  # one a section; a board that is drawn in one go has one
    with_bound: bool
    section: int = 1

    @property
    def park(self) -> StrokeEnds:
        """Where markers are swapped, on the board as it lies now."""
        return self.parks[self.section - 1]


@dataclass(frozen=True)
class Ordered:
    """A plan, (n,) its loads' numbers in drawing order, and mm that no order's travel can go below (nan: not asked)."""

    plan: Plan
    loads: NDArray[np.int64]
    bound: float


def order(drawing: Drawing, settings: OrderSettings, context: Context) -> Result:
    """The drawing's strokes in drawing order, each from its best end or entry point, in loads."""
    check_strokes(drawing)
    check_settings(settings)
    lying = lying_in_sections(drawing, context)
    cut = in_sections(drawing, lying, settings.overlap) if lying else Cut(drawing, np.empty((0, 2)))
    split = split_long(cut.drawing, load_lengths(cut.drawing))
    with interruptible(Effort(settings.seconds, context.progress, lambda: context.notice(INTERRUPTED))) as effort:
        work = Work(
            settings,
            kernels_for(split.drawing, context),
            effort,
            TravelCost.of_machine(drawing.job.machine),
            [StrokeEnds.point(park) for park in parks(drawing, lying)],
            with_bound=asks_for_bound(split.drawing, settings, context),
        )
        ordered = order_all(split.drawing, work)
    result = drawn_in(split.drawing, ordered.plan).replace(load=ordered.loads.astype(np.int32))
    drying = let_dry(result, context.registry, rounds=0 if settings.keep else ROUNDS)
    result = primed(drying.drawing if drying else result, context.registry)
    figures = measure(
        cut.drawing,
        result,
        ordered.bound,
        Schedule.of(result, context.registry),
    )
    lines = summary(figures, unit_of(drawing.job), split.strokes, effort.interrupted)
    if drying is not None:
        figures |= {"wet_before": drying.before, "wet": drying.after}
        lines.insert(1, drying_line(drying))
    if lying is not None:
        figures |= section_figures(result, cut)
        lines.insert(1, section_line(figures))
    for line in short_ink(result, unit_of(drawing.job)):
        context.warn(line)
    return Result(result, figures, "\n".join(lines))


def drying_line(drying: Drying) -> str:
    """How many strokes cross a line that is still wet."""
    if not drying.after:
        return "no stroke crosses a wet line" + (f" ({drying.before} would have)" if drying.before else "")
    cross = f"{counted(drying.after, 'stroke')} {'crosses' if drying.after == 1 else 'cross'} a line that is still wet"
    return cross + (f" ({drying.before} before)" if drying.before != drying.after else "")


def lying_in_sections(drawing: Drawing, context: Context) -> Lying | None:
    """How the board lies, where it is longer than the bed and drawn in sections; None where it is not."""
    if drawing.job.machine.sections is None or drawing.lying is None:
        return None
    lying = Lying.of(drawing, context.registry)
    return lying if lying.sections is not None else None


def parks(drawing: Drawing, lying: Lying | None) -> list[NDArray[np.float64]]:
    """Park on the board, y down, in each section: the board is moved along under it."""
    park = park_point(drawing)
    if lying is None or lying.sections is None:
        return [park]
    moves = np.array([lying.sections.moved(section) for section in range(1, lying.sections.count + 1)])
    return list(park - moves * (1, -1))


def section_figures(drawing: Drawing, cut: Cut) -> dict[str, Any]:
    """What each section draws, and where strokes were cut (board coordinates, mm, y down)."""
    lengths = drawing.shape_lengths()
    return {
        "sections": [
            {
                "section": int(section),
                "strokes": int((drawing.section == section).sum()),
                "drawn_mm": round(float(lengths[drawing.section == section].sum()), 3),
            }
            for section in np.unique(drawing.section)
        ],
        "cuts_mm": [[round(float(x), 4), round(float(y), 4)] for x, y in cut.cuts],
    }


def section_line(figures: dict[str, Any]) -> str:
    """What a person reads of that."""
    each = ", ".join(f"{held['strokes']:,}" for held in figures["sections"])
    return (
        f"in {len(figures['sections'])} sections of {each} strokes; {counted(len(figures['cuts_mm']), 'cut')} between"
    )


def check_strokes(drawing: Drawing) -> None:
    """Refuse what is not yet strokes of markers."""
    if not len(drawing):
        raise CannotDo("no strokes are left to put in order; see what `import --skip` and `tidy --shortest` leave out")
    if not drawing.is_strokes or (np.diff(drawing.parts) == 0).any():
        raise CannotDo("the drawing holds shapes that are not yet strokes; `tidy`, before `order`, makes them so")


def check_settings(settings: OrderSettings) -> None:
    """Refuse what cannot both be had."""
    if settings.keep and settings.from_side:
        raise InputError(
            f"keep and from-side {settings.from_side}: one order cannot follow both; leave one of them out"
        )


def asks_for_bound(drawing: Drawing, settings: OrderSettings, context: Context) -> bool:
    """Whether the bound is worked out; warns where it was asked for and would take longer than the search."""
    if settings.bound and len(drawing) > BOUND_STROKES:
        context.notice(f"--bound is for up to {BOUND_STROKES:,} strokes and is left out: there are {len(drawing):,}")
        return False
    return settings.bound


def kernels_for(drawing: Drawing, context: Context) -> Kernels:
    """The search in the form that suits the job and what is installed; the order is the same in either.

    Compiled where that has been built already, or where the job is large enough to repay the build.
    """
    count = len(drawing)
    if not has_compiler():
        if count > LARGE_STROKES:
            context.notice(
                f"{count:,} strokes take a while; pip install 'underdraw[fast]' makes this step three times as fast"
            )
        return interpreted()
    if count <= INTERPRETED_STROKES or (count <= REPAYING_STROKES and not is_built()):
        return interpreted()
    if not can_keep():
        context.notice("building the compiled search, which takes a while; no folder to keep it in can be written")
    elif not is_built():
        context.notice("building the compiled search, once on this machine, for about a quarter of a minute")
        build()
    return compiled()


def order_all(drawing: Drawing, work: Work) -> Ordered:
    """All sections, one after the other, and in each all markers; those of one body are one, and share its ink.

    A marker goes on in the next section where one of it draws all it has to draw; else a fresh one does.
    """
    strokes, lengths = StrokeEnds.of(drawing), drawing.shape_lengths()
    names = markers_in_order(drawing, work.settings.lightest_first)
    body = bodies_of(drawing)
    ordered, done = [], 0
    used = dict.fromkeys(names, 0)  # loads of each marker in the sections before
    for section in np.unique(drawing.section).tolist():
        work = replace(work, section=max(section, 1))
        for name in names:
            rows = np.flatnonzero((body == name) & (drawing.section == section))
            if not len(rows):
                continue
            most = load_mm(drawing, name)
            with work.effort.part(done / len(drawing), (done + len(rows)) / len(drawing)):
                one = order_marker(strokes.subset(rows), lengths[rows], most, work)
            ordered.append(Ordered(one.plan.within(rows), one.loads + used[name], one.bound))
            done += len(rows)
            if lengths[body == name].sum() > most:
                used[name] += int(one.loads.max())
    plan = join_plans([one.plan for one in ordered])
    return Ordered(plan, np.concatenate([one.loads for one in ordered]), sum(one.bound for one in ordered))


def order_marker(strokes: StrokeEnds, lengths: NDArray[np.float64], most: float, work: Work) -> Ordered:
    """One marker's strokes: one trip, or as many as it takes loads of at most `most` mm."""
    in_one = bool(lengths.sum() <= most)
    with work.effort.part(0.0, 1.0 if in_one else 0.5):
        plan = plan_trip(strokes, work)
    park = work.park.first[0]
    bound = least_travel(strokes, park, plan, work.kernels) if work.with_bound else np.nan
    if in_one:
        return Ordered(plan, no_swaps().numbers(len(strokes)), bound)
    loads = swap_at_best(strokes, plan, lengths[plan.order], most, park)
    with work.effort.part(0.5, 1.0):
        return Ordered(plan_loads(strokes, plan, loads, work), loads.numbers(len(strokes)), bound)


def plan_loads(strokes: StrokeEnds, plan: Plan, loads: Swaps, work: Work) -> Plan:
    """Each load's strokes in their own shortest way."""
    trips = []
    for first, last in pairwise([*loads.starts.tolist(), len(plan.order)]):
        rows = plan.order[first:last] if work.settings.keep else np.sort(plan.order[first:last])
        with work.effort.part(first / len(plan.order), last / len(plan.order)):
            trips.append(plan_trip(strokes.subset(rows), work).within(rows))
    return join_plans(trips)


def plan_trip(strokes: StrokeEnds, work: Work) -> Plan:
    """From park through these strokes and back, the way that the settings ask for."""
    if work.settings.keep:
        everything = work.park.with_others(strokes)
        kept = best_ends(everything, Plan.as_drawn(np.arange(len(everything))), work.cost, work.kernels, turn=True)
        return Plan(kept.order[1:] - 1, kept.turned[1:], kept.entry[1:])
    if work.settings.from_side:
        side = work.settings.from_side
        return tour_from_side(strokes, work.park, side, work.cost, work.kernels, work.effort)
    return shortest_tour(strokes, work.park, work.cost, work.kernels, work.effort)


def measure(before: Drawing, after: Drawing, bound: float, schedule: Schedule) -> dict[str, Any]:
    """What the history keeps; `lifted_s` is the time not drawing: travel, and raising and lowering the marker."""
    legs, swaps = travel_legs(after)
    drawn_s = float((schedule.lift - schedule.touch).sum())
    figures = {
        "travel_before_mm": round(travel_legs(before)[0].length, 3),
        "travel_mm": round(legs.length, 3),
        "lifts": len(after),
        "loads": len(swaps),
        "lifted_s": round(schedule.total - drawn_s, 1),
        "ink": ink_figures(after),
    }
    return figures if np.isnan(bound) else {**figures, "bound_mm": round(min(bound, legs.length), 3)}


def summary(figures: dict[str, Any], unit: str, split: int, interrupted: bool) -> list[str]:
    """What a person reads; lengths in the job's unit."""
    travel, before = (distance(figures[key], unit) for key in ("travel_mm", "travel_before_mm"))
    lines = [
        f"travel {travel} (was {before}), {counted(figures['lifts'], 'lift')}, "
        f"{duration(figures['lifted_s'])} with the marker up{how_good(figures)}"
    ]
    lines += ink_lines(figures["ink"], unit)
    if split == 1:
        lines.append("split one stroke that is longer than a load, at its sharpest corner")
    elif split:
        lines.append(f"split {split} strokes that are longer than a load, each at its sharpest corners")
    if interrupted:
        lines.append("interrupted: this is the best order so far")
    return lines


def how_good(figures: dict[str, Any]) -> str:
    """How much above the least possible, at most, where that was asked for and is known closely enough to mean much."""
    bound = figures.get("bound_mm", 0.0)
    if not bound or figures["travel_mm"] > 2 * bound:
        return ""
    above = max(0, math.ceil(100 * (figures["travel_mm"] / bound - 1) - 1e-6))
    return f", at most {above} % above the least possible"
