"""A small night garden made here for the tests of `gcode`: strokes, a job, what a stage is given. Invented data."""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray

from underdraw import Drawing, Result
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import Report, check_program
from underdraw.program.expected import Expected
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode

sys.path.insert(0, str(Path(__file__).parent))  # these tests import what they share

BOARD = (200.0, 240.0)
CANVAS = {"face": "100 x 140 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm"}
MARKERS = [
    {"name": "outline", "ink": "oil-paint", "tip": "0.7 mm", "colours": ["#1b1b3a"]},
    {"name": "gold (fine)", "ink": "permanent", "tip": "0.5 mm", "colours": ["#c9a13b"]},
]


def circle(x: float, y: float, r: float, points: int = 90) -> NDArray[np.float64]:
    turn = np.linspace(0, 2 * np.pi, points)
    held = np.stack([x + r * np.cos(turn), y + r * np.sin(turn)], axis=1)
    held[-1] = held[0]
    return held


def bezier(ends: ArrayLike, points: int = 200) -> NDArray[np.float64]:
    t = np.linspace(0, 1, points)[:, None]
    a, b, c, d = np.asarray(ends, dtype=np.float64)
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d


def night_garden() -> list[NDArray[np.float64]]:
    """Vine, moon, moths, leaves and a star: curves, corners, closed strokes, a long straight line, a dot."""
    vine = bezier([(20, 230), (150, 180), (20, 90), (170, 20)])
    moon = circle(150, 60, 30)
    moth = np.vstack(
        [bezier([(60, 60), (40, 30), (20, 50), (58, 66)]), bezier([(58, 66), (20, 80), (44, 95), (60, 60)])[1:]]
    )
    leaf = np.array([(100, 150), (120, 140), (140, 150), (120, 160), (100, 150)], dtype=np.float64)
    spiral_turn = np.linspace(0, 6 * np.pi, 400)
    tendril = np.stack(
        [60 + 2 * spiral_turn * np.cos(spiral_turn), 150 + 2 * spiral_turn * np.sin(spiral_turn)], axis=1
    )
    star = np.array([(170, 200), (180, 220), (165, 208), (185, 208), (168, 220), (170, 200)], dtype=np.float64)
    ground = np.array([(5, 235), (195, 235)], dtype=np.float64)
    dot = np.array([(100.0, 200.0), (100.0, 200.0)])
    return [vine, moon, moth, leaf, tendril, star, ground, dot]


@pytest.fixture(scope="session")
def registry() -> Registry:
    return Registry.installed()


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
