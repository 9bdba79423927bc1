"""The stage `swatch`: choose the marker, lay out the card's trials, and hand on a drawing with a job of its own.

A trial that wants another speed or another height of the tip is a marker of its own in that job: the machine waits
before it, the same pen stays in, and the name says what to change.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from underdraw import Context, Drawing, InputError, Job, Result
from underdraw.in_words import counted, distance, length_in
from underdraw.job import MarkerSection
from underdraw.job_file import job_from_data
from underdraw.lengths import MM_PER_INCH
from underdraw.settings import did_you_mean
from underdraw_stages.swatch import SwatchSettings
from underdraw_stages.swatch.card import WIDTH, Card, height_of, put_columns, put_heading, put_ladder, put_run

STEPS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0)  # of the ink's own speed


def swatch(_drawing: Drawing | None, settings: SwatchSettings, context: Context) -> Result:
    """A card for one marker of the job (or the default marker without one)."""
    job = context.job or Job()
    marker = chosen_marker(job, settings.marker)
    ink = context.registry.ink(marker.ink)
    unit = job.machine.units
    card = Card(marker.tip)
    put_heading(card, marker.name, [f"{marker.name}: {ink.name}, {length_in(marker.tip, 'mm')}"])
    speeds = {
        f"{marker.name} at {spoken_speed(speed, unit)}": speed
        for speed in ladder(settings, job, marker.speed or ink.speed)
    }
    put_ladder(card, marker.name, "speed", [(name, spoken_speed(speed, unit)) for name, speed in speeds.items()])
    touches = {touch_name(marker.name, height): height for height in settings.heights}
    rows = [
        (name, f"{length_in(height, 'mm')} lower" if height else "just touching") for name, height in touches.items()
    ]
    put_ladder(card, marker.name, "tip set lower by", rows)
    put_run(card, marker.name, f"{marker.name}: run", settings.run / 1000.0)
    put_columns(card, marker.name)
    drawn = card_drawing(card, job, marker, speeds)
    told = f"a card {WIDTH:g} x {drawn.sheet[1]:g} mm for {marker.name!r}: {counted(len(drawn), 'stroke')}, "
    told += f"{distance(drawn.drawn_mm)}; the machine waits before each speed and height, with the same marker"
    return Result(drawn, figures={"strokes": len(drawn), "drawn_mm": round(drawn.drawn_mm, 3)}, summary=told)


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


def touch_name(marker: str, height: float) -> str:
    """What the machine shows while it waits for the tip to be set."""
    return f"{marker} tip {length_in(height, 'mm')} lower" if height else f"{marker} tip just touching"


def card_drawing(card: Card, job: Job, marker: MarkerSection, speeds: dict[str, float]) -> Drawing:
    """The card's strokes as a drawing on a stretched canvas of the card's size, with the trials as its markers."""
    size = (WIDTH, height_of(card))
    own = {"ink": marker.ink, "tip": f"{marker.tip:g} mm", "colour": marker.looks}
    own |= {"speed": f"{marker.speed:.9g} mm/s"} if marker.speed else {}
    tables: list[dict[str, Any]] = [
        {key: value for key, value in {"name": name, **own, **_speed(speeds.get(name))}.items() if value is not None}
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
    )


def _speed(speed: float | None) -> dict[str, str]:
    return {} if speed is None else {"speed": f"{speed:.9g} mm/s"}


def in_order(card: Card, first: str) -> list[str]:
    """Words and patches first, then the trials in their order; the long run, which may empty the marker, last."""
    return [first, *(name for name in card.trials if name != first)]
