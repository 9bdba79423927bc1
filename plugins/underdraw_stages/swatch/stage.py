"""The stage `swatch`: choose the marker, put the trials on a card, and hand on a drawing with a job of its own.

A trial that wants another speed, press or wait is a marker of its own in that job with the body of the one in the
holder, so the machine goes on without a pause.
"""

from bisect import bisect_left
from dataclasses import replace
from math import ceil
from typing import Any

import numpy as np

from underdraw import CannotDo, Context, Drawing, InputError, Job, Result
from underdraw.drawing.facts import Card as CardFact
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.sections import MarkerSection
from underdraw.job.settings import did_you_mean
from underdraw.machine.travel import swap_strokes
from underdraw.panel import Panel, bed_fit, holder_offset, reach
from underdraw.plugins.parts import Holder, Ink
from underdraw.words.lengths import MM_PER_INCH
from underdraw.words.quantities import counted, distance, length_in, size_in
from underdraw.words.units import unit_of
from underdraw_stages.swatch import SwatchSettings, machine_card, marker_card
from underdraw_stages.swatch.card import MARGIN, Card
from underdraw_stages.swatch.letters import HEIGHT

STEPS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0)  # of the marker's own speed
SPRING_MM = (0.0, 0.5, 1.0, 1.5, 2.0)  # presses of a sprung holder
NIB_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)  # of what a nib gives, in a rigid one
RUN_SHARE, RUN_MM = 1.2, 10_000.0  # of the ink_length that is to be shown; without one
SHORTEST_RUN_MM = 1000.0
LONGEST_RUN_MM = 200_000.0
WHEEL_SPEED = 50.0  # mm/s at most: faster wheels would need more room than a card has


def swatch(_drawing: Drawing | None, settings: SwatchSettings, context: Context) -> Result:
    """A card for one marker of the job (or the default marker without one), or for the machine.

    Raises CannotDo for a card that is larger than the bed.
    """
    job = context.job or Job()
    marker = chosen_marker(job, settings.marker)
    if settings.machine:
        card = of_machine(job, marker, settings)
        drawn = card_drawing(card, job, marker, "machine")
        if not fits_bed(drawn, context):
            raise CannotDo(f"{too_large(drawn, context)}; only a larger one takes it")
    else:
        card, drawn = marker_card_and_drawing(job, marker, settings, context)
    if card.left_off:
        lines, tip = counted(len(card.left_off), "line"), length_in(marker.tip, "mm")
        context.notice(
            f"left off {lines} of words that a tip of {tip} cannot write in the room there is; "
            "the sheet lists what is tried, from the top of the card down"
        )
    what = "the machine" if settings.machine else repr(marker.name)
    pauses = "one pause, to turn the marker" if len(swap_strokes(drawn)) > 1 else "no pauses"
    text = f"a card of {size_in(drawn.sheet, unit_of(job))} for {what}: {counted(len(drawn), 'stroke')}, "
    text += f"{distance(drawn.drawn_mm, unit_of(job))}, {pauses}"
    text += ", turned to fit the bed, its top to the right" if drawn.sheet[0] != card.width else ""
    return Result(drawn, figures={"strokes": len(drawn), "drawn_mm": round(drawn.drawn_mm, 3)}, summary=text)


