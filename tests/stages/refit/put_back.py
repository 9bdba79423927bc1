"""A board that is taken off and put back: readings as an operator would write them, by the tests' own arithmetic."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from garden_panels import SIX, garden_strokes
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel import Panel, corner_marks
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode
from underdraw_stages.refit import RefitSettings
from underdraw_stages.refit.stage import refit

Points = NDArray[np.float64]
PANEL = "12 x 16 in"


def marked(name: str = PANEL, face: str = "", **machine: str) -> Drawing:
    """A garden panel, or one like it with another face, with registration marks on its board."""
    data = {**SIX[name], "machine": {**SIX[name].get("machine", {}), **machine}}
    if face:
        data["canvas"] = {**data["canvas"], "face": face}
    drawing = garden_strokes(job_from_data(data, "moths"))
    marks = tuple(mark.at for mark in corner_marks(Panel.of(drawing.job)))
    return drawing.replace(lying=OnBoard(wrapped=True, marks=marks))


@dataclass(frozen=True)
class Shove:
    """Where a point of the board went that was at (x, y) mm from program zero, y away from the operator."""

    degrees: float
    shift: tuple[float, float]

    @classmethod
    def random(cls, rng: np.random.Generator, degrees: float = 2.0, mm: float = 10.0) -> "Shove":
        return cls(float(rng.uniform(-degrees, degrees)), tuple(rng.uniform(-mm, mm, 2).tolist()))

    def of(self, points: Points) -> Points:
        c, s = np.cos(np.radians(self.degrees)), np.sin(np.radians(self.degrees))
        x, y = points.T
        return np.column_stack([c * x - s * y, s * x + c * y]) + self.shift

    def undone(self, points: Points) -> Points:
        c, s = np.cos(np.radians(self.degrees)), np.sin(np.radians(self.degrees))
        x, y = (points - self.shift).T
        return np.column_stack([c * x + s * y, -s * x + c * y])


def from_corner(drawing: Drawing, points: Points) -> Points:
    """Board points (y down) from the board's lower left corner, y away from the operator."""
    return np.column_stack([points[:, 0], drawing.sheet[1] - points[:, 1]])


def marks_of(drawing: Drawing) -> Points:
    assert drawing.lying is not None
    return np.array(drawing.lying.marks)


def file_of(path: Path, read: Points, numbers: list[int] | None = None) -> Path:
    """What the operator types in, all digits kept."""
    numbers = numbers or list(range(1, len(read) + 1))
    tables = [
        f'[[mark]]\nnumber = {number}\nread = "{x:.9f} x {y:.9f} mm"\n'
        for number, (x, y) in zip(numbers, read.tolist(), strict=True)
    ]
    path.write_text("".join(tables))
    return path


def refitted(drawing: Drawing, file: Path, **asked: object) -> tuple[Drawing, dict[str, object], list[str]]:
    """The drawing after `refit`, its figures, and what was warned of."""
    bench = TrialContext(Registry.installed())
    result = refit(drawing, read_settings(RefitSettings, {"measured": str(file), **asked}), bench)
    return result.drawing, result.figures, bench.warnings


def put_back(drawing: Drawing, shove: Shove, path: Path, noise: Points | float = 0.0, **asked: object) -> Drawing:
    """The drawing after its marks were read off where a shove left them; noise: (n, 2) mm added to the readings."""
    read = shove.of(from_corner(drawing, marks_of(drawing))) + noise
    return refitted(drawing, file_of(path, read), **asked)[0]


def program_of(drawing: Drawing, **asked: object) -> bytes:
    """The one program of a drawing, in mm."""
    context = TrialContext(Registry.installed())
    (file,) = gcode(drawing, read_settings(GcodeSettings, {"units": "mm", **asked}), context).files
    return file.data


def without_marks(drawing: Drawing) -> Drawing:
    assert drawing.lying is not None
    return drawing.replace(lying=replace(drawing.lying, marks=()))
