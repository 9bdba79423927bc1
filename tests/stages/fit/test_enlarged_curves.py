"""Curves of a small page are kept near enough to be smooth on a large panel: from file to board.

Held against the exact circle.
"""

from pathlib import Path

import numpy as np
import pytest

from underdraw.drawing.drawing import FLATTEN_MM
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.fit import FitSettings
from underdraw_stages.fit.stage import fit
from underdraw_stages.import_ import ImportSettings
from underdraw_stages.import_.stage import import_artwork

MOON = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="18mm" height="18mm" viewBox="0 0 18 18">'
    '<circle cx="9" cy="9" r="8" fill="none" stroke="#1b1b3a"/></svg>'
)


@pytest.mark.parametrize("face", ["12 x 12 in", "20 x 20 mm"])
def test_a_moon_of_a_small_page_is_round_on_a_large_panel(face: str, tmp_path: Path) -> None:
    path = tmp_path / "moon.svg"
    path.write_text(MOON)
    registry = Registry.installed()
    canvas = {"face": face, "depth": "5 mm", "bleed": "5 mm"}
    bench = TrialContext(registry, job_from_data({"canvas": canvas}, "moon"))
    read = import_artwork(None, read_settings(ImportSettings, {"file": str(path)}), bench).drawing
    made = fit(read, read_settings(FitSettings, {}), bench).drawing
    middle = np.array(made.sheet) / 2
    due = 8 / 18 * bench.job.canvas.face[0]  # type: ignore[union-attr, index]
    chords = (made.coords[1:] + made.coords[:-1]) / 2
    off = np.abs(np.hypot(*(np.vstack([made.coords, chords]) - middle).T) - due)
    assert off.max() < 1.5 * FLATTEN_MM
