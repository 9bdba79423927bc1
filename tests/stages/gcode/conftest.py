"""A small night garden made here for the tests of `gcode`: strokes, a job, what a stage is given. Invented data."""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import ArrayLike

from underdraw import Drawing, Result
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel import Lying
from underdraw.plugins.registry import Plugin, Registry
from underdraw.program import Report, check_program
from underdraw.program.expected import Expected
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode

sys.path.insert(0, str(Path(__file__).parent))  # these tests import what they share

from gcode_garden import night_garden

EXAMPLE = Path(__file__).parents[3] / "plugins" / "example_controller" / "src"
BOARD = (200.0, 240.0)
CANVAS = {"face": "100 x 140 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm"}
MARKERS = [
    {"name": "outline", "ink": "oil-paint", "tip": "0.7 mm", "colours": ["#1b1b3a"]},
    {"name": "gold (fine)", "ink": "permanent", "tip": "0.5 mm", "colours": ["#c9a13b"]},
]


@pytest.fixture(scope="session")
def registry() -> Registry:
    return Registry.installed()


@pytest.fixture(scope="session")
def shop() -> Registry:
    """Every part installed, and the example's controller."""
    registry = Registry.installed()
    if "servo-lift" not in registry.controllers:
        sys.path.insert(0, str(EXAMPLE))
        from example_controller import SERVO_LIFT

        registry.controllers.add("servo-lift", SERVO_LIFT, Plugin("example", "example"))
    return registry


@pytest.fixture
def listener(registry: Registry) -> TrialContext:
    return TrialContext(registry)


@pytest.fixture
def garden() -> Callable[..., Drawing]:
    """Make a drawing of strokes: `garden(strokes=…, gold=2, loads=…, machine={…}, holder={…}, marker=[…])`."""

    def make(
        strokes: Sequence[ArrayLike] | None = None,
        gold: int = 0,
        loads: Sequence[int] | None = None,
        board: tuple[float, float] = BOARD,
        **sections: Any,
    ) -> Drawing:
        lines = night_garden() if strokes is None else list(strokes)
        data = {"canvas": CANVAS, "marker": MARKERS, **sections}
        job = job_from_data({key: value for key, value in data.items() if value is not None}, "night garden")
        names = ["outline"] * (len(lines) - gold) + ["gold (fine)"] * gold
        return Drawing.build(
            [[line] for line in lines],
            board,
            job,
            marker=np.array(names, dtype=object),
            load=np.ones(len(lines), dtype=np.int32) if loads is None else np.array(loads, dtype=np.int32),
            stroke="#1b1b3a",
            stroke_width=0.7,
        ).replace(lying=OnBoard(), hides_nothing=True)

    return make


@pytest.fixture
def write(registry: Registry) -> Callable[..., Result]:
    """Run the stage with settings as a person writes them."""

    def run(drawing: Drawing, listener: TrialContext | None = None, **written: Any) -> Result:
        settings = read_settings(GcodeSettings, written)
        return gcode(drawing, settings, listener or TrialContext(registry))

    return run


@pytest.fixture
def read_back(registry: Registry) -> Callable[..., Report]:
    """Check a program with its job, and against its drawing."""

    def check(
        data: bytes,
        drawing: Drawing,
        first: int = 1,
        last: int | None = None,
        tolerance: float = 0.02,
        controller: str = "rs274",
        registry: Registry = registry,
    ) -> Report:
        expected = Expected.of(drawing.job, Lying.of(drawing, registry), registry, controller)
        return check_program(data, expected.drawing(drawing, [(first, last or len(drawing))]), tolerance)

    return check
