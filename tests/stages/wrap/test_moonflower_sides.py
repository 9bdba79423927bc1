"""The sample's artwork over the sides, each way: lines meet at every fold, and none lies in a corner square.

pytest tests/stages/wrap/test_moonflower_sides.py -s    prints the largest gap
"""

from pathlib import Path

import pytest
from on_board import crossings, in_corner_squares, wrapped

from underdraw import Drawing, Panel
from underdraw.cli.load_job import load_job
from underdraw.job.settings import read_settings
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.fit import FitSettings
from underdraw_stages.fit.stage import fit
from underdraw_stages.import_ import ImportSettings
from underdraw_stages.import_.stage import import_artwork

JOB = Path(__file__).parents[3] / "fixtures" / "moonflower" / "moonflower.toml"


@pytest.fixture(scope="module")
def moonflower() -> Drawing:
    registry = Registry.installed()
    bench = TrialContext(registry, load_job(JOB, registry))
    artwork = read_settings(ImportSettings, {"file": str(JOB.with_suffix(".svg")), "skip": ["guides"]})
    read = import_artwork(None, artwork, bench).drawing
    placed = fit(read, read_settings(FitSettings, {}), bench)
    return placed.drawing.recorded("fit", {}, placed.figures)


@pytest.mark.parametrize("edges", ["mirror", "run-on", "mirror, top run-on", "drawn"])
def test_the_moonflowers_lines_meet_at_the_folds_and_leave_the_corners(moonflower: Drawing, edges: str) -> None:
    panel = Panel.of(moonflower.job)
    made, *_ = wrapped(moonflower, edges)
    met, widest = crossings(made.select(made.fill == ""), panel)
    print(f"\n{edges}: {met} crossings with a point on the fold, largest gap {widest:.4f} mm")
    assert in_corner_squares(made, panel) == 0
    assert met > 10 or edges == "drawn"  # what was drawn across a fold has no point there
    assert widest < 0.001


def test_the_moonflower_leaves_its_sides_blank_when_they_are_plain(moonflower: Drawing) -> None:
    panel = Panel.of(moonflower.job)
    made, *_ = wrapped(moonflower, "plain")
    x0, y0, x1, y1 = panel.face_box
    assert (made.coords >= (x0, y0)).all() and (made.coords <= (x1, y1)).all()
