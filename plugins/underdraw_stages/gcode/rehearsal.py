"""A last look before ink, with the marker lifted: marks of a board that was put back, image, folds, farthest points."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw_stages.gcode.setup import Setup


@dataclass(frozen=True)
class Leg:
    """One thing that is traced: its name, its points in the program's units and axes.

    asks: what the operator is asked at its end, where the machine waits; "": it goes on by itself.
    """

    name: str
    points: list[tuple[float, float]]
    asks: str = ""


Trace = list[Leg]


def rehearsal(drawing: Drawing, setup: Setup, asked: bool) -> Trace | None:
    """What is traced; None where nothing is. Of a board that was measured, first each point it was measured at.

    Then the image's outline; each fold from end to end; the farthest points of the drawing, left, far, right and near.
    A board that was moved along and not measured yet is held against its marks whether it is asked for or not: a
    program that takes it to lie just where it should would draw every line beside itself.
    """
    first = setup.lying.tip_shifts([str(drawing.marker[0])])  # the one that is in the holder
    if not asked:
        return marks(setup, first) or None if setup.lying.is_planned else None
    return [*marks(setup, first), *outlines(drawing, setup, first)]


def outlines(drawing: Drawing, setup: Setup, first: NDArray[np.float64]) -> Trace:
    """The image's outline, the folds, and the farthest points; of a board longer than the bed these alone."""
    panel = setup.lying.panel
    w, h = panel.board
    traced: list[tuple[str, NDArray[np.float64]]] = []
    if setup.lying.sections is None:
        corners = np.array([(0, h), (w, h), (w, 0), (0, 0), (0, h)], dtype=np.float64)
        traced.append(("the image's outline", corners))
        for side, fold in panel.folds.items():
            traced.append((f"the {setup.lying.hung_side(side)} fold", np.array(fold, dtype=np.float64)))
    coords = drawing.coords
    rows = [coords[:, 0].argmin(), coords[:, 1].argmin(), coords[:, 0].argmax(), coords[:, 1].argmax()]
    traced.append(("the farthest points, left, far, right, near", coords[rows]))
    return [Leg(name, [(x, y) for x, y in setup.in_program(points, first).tolist()]) for name, points in traced]


def marks(setup: Setup, shift: NDArray[np.float64]) -> Trace:
    """Each point that the board was measured at, in turn."""
    measured = np.array(setup.lying.measured, dtype=np.float64).reshape(-1, 2)
    spots = setup.in_program(measured, shift).tolist()
    names = [setup.lying.name_of_measured(index) for index in range(len(spots))]
    return [
        Leg(name, [(x, y)], f"check that the tip is over {name}; go on if it is, else stop and measure again")
        for name, (x, y) in zip(names, spots, strict=True)
    ]
