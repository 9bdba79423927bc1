"""The stage `swatch`: choose the marker, put the trials on a card, and hand on a drawing with a job of its own.

A trial that wants another speed, press or wait is a marker of its own in that job with the body of the one in the
holder, so the machine goes on without a pause.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from underdraw import Context, Drawing, InputError, Job, Result
from underdraw.drawing.facts import Card as CardFact
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.sections import MarkerSection
from underdraw.job.settings import did_you_mean
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
LONGEST_RUN_MM = 200_000.0
WHEEL_SPEED = 50.0  # mm/s at most: faster wheels would need more room than a card has


def swatch(_drawing: Drawing | None, settings: SwatchSettings, context: Context) -> Result:
    """A card for one marker of the job (or the default marker without one), or for the machine."""
    job = context.job or Job()
    marker = chosen_marker(job, settings.marker)
    ink, holder = context.registry.ink(marker.ink), context.registry.holder(job.holder.use)
    card = of_machine(job, marker, settings) if settings.machine else of_marker(job, marker, ink, holder, settings)
    drawn = card_drawing(card, job, marker, "machine" if settings.machine else "marker")
    what = "the machine" if settings.machine else repr(marker.name)
    pauses = "one pause, to turn the marker" if card.put_in else "no pauses"
    text = f"a card of {size_in(drawn.sheet, unit_of(job))} for {what}: {counted(len(drawn), 'stroke')}, "
    text += f"{distance(drawn.drawn_mm, unit_of(job))}, {pauses}"
    return Result(drawn, figures={"strokes": len(drawn), "drawn_mm": round(drawn.drawn_mm, 3)}, summary=text)


def of_marker(job: Job, marker: MarkerSection, ink: Ink, holder: Holder, settings: SwatchSettings) -> Card:
    """The card of one marker."""
    card = Card(marker.name, marker.tip)
    card.write(f"{marker.name}: {ink.name}, {length_in(marker.tip, 'mm')}", MARGIN, card.down(HEIGHT * card.unit))
    card.down(marker_card.GAP)
    marker_card.put_speeds(card, spoken_speeds(speeds_to_try(settings, job, marker.speed or ink.speed), job))
    presses = presses_to_try(settings, holder, ink)
    marker_card.put_presses(card, {length_in(press, "mm"): press for press in presses})
    marker_card.put_settles(card, {f"{settle:g} s": settle for settle in settings.settles})
    marker_card.put_pairs(card)
    marker_card.put_patches(card)
    own = min(RUN_SHARE * marker.ink_length, LONGEST_RUN_MM) if marker.ink_length else RUN_MM
    marker_card.put_run(card, settings.run or own)
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


def card_drawing(card: Card, job: Job, marker: MarkerSection, subject: str) -> Drawing:
    """The card's strokes as a drawing on a stretched canvas of the card's size, with a job of its own."""
    size = (card.width, card.height)
    data = {key: table for key, table in job.data.items() if key in ("machine", "holder")}
    inches = " x ".join(f"{side / MM_PER_INCH:.7g}" for side in size)
    face = f"{inches} in" if unit_of(job) == "in" else f"{size[0]:g} x {size[1]:g} mm"
    data["canvas"] = {"face": face, "mount": "stretched"}
    data["marker"] = marker_tables(card, marker)
    name = "machine card" if subject == "machine" else f"card of {marker.name}"
    made = replace(job_from_data(data, name), folder=job.folder)
    count = len(card.strokes)
    return Drawing.build(
        [[stroke] for stroke in card.strokes],
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
