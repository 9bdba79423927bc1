"""Speed of programs: 1,000,000 points to a checked program, blocks a second that `check` reads. Printed, not asserted.

pytest tests/bench/test_gcode_speed.py --benchmark-enable -s
"""

import subprocess
import sys

import numpy as np
import pytest

from underdraw import Drawing
from underdraw.drawing.ragged import offsets
from underdraw.job.file import job_from_data
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode

MOST_SECONDS, MOST_MB, LEAST_BLOCKS = 30, 1000, 200_000  # what was set out to be reached, told beside what is


def tendrils(strokes: int, points: int) -> Drawing:
    """Winding strokes over a large board, as flattening leaves curves: chords of half a millimetre."""
    rng = np.random.default_rng(7)
    t = np.linspace(0, 6, points)
    bend, phase = rng.uniform(0.6, 3, (strokes, 1)), rng.uniform(0, 6, (strokes, 1))
    heading = 3 * np.sin(t * bend + phase)
    walk = np.stack([np.cumsum(np.cos(heading), axis=1), np.cumsum(np.sin(heading), axis=1)], axis=-1) * 0.5
    walk -= (walk.min(axis=1, keepdims=True) + walk.max(axis=1, keepdims=True)) / 2
    coords = (walk + rng.uniform(300, 1700, (strokes, 1, 2))).reshape(-1, 2)
    job = job_from_data({"canvas": {"face": "2000 x 2000 mm", "mount": "stretched"}}, "tendrils")
    return Drawing(
        coords=coords,
        parts=offsets(np.full(strokes, points)),
        shapes=offsets(np.ones(strokes, dtype=np.int64)),
        sheet=(2000.0, 2000.0),
        job=job,
        marker="outline",
        load=1,
    )


@pytest.mark.parametrize("controller", ["rs274", "lines"])
def test_a_million_points_to_a_checked_program(benchmark, controller) -> None:
    drawing, context = tendrils(2000, 500), TrialContext(Registry.installed())
    result = benchmark.pedantic(gcode, args=(drawing, GcodeSettings(controller=controller), context), rounds=1)
    print(f"\n{controller}: {result.summary}; asked: at most {MOST_SECONDS} s")
    assert result.files


@pytest.mark.parametrize("controller", ["rs274", "lines"])
def test_memory_of_a_million_points(controller) -> None:
    code = (
        "import sys\n"
        f"sys.path.insert(0, {str(__file__.rsplit('/', 1)[0])!r})\n"
        "import test_gcode_speed as t\n"
        "def peak():\n"
        "    lines = open('/proc/self/status').read().splitlines()\n"
        "    return next(int(line.split()[1]) for line in lines if line.startswith('VmHWM')) // 1000\n"
        "drawing, context = t.tendrils(2000, 500), t.TrialContext(t.Registry.installed())\n"
        "before = peak()\n"
        f"t.gcode(drawing, t.GcodeSettings(controller={controller!r}), context)\n"
        "print(before, peak())\n"
    )
    before, after = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    print(f"\n{controller}: {after} MB at most, {before} MB of them before; asked: at most {MOST_MB} MB")


def test_blocks_a_second(benchmark) -> None:
    data = (
        gcode(tendrils(1000, 500), GcodeSettings(controller="lines"), TrialContext(Registry.installed())).files[0].data
    )
    report = benchmark.pedantic(check_program, args=(data,), rounds=3)
    assert report.ok
    if benchmark.stats:
        rate = report.blocks / benchmark.stats.stats.min
        print(f"\n{report.blocks:,} blocks, {rate:,.0f} a second; asked: at least {LEAST_BLOCKS:,}")
