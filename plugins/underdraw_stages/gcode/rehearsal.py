"""A last look before ink: image, folds and the drawing's farthest points, traced with the marker lifted."""

import numpy as np

from underdraw import Drawing
from underdraw_stages.gcode.setup import Setup

Trace = list[tuple[str, list[tuple[float, float]]]]


def rehearsal(drawing: Drawing, setup: Setup) -> Trace:
    """What is traced, by name, each a list of points in the program's units and axes.

    The image's outline; each fold from end to end; the farthest points of the drawing, left, far, right and near.
    """
    panel = setup.lying.panel
    w, h = panel.board
    traced: list[tuple[str, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]] = [
        ("the image's outline", np.array([(0, h), (w, h), (w, 0), (0, 0), (0, h)], dtype=np.float64))
    ]
    for side, fold in panel.folds.items():
        traced.append((f"the {setup.lying.hung_side(side)} fold", np.array(fold, dtype=np.float64)))
    coords = drawing.coords
    rows = [coords[:, 0].argmin(), coords[:, 1].argmin(), coords[:, 0].argmax(), coords[:, 1].argmax()]
    traced.append(("the farthest points, left, far, right, near", coords[rows]))
    first = setup.lying.tip_shifts([str(drawing.marker[0])])  # the one that is in the holder
    return [(name, [(x, y) for x, y in setup.in_program(points, first).tolist()]) for name, points in traced]