def marker_card_and_drawing(
    job: Job, marker: MarkerSection, settings: SwatchSettings, context: Context
) -> tuple[Card, Drawing]:
    """The card of one marker, turned if it fits the bed in no other way.

    A run that nobody asked for is no longer than the bed lets it be.
    """
    ink, holder = context.registry.ink(marker.ink), context.registry.holder(job.holder.use)

    def with_run(run: float, settings: SwatchSettings = settings) -> tuple[Card, Drawing]:
        card = of_marker(job, marker, ink, holder, settings, run)
        ways = [card_drawing(card, job, marker, "marker", turned=turned) for turned in (False, True)]
        return card, next((way for way in ways if fits_bed(way, context)), ways[0])

    own = min(RUN_SHARE * marker.ink_length, LONGEST_RUN_MM) if marker.ink_length else RUN_MM
    run, unit = settings.run or own, unit_of(job)
    card, drawn = with_run(run)
    if fits_bed(drawn, context):
        return card, drawn
    shorter = [metres * 1000.0 for metres in range(1, ceil(run / 1000))]
    count = bisect_left(shorter, True, key=lambda each: not fits_bed(with_run(each)[1], context))
    if count and settings.run is None:
        context.warn(
            f"the run is {distance(shorter[count - 1], unit)}, the longest that the bed takes, not "
            f"{distance(run, unit)}: the marker may last longer"
        )
        return with_run(shorter[count - 1])
    one_trial = replace(settings, speeds=(marker.speed or ink.speed,), presses=(0.0,), settles=(0.0,))
    if count:
        remedy = f"\n  try: --run {count}m"
    elif fits_bed(with_run(SHORTEST_RUN_MM, one_trial)[1], context):
        remedy = "\n  try: --run 1m, and fewer trials, each named: --speeds, --presses, --settles"
    else:
        remedy = "; only a larger one takes it"
    raise CannotDo(too_large(drawn, context) + remedy)


def fits_bed(card: Drawing, context: Context) -> bool:
    """Whether the bed takes a card as it lies."""
    panel = Panel.of(card.job)
    return panel.bed is None or bed_fit(panel, panel.bed, holder_offset(card.job, context.registry)).fits


def too_large(card: Drawing, context: Context) -> str:
    """What a card is larger than."""
    bed, unit = card.job.machine.bed, unit_of(card.job)
    assert bed is not None
    x0, y0, x1, y1 = reach(bed, holder_offset(card.job, context.registry))
    room = f"of {size_in((x1 - x0, y1 - y0), unit)}" if x1 > x0 and y1 > y0 else "that the marker does not reach"
    return f"the card of {size_in(card.sheet, unit)} does not fit a bed {room}"


def of_marker(job: Job, marker: MarkerSection, ink: Ink, holder: Holder, settings: SwatchSettings, run: float) -> Card:
    """The card of one marker, with a run of so many mm."""
    card = Card(marker.name, marker.tip)
    card.write(f"{marker.name}: {ink.name}, {length_in(marker.tip, 'mm')}", MARGIN, card.down(HEIGHT * card.unit))
    card.down(marker_card.GAP)
    marker_card.put_speeds(card, spoken_speeds(speeds_to_try(settings, job, marker.speed or ink.speed), job))
    presses = presses_to_try(settings, holder, ink)
    marker_card.put_presses(card, {length_in(press, "mm"): press for press in presses})
    marker_card.put_settles(card, {f"{settle:g} s": settle for settle in settings.settles})
    marker_card.put_pairs(card)
    marker_card.put_patches(card)
    marker_card.put_run(card, run)
    return card


def of_machine(job: Job, marker: MarkerSection, settings: SwatchSettings) -> Card:
    """The card of the machine, drawn with that marker."""
    card = Card(marker.name, marker.tip, machine_card.WIDTH)
    speed = min(job.machine.rapid, WHEEL_SPEED)
    machine_card.put_square(card)
    machine_card.put_steps(card)
    machine_card.put_circles(card)
    machine_card.put_turned_cross(card)
    wheels = {f"{acceleration:g} mm/s2": acceleration for acceleration in sorted(settings.accelerations)}
    machine_card.put_wheels(card, wheels, speed, next(iter(spoken_speeds([speed], job))))
    machine_card.turned_cross(card)
    return card


def chosen_marker(job: Job, name: str | None) -> MarkerSection:
    """The marker of that name, or the first. Raises InputError for a name the job has not."""
    if name is None:
        return job.markers[0]
    named = {marker.name: marker for marker in job.markers}
    if name not in named:
        raise InputError(f"marker: the job has no marker {did_you_mean(name, named)}; it has {', '.join(named)}")
    return named[name]


