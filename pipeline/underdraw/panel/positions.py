"""Where a point of the flat canvas ends on the finished panel, and back.

The flat canvas falls into nine fields, by three stretches along x and three along y; each is a place on the panel.
Within each the map is linear, so there and back agrees to rounding.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from underdraw.panel.geometry import Panel

ROUNDING_MM = 1e-9  # so near the back edge a point is on it
FACE = "face"
SIDE_NAMES = ("top", "right", "bottom", "left")
PLACE_NAMES = (
    FACE,
    *SIDE_NAMES,
    *(f"behind {side}" for side in SIDE_NAMES),
    *(f"corner {corner}" for corner in ("top left", "top right", "bottom right", "bottom left")),
)
_CORNER = {(-1, -1): 9, (1, -1): 10, (1, 1): 11, (-1, 1): 12}


@dataclass(frozen=True, eq=False)
class Places:
    """Places on the finished panel; lengths in finished mm.

    kind: (n,) index into PLACE_NAMES. at: (n, 2)
    - face: x and y from its top left corner;
    - a side: along its edge from the face's left or upper end, and how deep below the front edge;
    - behind a side: along the edge, and how far in from the frame's back edge (the staple strip is there as well);
    - a corner (folded away): how far beyond the two folds, along x and along y.
    """

    kind: NDArray[np.int64]
    at: NDArray[np.float64]

    @property
    def names(self) -> list[str]:
        """Each place's name."""
        return [PLACE_NAMES[kind] for kind in self.kind]


def places(panel: Panel, points: ArrayLike) -> Places:
    """Where points of the image (n, 2), in board coordinates, end on the finished panel.

    A point on a fold is on the face; one on the back edge is on the side.

    >>> panel = Panel(face=(300, 400), depth=40, bleed=10, staple=25)
    >>> found = places(panel, [(50, 50), (200, 20), (200, 5), (20, 20)])
    >>> found.names
    ['face', 'top', 'behind top', 'corner top left']
    >>> found.at.tolist()
    [[0.0, 0.0], [150.0, 30.0], [150.0, 5.0], [30.0, 30.0]]
    """
    flat = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    made = np.column_stack([finished(panel, flat[:, axis], axis) for axis in (0, 1)])
    out = np.column_stack([outward(made[:, axis], panel.face[axis]) for axis in (0, 1)])
    past = np.abs(np.where(out < 0, made, made - np.array(panel.face)))  # beyond the fold, where it is beyond one
    kind = np.zeros(len(flat), dtype=np.int64)
    at = made.copy()
    for side, (axis, way) in enumerate(((1, -1), (0, 1), (1, 1), (0, -1))):
        here = (out[:, axis] == way) & (out[:, 1 - axis] == 0)
        behind = here & (past[:, axis] > panel.depth + ROUNDING_MM)
        kind[here] = 1 + side
        kind[behind] = 5 + side
        at[here] = np.column_stack([made[here, 1 - axis], past[here, axis]])
        at[behind, 1] -= panel.depth
    for (way_x, way_y), corner in _CORNER.items():
        here = (out[:, 0] == way_x) & (out[:, 1] == way_y)
        kind[here] = corner
        at[here] = past[here]
    return Places(kind, at)


def image_points(panel: Panel, found: Places) -> NDArray[np.float64]:
    """(n, 2) where places on the finished panel lie on the flat canvas, in board coordinates: `places` undone."""
    made = found.at.copy()
    face = np.array(panel.face)
    for side, (axis, way) in enumerate(((1, -1), (0, 1), (1, 1), (0, -1))):
        for kind, before in ((1 + side, 0.0), (5 + side, panel.depth)):
            here = found.kind == kind
            past = found.at[here, 1] + before
            made[here, 1 - axis] = found.at[here, 0]
            made[here, axis] = -past if way < 0 else face[axis] + past
    for (way_x, way_y), corner in _CORNER.items():
        here = found.kind == corner
        for axis, way in ((0, way_x), (1, way_y)):
            made[here, axis] = -found.at[here, axis] if way < 0 else face[axis] + found.at[here, axis]
    return np.column_stack([flattened(panel, made[:, axis], axis) for axis in (0, 1)])


def in_space(panel: Panel, found: Places) -> NDArray[np.float64]:
    """(n, 3) places as points of the finished panel: x right and y down from the face's top left, z into the wall.

    nan in a folded corner, which shows nowhere.
    """
    (w, h), depth = panel.face, panel.depth
    along, deep = found.at.T
    flat, full = np.zeros(len(along)), np.full(len(along), depth)
    space = np.full((len(along), 3), np.nan)
    on = {
        0: (along, deep, flat),
        1: (along, flat, deep),
        2: (flat + w, along, deep),
        3: (along, flat + h, deep),
        4: (flat, along, deep),
        5: (along, deep, full),
        6: (w - deep, along, full),
        7: (along, h - deep, full),
        8: (deep, along, full),
    }
    for kind, columns in on.items():
        here = found.kind == kind
        space[here] = np.column_stack(columns)[here]
    return space


def outward(made: NDArray[np.float64], face: float) -> NDArray[np.int64]:
    """(n,) -1 before the face, 0 on it, +1 after it."""
    return np.where(made < 0, -1, np.where(made > face, 1, 0)).astype(np.int64)


def knots(panel: Panel, axis: int) -> tuple[list[float], list[float]]:
    """Back edge, fold, fold, back edge along an axis: on the flat board, and finished from the face's near edge."""
    low, high = panel.face_box[axis], panel.face_box[axis + 2]
    deep = panel.flat_depth[axis] or panel.depth
    face = panel.face[axis]
    return [low - deep, low, high, high + deep], [-panel.depth, 0.0, face, face + panel.depth]


def finished(panel: Panel, flat: NDArray[np.float64], axis: int) -> NDArray[np.float64]:
    """(n,) board coordinates along an axis, mm, as finished lengths from the face's near edge."""
    own, made = knots(panel, axis)
    return piecewise(flat, own, made, panel.scale[axis])


def flattened(panel: Panel, made: NDArray[np.float64], axis: int) -> NDArray[np.float64]:
    """`finished` undone, (n,) mm."""
    own, to = knots(panel, axis)
    return piecewise(made, to, own, 1 / panel.scale[axis])


def piecewise(values: NDArray[np.float64], own: list[float], to: list[float], slope: float) -> NDArray[np.float64]:
    """(n,) linear between knots, and with that slope beyond them; a knot is met exactly."""
    before, after = to[0] + slope * (values - own[0]), to[-1] + slope * (values - own[-1])
    return np.where(values < own[0], before, np.where(values > own[-1], after, np.interp(values, own, to)))
