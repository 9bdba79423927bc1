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
    marker: (n,) int64, index into the markers in use. order: (n,) int64, place in the stack, the highest on top.
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
    def length(self) -> float:
        """mm of all lines together."""
        return float(shapely.length(self.geometry).sum())

    def select(self, rows: ArrayLike) -> Self:
        """Only these lines: indices or a mask."""
        return type(self)(
            self.geometry[rows],
            self.row[rows],
            self.marker[rows],
            self.order[rows],
            self.whole[rows],  # type: ignore[index]
        )

    def pieces(self, geometry: NDArray[Any], owner: NDArray[np.int64], *, whole: ArrayLike | None = None) -> Self:
        """Other geometry whose line i comes from line `owner[i]`; `whole` as the owner's unless given."""
        return type(self)(
            geometry,
            self.row[owner],
            self.marker[owner],
            self.order[owner],
            self.whole[owner] if whole is None else np.asarray(whole, dtype=np.bool_),
        )

    def together(self, *others: "Lines") -> Self:
        """These lines and then the others."""
        every = (self, *others)
        return type(self)(
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


def on_grid(geometry: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Lines with points rounded to the drawing's quantum and repeated points dropped; those of no length go.

    Returns the (m,) lines and the (m,) index each had. An empty array gives empty arrays.
    """
    coords, owner = shapely.get_coordinates(geometry, return_index=True)
    coords = np.round(coords, GRID_DECIMALS) + 0.0
    fresh = np.ones(len(coords), dtype=np.bool_)
    fresh[1:] = (owner[1:] != owner[:-1]) | (coords[1:] != coords[:-1]).any(axis=1)
    coords, owner = coords[fresh], owner[fresh]
    counts = np.bincount(owner, minlength=len(geometry))
    keep = counts >= 2
    point_keep = keep[owner]
    new = np.cumsum(keep) - 1
    if not keep.any():
        return np.empty(0, dtype=object), np.empty(0, dtype=np.int64)
    return shapely.linestrings(coords[point_keep], indices=new[owner[point_keep]]), np.flatnonzero(keep)


def cut_at(
    coords: NDArray[np.float64], owner: NDArray[np.int64], seam: NDArray[np.bool_]
) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Lines cut at some of their points.

    coords: (n, 2) mm. owner: (n,) which line each point belongs to, not falling. seam: (n,) True where a line is cut,
    never at its first or last point. Returns (m,) LineStrings and the (m,) owner of each.
    """
    index = np.repeat(np.arange(len(coords)), 1 + seam)  # a seam's point ends one piece and begins the next
    begins = np.ones(len(index), dtype=np.bool_)
    begins[1:] = (index[1:] == index[:-1]) | (owner[index[1:]] != owner[index[:-1]])
    return shapely.linestrings(coords[index], indices=np.cumsum(begins) - 1), owner[index[begins]]
