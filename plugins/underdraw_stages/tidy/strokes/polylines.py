"""What the steps of tidy pass on: lines, each with the shape it came from and the marker that draws it."""

from dataclasses import dataclass
from typing import Any, Self

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

GRID_MM = 1e-4  # the drawing's own quantum: nothing finer reaches the wire
GRID_DECIMALS = 4


@dataclass(frozen=True, eq=False)
class Lines:
    """Polylines in mm, of equal-length arrays.

    geometry: (n,) shapely LineStrings, none of no length. row: (n,) int64, the drawing's shape each came from.
    marker: (n,) int64, index into the markers in use. order: (n,) int64, level in the stack, the highest on top.
    whole: (n,) bool, False once any of the artwork's line was cut away from it.
    """

    geometry: NDArray[Any]
    row: NDArray[np.int64]
    marker: NDArray[np.int64]
    order: NDArray[np.int64]
    whole: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.geometry)

    @property
    def of_fill(self) -> NDArray[np.bool_]:
        """(n,) whether a line is a fill's edge and not a stroke's middle: those have even levels in the stack."""
        return self.order % 2 == 0  # type: ignore[no-any-return]

    @property
    def length(self) -> float:
        """mm of all lines together."""
        return float(shapely.length(self.geometry).sum())

    def select(self, rows: NDArray[Any]) -> Self:
        """Only these lines: indices or a mask."""
        return type(self)(
            self.geometry[rows],
            self.row[rows],
            self.marker[rows],
            self.order[rows],
            self.whole[rows],
        )

    def pieces(self, geometry: NDArray[Any], line_index: NDArray[np.int64], *, whole: ArrayLike | None = None) -> Self:
        """Other geometry, (m,), each from the line that `line_index` names; `whole` as that line's unless given."""
        return type(self)(
            geometry,
            self.row[line_index],
            self.marker[line_index],
            self.order[line_index],
            self.whole[line_index] if whole is None else np.asarray(whole, dtype=np.bool_),
        )

    def together(self, *others: "Lines") -> "Lines":
        """These lines and then the others."""
        every: list[Lines] = [self, *others]
        return Lines(
            np.concatenate([lines.geometry for lines in every]),
            np.concatenate([lines.row for lines in every]),
            np.concatenate([lines.marker for lines in every]),
            np.concatenate([lines.order for lines in every]),
            np.concatenate([lines.whole for lines in every]),
        )


def no_lines() -> Lines:
    """A `Lines` of length 0."""
    none = np.empty(0, dtype=np.int64)
    return Lines(np.empty(0, dtype=object), none, none, none, np.empty(0, dtype=np.bool_))


def on_grid(
    coords: NDArray[np.float64], line_index: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Points rounded to the drawing's quantum, repeated points and lines of no length left out.

    coords: (n, 2) mm. line_index: (n,) the line of each point, not falling. Returns new coords, line_index (numbered
    from 0 without gaps) and the (m,) old number of each line.
    """
    coords = np.round(coords, GRID_DECIMALS) + 0.0
    fresh = np.ones(len(coords), dtype=np.bool_)
    fresh[1:] = (line_index[1:] != line_index[:-1]) | (coords[1:] != coords[:-1]).any(axis=1)
    coords, line_index = coords[fresh], line_index[fresh]
    counts = np.bincount(line_index, minlength=1)
    kept = counts >= 2
    on_kept = kept[line_index]
    return coords[on_kept], (np.cumsum(kept) - 1)[line_index[on_kept]], np.flatnonzero(kept)


def grid_keys(coords: NDArray[np.float64]) -> NDArray[np.complex128]:
    """(n,) one comparable value for each of (n, 2) points, on the drawing's grid."""
    grid = np.round(coords / GRID_MM)
    return grid[:, 0] + 1j * grid[:, 1]


def point_keys(points: NDArray[Any]) -> NDArray[np.complex128]:
    """(n,) the same of (n,) shapely Points."""
    return grid_keys(shapely.get_coordinates(points))