def speeds_to_try(settings: SwatchSettings, job: Job, speed: float) -> list[float]:
    """mm/s, rising, none above what the machine moves at."""
    wanted = settings.speeds or tuple(step * speed for step in STEPS)
    return sorted({round(min(each, job.machine.rapid), 6) for each in wanted})


def spoken_speeds(speeds: list[float], job: Job) -> dict[str, float]:
    """mm/s by words in the units of the job's program."""
    if job.machine.units == "in":
        return {f"{speed * 60 / MM_PER_INCH:.3g} in/min": speed for speed in speeds}
    return {f"{speed * 60:.4g} mm/min": speed for speed in speeds}


def presses_to_try(settings: SwatchSettings, holder: Holder, ink: Ink) -> list[float]:
    """mm, rising: of the spring, or what the nib gives. Raises InputError for more than a rigid holder may press."""
    most = None if holder.sprung else ink.nib_gives
    if settings.presses is None:
        tried = SPRING_MM if most is None else tuple(share * most for share in NIB_SHARES)
        return sorted({round(press, 6) for press in tried}) if tried[-1] else []
    if most is not None and max(settings.presses, default=0.0) > most:
        raise InputError(
            f"presses: holder {holder.name!r} is rigid, and the nib of {ink.name!r} gives {length_in(most, 'mm')}: "
            f"expected no more, got {length_in(max(settings.presses), 'mm')}"
        )
    return sorted(set(settings.presses))


def card_drawing(card: Card, job: Job, marker: MarkerSection, subject: str, turned: bool = False) -> Drawing:
    """The card's strokes as a drawing on a stretched canvas of the card's size, with a job of its own.

    turned: by 90 degrees clockwise, its top to the right.
    """
    size, strokes = (card.width, card.height), card.strokes
    if turned:
        size = (card.height, card.width)
        strokes = [np.column_stack([card.height - stroke[:, 1], stroke[:, 0]]) for stroke in strokes]
    data = {key: table for key, table in job.data.items() if key in ("machine", "holder")}
    data["machine"] = {key: value for key, value in data.get("machine", {}).items() if key != "sections"}
    inches = " x ".join(f"{side / MM_PER_INCH:.7g}" for side in size)
    face = f"{inches} in" if unit_of(job) == "in" else f"{size[0]:g} x {size[1]:g} mm"
    data["canvas"] = {"face": face, "mount": "stretched"}
    data["marker"] = marker_tables(card, marker)
    name = "machine card" if subject == "machine" else f"card of {marker.name}"
    made = replace(job_from_data(data, name), folder=job.folder)
    count = len(card.strokes)
    return Drawing.build(
        [[stroke] for stroke in strokes],
        size,
        made,
        marker=np.array(card.markers, dtype=object),
        load=np.ones(count),
        stroke=np.full(count, marker.looks, dtype=object),
        stroke_width=np.full(count, marker.line_width),
        cap=np.full(count, "round", dtype=object),
        join=np.full(count, "round", dtype=object),
        layer=np.array(card.markers, dtype=object),
        lying=OnBoard(),
        hides_nothing=True,
        card=CardFact("machine" if subject == "machine" else "marker", marker.name, tuple(card.trials)),
    )


def marker_tables(card: Card, marker: MarkerSection) -> list[dict[str, Any]]:
    """The markers as a job writes them: the one in the holder, its other settings, and what is put in anew."""
    own: dict[str, Any] = {"ink": marker.ink, "tip": f"{marker.tip:g} mm", "colour": marker.looks}
    own |= {"speed": f"{marker.speed:.9g} mm/s"} if marker.speed else {}
    own |= {"settle": f"{marker.settle:.9g} s"} if marker.settle else {}
    own |= {"press": f"{marker.press:.9g} mm"} if marker.press is not None else {}
    own = {key: value for key, value in own.items() if value is not None}
    others = [
        {"name": name, **(own if name in card.put_in else {"body": marker.name}), **settings}
        for name, settings in card.settings.items()
    ]
    return [{"name": marker.name, **own}, *others]
