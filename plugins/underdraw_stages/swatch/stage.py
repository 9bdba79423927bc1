"""The stage `swatch`: choose the marker, lay out the card's trials, and hand on a drawing with a job of its own.

A trial that wants another speed or another press is a marker of its own in that job: the machine waits before it, and
the one in the holder stays. A rigid holder cannot press, so there the trial's name gives how much lower to set the tip.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from underdraw import Context, Drawing, InputError, Job, Result
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.sections import MarkerSection
from underdraw.job.settings import did_you_mean
from underdraw.words.lengths import MM_PER_INCH
from underdraw.words.quantities import counted, distance, length_in, size_in
from underdraw.words.units import unit_of
from underdraw_stages.swatch import SwatchSettings
from underdraw_stages.swatch.card import WIDTH, Card, height_of, put_columns, put_heading, put_ladder, put_run

STEPS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0)  # of the ink's own speed
MarkerKeys = dict[str, dict[str, str]]  # trial -> the keys of its marker beside its name, as in a job


def swatch(_drawing: Drawing | None, settings: SwatchSettings, context: Context) -> Result:
    """A card for one marker of the job (or the default marker without one)."""
    job = context.job or Job()
    marker = chosen_marker(job, settings.marker)
    card = Card(marker.tip)
    ink = context.registry.ink(marker.ink)
    put_heading(card, marker.name, [f"{marker.name}: {ink.name}, {length_in(marker.tip, 'mm')}"])
    keys = put_speeds(card, job, marker.name, ladder(settings, job, marker.speed or ink.speed))
    keys |= put_heights(card, marker.name, settings, context.registry.holder(job.holder.use).sprung)
    put_run(card, marker.name, f"{marker.name}: run", settings.run / 1000.0)
    put_columns(card, marker.name)
    drawn = card_drawing(card, job, marker, keys)
    text = f"a card {size_in(drawn.sheet, unit_of(job))} for {marker.name!r}: {counted(len(drawn), 'stroke')}, "
    text += f"{distance(drawn.drawn_mm, unit_of(job))}; the machine waits before each trial, with the same marker in"
    return Result(drawn, figures={"strokes": len(drawn), "drawn_mm": round(drawn.drawn_mm, 3)}, summary=text)


def put_speeds(card: Card, job: Job, marker: str, speeds: list[float]) -> MarkerKeys:
    """The same line at each speed."""
    spoken = {spoken_speed(speed, job.machine.units): speed for speed in speeds}
    put_ladder(card, marker, "speed", [(f"{marker} at {words}", words) for words in spoken])
    return {f"{marker} at {words}": {"speed": f"{speed:.9g} mm/s"} for words, speed in spoken.items()}


def put_heights(card: Card, marker: str, settings: SwatchSettings, sprung: bool) -> MarkerKeys:
    """The same line with the spring pressed in, or the tip set lower, step by step."""
    trials = {touch_trial(marker, height, sprung): height for height in settings.heights}
    put_ladder(card, marker, "spring pressed in by" if sprung else "tip set lower by", list(trials))
    return {name: {"press": f"{height:.9g} mm"} for (name, _), height in trials.items() if sprung}


def chosen_marker(job: Job, name: str | None) -> MarkerSection:
    """The marker of that name, or the first. Raises InputError for a name the job has not."""
    if name is None:
        return job.markers[0]
    named = {marker.name: marker for marker in job.markers}
    if name not in named:
        raise InputError(f"marker: the job has no marker {did_you_mean(name, named)}; it has {', '.join(named)}")
    return named[name]


def ladder(settings: SwatchSettings, job: Job, speed: float) -> list[float]:
    """The speeds to try, none above what the machine moves at."""
    wanted = settings.speeds or tuple(step * speed for step in STEPS)
    return sorted({round(min(each, job.machine.rapid), 6) for each in wanted})


def spoken_speed(speed: float, unit: str) -> str:
    """A speed as the program's units have it."""
    return f"{speed * 60 / MM_PER_INCH:.3g} in/min" if unit == "in" else f"{speed * 60:.4g} mm/min"


def touch_trial(marker: str, height: float, sprung: bool) -> tuple[str, str]:
    """A trial of the tip's height: what the machine shows while it waits, and the words on the card."""
    words = length_in(height, "mm")
    if sprung:
        return f"{marker} pressed {words}", words
    return (f"{marker} tip {words} lower", f"{words} lower") if height else (f"{marker} tip just touching", "touching")


def card_drawing(card: Card, job: Job, marker: MarkerSection, keys: MarkerKeys) -> Drawing:
    """The card's strokes as a drawing on a stretched canvas of the card's size, with the trials as its markers."""
    size = (WIDTH, height_of(card))
    own = {"ink": marker.ink, "tip": f"{marker.tip:g} mm", "colour": marker.looks}
    own |= {"speed": f"{marker.speed:.9g} mm/s"} if marker.speed else {}
    own |= {"settle": f"{marker.settle:.9g} s"} if marker.settle else {}
    own |= {"press": f"{marker.press:.9g} mm"} if marker.press is not None else {}
    tables: list[dict[str, Any]] = [
        {key: value for key, value in {"name": name, **own, **keys.get(name, {})}.items() if value is not None}
        for name in in_order(card, marker.name)
    ]
    data = {key: table for key, table in job.data.items() if key in ("machine", "holder")}
    data["canvas"] = {"face": f"{size[0]:g} x {size[1]:g} mm", "mount": "stretched"}
    data["marker"] = tables
    made = replace(job_from_data(data, f"swatch {marker.name}"), folder=job.folder)
    named = [(trial, stroke) for trial in in_order(card, marker.name) for stroke in card.trials[trial]]
    count = len(named)
    return Drawing.build(
        [[stroke] for _, stroke in named],
        size,
        made,
        marker=np.array([trial for trial, _ in named], dtype=object),
        load=np.ones(count),
        stroke=np.full(count, marker.looks, dtype=object),
        stroke_width=np.full(count, marker.tip),
        cap=np.full(count, "round", dtype=object),
        join=np.full(count, "round", dtype=object),
        layer=np.array([trial for trial, _ in named], dtype=object),
        lying=OnBoard(),
        hides_nothing=True,
    )


def in_order(card: Card, first: str) -> list[str]:
    """Words and patches first, then the trials in their order; the long run, which may empty the marker, last."""
    return [first, *(name for name in card.trials if name != first)]
