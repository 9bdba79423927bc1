"""Drawings of strokes for the tests of `order`; the garden is invented."""

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import Job, MachineSection, MarkerSection
from underdraw.plugins.parts import Holder, Ink
from underdraw.testing.trial import TrialContext

BOARD = (1000.0, 1000.0)
AS_FAR_AS_TIME = 1e9  # mm/s²: so quick that time is distance, as published tours count it


class Listener(TrialContext):
    """What a stage is given beside its drawing and settings, with an invented holder."""

    def __init__(self) -> None:
        parts = SimpleNamespace(
            holder=lambda name: Holder("collet", "invented", sprung=True, settle=0.2),
            ink=lambda name: Ink("indigo", "invented", 20.0, False, False, False),
        )
        super().__init__(parts)


def garden(
    lines: Sequence[Any],
    marker: Any = "outline",
    markers: Sequence[MarkerSection] = (),
    sheet: tuple[float, float] = BOARD,
    **machine: Any,
) -> Drawing:
    """A drawing of strokes, one a line of (n, 2) points in mm."""
    job = Job(machine=MachineSection(**machine), markers=tuple(markers) or (MarkerSection(name="outline"),))
    return Drawing.build([[line] for line in lines], sheet, job, marker=marker)


def moths(count: int, seed: int, long: float = 60.0) -> list[NDArray[np.float64]]:
    """Open strokes of random places and directions, `long` mm or so."""
    random = np.random.default_rng(seed)
    first = random.uniform(0, BOARD[0], (count, 1, 2))
    return list(np.concatenate([first, first + random.normal(0, long, (count, 1, 2))], axis=1))


def flowers(count: int, seed: int, radius: float = 20.0, points: int = 40) -> list[NDArray[np.float64]]:
    """Closed outlines of random places, each beginning at a random point of its own."""
    random = np.random.default_rng(seed)
    angles = np.linspace(0, 2 * np.pi, points + 1)[:-1]
    outlines = []
    for _ in range(count):
        begun = angles + random.uniform(0, 2 * np.pi)
        petals = radius * random.uniform(0.4, 1.0) * (1 + 0.2 * np.cos(5 * angles))
        line = random.uniform(0, BOARD[0], 2) + petals[:, None] * np.column_stack([np.cos(begun), np.sin(begun)])
        outlines.append(np.concatenate([line, line[:1]]))
    return outlines


def lines_of(drawing: Drawing) -> list[NDArray[np.float64]]:
    """The points of each stroke, in drawing order."""
    return [drawing.part_coords(part) for part in range(len(drawing))]


def unturned(line: NDArray[np.float64]) -> tuple[Any, ...]:
    """The same for a stroke drawn from either end, or entered at any point, in either direction."""
    points = [tuple(point) for point in line.tolist()]
    if len(points) > 2 and points[0] == points[-1]:
        ring = points[:-1]
        turns = [ring[k:] + ring[:k] for k in range(len(ring))]
        turns += [turn[::-1] for turn in turns]
        return tuple(min(turns))
    return tuple(min(points, points[::-1]))
