"""Wrapping 100,000 strokes, against the time that shapely alone needs to clip the same lines to the four bands.

pytest tests/bench/test_wrap_speed.py --benchmark-enable -s
"""

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import shapely

from underdraw import Drawing, Panel
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.wrap import WrapSettings
from underdraw_stages.wrap.stage import wrap

STROKES = 100_000
POINTS = 13  # of each
AIM = 2.0  # times shapely's own clipping


def meadow() -> tuple[Drawing, Panel]:
    """Curved blades of grass of 12 mm all over a 12 x 16 in face, those at its edges cut off there."""
    job = job_from_data({"canvas": {"face": "12 x 16 in"}}, "meadow")
    panel = Panel.of(job)
    rng = np.random.default_rng(7)
    low, high = panel.face_box[:2], panel.face_box[2:]
    bend = rng.uniform(0, 2 * np.pi, (STROKES, 1)) + np.linspace(0, 1.5, POINTS - 1)
    steps = np.stack([np.cos(bend), np.sin(bend)], axis=-1)
    root = rng.uniform(low, high, (STROKES, 1, 2))
    points = np.clip(np.concatenate([root, root + np.cumsum(steps, axis=1)], axis=1), low, high)
    made = Drawing(
        coords=points.reshape(-1, 2),
        parts=np.arange(STROKES + 1) * POINTS,
        shapes=np.arange(STROKES + 1),
        sheet=panel.board,
        job=job,
        stroke=np.full(STROKES, "#1b1b3a", dtype=object),
        stroke_width=np.full(STROKES, 0.7),
        marker=np.full(STROKES, "outline", dtype=object),
    )
    return made, panel


def bands(panel: Panel) -> list[tuple[float, float, float, float]]:
    """What the four sides mirror."""
    (x0, y0, x1, y1), (w, h) = panel.face_box, panel.side_width
    return [(x0, y0, x1, y0 + h), (x1 - w, y0, x1, y1), (x0, y1 - h, x1, y1), (x0, y0, x0 + w, y1)]


def fastest(work: Callable[[], object], rounds: int = 3) -> float:
    """Seconds of the fastest of some rounds: the machine has other things to do."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def test_wrap_mirror_against_shapely_alone(benchmark: Any) -> None:
    """The aim: at most twice the time that shapely needs to clip the same lines to the four bands."""
    drawing, panel = meadow()
    lines = drawing.part_lines()
    settings = read_settings(WrapSettings, {"edges": "mirror"})
    context = TrialContext(Registry.installed())

    def intersect() -> None:
        for band in bands(panel):
            shapely.intersection(lines, shapely.box(*band))

    def clip() -> None:
        for band in bands(panel):
            shapely.clip_by_rect(lines, *band)

    wrapping = fastest(lambda: wrap(drawing, settings, context))
    exact, quick = fastest(intersect), fastest(clip)
    print(
        f"\nwrap {wrapping:.2f} s; shapely.intersection {exact:.2f} s ({wrapping / exact:.2f} times), "
        f"shapely.clip_by_rect {quick:.2f} s ({wrapping / quick:.2f} times); the aim is {AIM:g} times"
    )
    benchmark.extra_info.update(wrap_s=wrapping, intersection_s=exact, clip_by_rect_s=quick)
    benchmark.pedantic(wrap, args=(drawing, settings, context), rounds=3, warmup_rounds=1)
    assert wrapping <= AIM * exact  # a ratio within one run; clip_by_rect drops lines on the edge, and is the ideal
