"""How long views of many strokes take to write, and a browser to open: printed, not asserted.

The aim: a flat view of 10,000 strokes in at most 3 s, opened in Chromium in at most 3 s.
"""

import shutil
import subprocess
import tempfile
import time
from pathlib import Path

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from underdraw import Drawing, Panel
from underdraw.job.file import job_from_data
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.stage import preview

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
OPTIONS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
)
STROKES, POINTS = 10_000, 20


def meadow(strokes: int) -> Drawing:
    """Blades of grass all over a large panel."""
    job = job_from_data(
        {
            "canvas": {"face": "40 x 30 in", "depth": "1.5 in"},
            "marker": [{"name": "outline", "ink": "oil-paint", "ink_length": "60 m", "colours": ["#1b1b3a"]}],
        },
        "meadow",
    )
    panel = Panel.of(job)
    rng = np.random.default_rng(3)
    roots = rng.uniform((20, 40), (panel.board[0] - 20, panel.board[1] - 5), (strokes, 2))
    grow = np.linspace(0, 1, POINTS)
    bend = rng.uniform(-12, 12, strokes)
    blades = np.stack([roots[:, :1] + bend[:, None] * grow**2, roots[:, 1:] - 30 * grow], axis=2)
    offsets = np.arange(strokes + 1)
    return Drawing(
        blades.reshape(-1, 2),
        offsets * POINTS,
        offsets,
        panel.board,
        job,
        marker="outline",
        load=1 + offsets[:-1] * 31 // 54_000,
        stroke="#1b1b3a",
        stroke_width=0.7,
    )


@pytest.mark.parametrize("view", ["flat", "folded", "motion"])
def test_writing_a_view_of_10_000_strokes(benchmark: BenchmarkFixture, view: str) -> None:
    drawing, quiet = meadow(STROKES), TrialContext(Registry.installed())
    result = benchmark(lambda: preview(drawing, PreviewSettings(view=(view,)), quiet))
    assert len(result.files[0].data) > STROKES * POINTS


@pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
@pytest.mark.parametrize("view", ["flat", "folded", "motion"])
def test_opening_a_view_of_10_000_strokes(benchmark: BenchmarkFixture, tmp_path: Path, view: str) -> None:
    """Chromium's start, which an empty page shows, is printed beside it."""
    page, empty = tmp_path / "view.svg", tmp_path / "empty.svg"
    page.write_bytes(
        preview(meadow(STROKES), PreviewSettings(view=(view,)), TrialContext(Registry.installed())).files[0].data
    )
    empty.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="190mm" height="260mm"/>', encoding="utf-8")

    def open_page(target: Path) -> None:
        with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
            subprocess.run(
                [
                    str(CHROMIUM),
                    *OPTIONS,
                    f"--user-data-dir={home}",
                    f"--screenshot={tmp_path / 'shown.png'}",
                    target.as_uri(),
                ],
                capture_output=True,
                check=True,
                timeout=120,
            )

    start = time.perf_counter()
    open_page(empty)
    alone = time.perf_counter() - start
    benchmark.pedantic(lambda: open_page(page), rounds=2, iterations=1)
    benchmark.extra_info["empty page, s"] = round(alone, 2)
    print(f"\n{view}: an empty page takes {alone:.2f} s to open and show")
