"""The regions of 10,000 leaves, against the time that shapely alone needs for the union of the same fills; the sample.

pytest tests/bench/test_paint_speed.py --benchmark-enable -s
"""

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from underdraw import Drawing, Panel
from underdraw.drawing.facts import OnBoard
from underdraw.drawing.regions import fill_regions
from underdraw.job.file import job_from_data, read_text, read_toml
from underdraw.job.settings import read_settings
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.fit import FitSettings
from underdraw_stages.fit.stage import fit
from underdraw_stages.import_ import ImportSettings
from underdraw_stages.import_.stage import import_artwork
from underdraw_stages.paint import PaintSettings
from underdraw_stages.paint.plane.faces import cut_into_faces
from underdraw_stages.paint.plane.painted_regions import joined
from underdraw_stages.paint.plane.seen_paints import seen_paints
from underdraw_stages.paint.stage import paint
from underdraw_stages.wrap import WrapSettings
from underdraw_stages.wrap.stage import wrap

LEAVES = 10_000
FACE = (304.8, 406.4)
LONGEST = 3.2  # mm from a leaf's middle: all of them together cover the face once over
SAMPLE = Path(__file__).parents[2] / "fixtures" / "moonflower" / "moonflower.toml"


def hedge() -> Drawing:
    """Leaves of 24 points in 24 colours, on one another, that cover a 12 x 16 in face once over."""
    rng = np.random.default_rng(3)
    turn = np.linspace(0, 2 * np.pi, 25)
    size, middle = rng.uniform(1, LONGEST, (LEAVES, 1)), rng.uniform((0, 0), FACE, (LEAVES, 2))
    x = middle[:, :1] + size * np.cos(turn) * (1 + 0.3 * np.cos(3 * turn))
    y = middle[:, 1:] + size * np.sin(turn)
    points = np.clip(np.stack([x, y], axis=-1), (0, 0), FACE)
    points[:, -1] = points[:, 0]
    colours = np.array([f"#{code:06x}" for code in rng.integers(0, 1 << 24, 24)], dtype=object)
    job = job_from_data({"canvas": {"face": "12 x 16 in", "mount": "stretched"}}, "hedge")
    drawing = Drawing.build([[leaf] for leaf in points], FACE, job, fill=colours[rng.integers(0, 24, LEAVES)])
    return drawing.replace(lying=OnBoard())


def fastest(work: Callable[[], object], rounds: int = 3) -> float:
    """Seconds of processor time of the fastest of some rounds: the machine has other things to do."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def test_ten_thousand_leaves_against_one_union(benchmark: Any) -> None:
    """The aim: the regions of one colour in at most five times one `union_all` of the fills."""
    drawing = hedge()
    panel, context = Panel.of(drawing.job), TrialContext(Registry.installed())
    fills, _ = fill_regions(drawing, np.arange(len(drawing)))

    def regions() -> object:
        faces = cut_into_faces(drawing, panel)
        return joined(faces, seen_paints(drawing, faces)[1])

    union, cut = fastest(lambda: shapely.union_all(fills)), fastest(regions)
    whole = fastest(lambda: paint(drawing, read_settings(PaintSettings, {}), context), rounds=1)
    print(
        f"\n{LEAVES:,} leaves, {shapely.area(fills).sum() / (FACE[0] * FACE[1]):.2f} times the face: union_all "
        f"{union:.2f} s, regions {cut:.2f} s ({cut / union:.2f} times), the whole stage {whole:.2f} s"
    )
    benchmark.extra_info.update(union_s=union, regions_s=cut, stage_s=whole)
    benchmark.pedantic(regions, rounds=1)
    assert cut <= 5 * union  # a ratio within one run


def test_the_sample(benchmark: Any) -> None:
    """The aim: a second for the sample, map and all."""
    context = TrialContext(Registry.installed(), job_from_data(read_toml(read_text(SAMPLE), SAMPLE), "moonflower"))
    settings = read_settings(ImportSettings, {"file": str(SAMPLE.with_suffix(".svg"))})
    drawing = import_artwork(None, settings, context).drawing
    drawing = fit(drawing, read_settings(FitSettings, {}), context).drawing
    drawing = wrap(drawing, read_settings(WrapSettings, {"edges": "mirror"}), context).drawing

    def planned() -> object:
        return paint(drawing, read_settings(PaintSettings, {}), context)

    print(f"\nthe sample: {fastest(planned):.2f} s of processor time")
    benchmark.pedantic(planned, rounds=3)
