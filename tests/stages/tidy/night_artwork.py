"""Pieces of artwork for the tests of `tidy`, as a drawing program would export them; the garden is invented."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import COLUMNS, Drawing
from underdraw.job.sections import Job, MarkerSection
from underdraw.plugins.parts import Result
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.stage import tidy

SHEET = (200.0, 200.0)
INDIGO, AMBER, MOSS, IVORY = "#1b1b3a", "#d9793a", "#4a6b3a", "#ffffff"
MARKERS = (
    MarkerSection(name="outline", tip=0.7, colours=(INDIGO,)),
    MarkerSection(name="accent", tip=0.5, colours=(AMBER,)),
)
Shape = dict[str, Any]


class Listener(TrialContext):
    """What a stage that asks for no installed part is given beside its drawing and settings."""

    def __init__(self) -> None:
        super().__init__(Registry())


def painted(*parts: Any, **looks: Any) -> Shape:
    """A shape: its parts, each a list of points in mm, and its looks by column."""
    return {"parts": [np.asarray(part, dtype=float) for part in parts], **looks}


def stroke(*points: Any, width: float = 1.0, colour: str = INDIGO, **looks: Any) -> Shape:
    """A line with a stroke and no fill, with round ends."""
    return painted(points, **{"stroke": colour, "stroke_width": width, "cap": "round", "join": "round", **looks})


def fill(*points: Any, colour: str = MOSS, **looks: Any) -> Shape:
    """A filled outline without a stroke."""
    return painted([*points, points[0]], **{"fill": colour, **looks})


def box(x0: float, y0: float, x1: float, y1: float, **looks: Any) -> Shape:
    """A filled rectangle without a stroke."""
    return fill((x0, y0), (x1, y0), (x1, y1), (x0, y1), **looks)


def ring(x: float, y: float, radius: float, points: int = 64) -> NDArray[np.float64]:
    """(points + 1, 2) a closed circle."""
    turn = np.linspace(0, 2 * np.pi, points + 1)
    circle = np.stack([x + radius * np.cos(turn), y + radius * np.sin(turn)], axis=1)
    circle[-1] = circle[0]
    return circle


def artwork(*shapes: Shape, sheet: tuple[float, float] = SHEET, markers: Any = MARKERS) -> Drawing:
    """A drawing of shapes in stacking order, the lowest first."""
    columns = {
        name: np.array([shape.get(name, column.default) for shape in shapes], dtype=column.dtype)
        for name, column in COLUMNS.items()
    }
    return Drawing.build([shape["parts"] for shape in shapes], sheet, Job(markers=tuple(markers)), **columns)


def run(drawing: Drawing, listener: Listener | None = None, **settings: Any) -> Result:
    """What `tidy` makes of a drawing, with its record in the history as the host writes it.

    Every edge is drawn, whatever the colours on its sides, unless `contrast` is set: most tests are not about colours.
    """
    result = tidy(drawing, TidySettings(**{"contrast": 0.0, **settings}), listener or Listener())
    return Result(result.drawing.recorded("tidy", {}, result.figures), result.figures, result.summary)


def tidied(*shapes: Shape, **settings: Any) -> Drawing:
    """The strokes that `tidy` makes of shapes."""
    return run(artwork(*shapes), **settings).drawing


def lines_of(drawing: Drawing) -> list[list[tuple[float, float]]]:
    """Every stroke's points."""
    return [[(float(x), float(y)) for x, y in drawing.part_coords(part)] for part in range(len(drawing.parts) - 1)]


def same_bytes(one: Drawing, other: Drawing) -> bool:
    """Whether two drawings hold the same strokes, point for point, in the same looks."""
    arrays = ("coords", "parts", "shapes", *COLUMNS)
    return all(np.array_equal(getattr(one, name), getattr(other, name)) for name in arrays)


def blobs(count: int, seed: int, depth: float = 3.0, side: float = 150.0) -> list[Shape]:
    """Stacked filled petals at random: `depth` of them lie on one another on average."""
    random = np.random.default_rng(seed)
    size = np.sqrt(depth * side**2 / (count * np.pi))
    turn = np.linspace(0, 2 * np.pi, 20, endpoint=False)
    shapes = []
    for index in range(count):
        radius = size * random.uniform(0.5, 1.4) * (1 + 0.3 * np.sin(3 * turn + random.uniform(0, 6)))
        x, y = random.uniform(20, side + 20, 2)
        points = np.stack([x + radius * np.cos(turn), y + radius * np.sin(turn)], axis=1)
        shapes.append(fill(*points, colour=(MOSS, IVORY, "#445588")[index % 3]))
    return shapes
