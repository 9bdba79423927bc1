"""What the artwork shows at a point: bare canvas, a fill, or a line of its own."""

import re
from collections.abc import Iterable
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import Artwork
from underdraw.drawing.paint.difference import ciede2000, lab
from underdraw.drawing.regions import enclosed

ALIKE = 20.0  # CIEDE2000: an ink that looks like this fills the region as the artwork does
OPAQUE = 0.5  # a paint that shows more than what is beneath it
MOVE = re.compile(r"[MLZ ]+")


class ArtworkShown:
    """The artwork that a drawing's strokes were made of; where none travels with it, every region counts as open."""

    def __init__(self, artwork: Artwork | None) -> None:
        self.artwork = artwork or Artwork((), (), (), (), (), (), ())

    def shows_open(self, point: tuple[float, float], inks: Iterable[str]) -> bool:
        """Whether the artwork shows something else at a point than paint that looks like one of the inks."""
        paint = self.paint_at(point)
        return paint is None or all(difference(paint, ink) > ALIKE for ink in inks)

    def paint_at(self, point: tuple[float, float]) -> str | None:
        """The colour that shows there; None for bare canvas."""
        artwork, at = self.artwork, np.array([point])
        for row in reversed(self._near(point)):
            parts = parts_of(artwork.paths[row])
            if artwork.strokes[row] and artwork.stroke_opacity[row] > OPAQUE:
                lines = shapely.multilinestrings([shapely.linestrings(part) for part in parts if len(part) > 1])
                if shapely.distance(lines, shapely.points(point)) <= artwork.widths[row] / 2:
                    return artwork.strokes[row]
            if artwork.fills[row] and artwork.fill_opacity[row] > OPAQUE:
                rings = [np.concatenate([part, part[:1]]) for part in parts if len(part) > 2]
                if rings and enclosed(rings, at, artwork.evenodd[row])[0]:
                    return artwork.fills[row]
        return None

    def drawing(self, drawing: Drawing, box: tuple[float, float, float, float]) -> Drawing | None:
        """The shapes that come into a box, as a drawing on the same board, to be shown."""
        rows = np.flatnonzero(self._into(box)).tolist()
        if not rows:
            return None
        held = self.artwork
        columns: dict[str, Any] = {
            column: np.array([getattr(held, name)[row] for row in rows], dtype=kind)
            for column, name, kind in (
                ("fill", "fills", object),
                ("evenodd", "evenodd", np.bool_),
                ("stroke", "strokes", object),
                ("stroke_width", "widths", np.float64),
                ("fill_opacity", "fill_opacity", np.float64),
                ("stroke_opacity", "stroke_opacity", np.float64),
            )
        }
        return Drawing.build([parts_of(held.paths[row]) for row in rows], drawing.sheet, drawing.job, **columns)

    def _near(self, point: tuple[float, float]) -> list[int]:
        return np.flatnonzero(self._into((*point, *point))).tolist()

    def _into(self, box: tuple[float, float, float, float]) -> NDArray[np.bool_]:
        bounds = self._bounds
        return np.asarray(
            (bounds[:, 0] <= box[2]) & (bounds[:, 1] <= box[3]) & (bounds[:, 2] >= box[0]) & (bounds[:, 3] >= box[1])
        )

    @cached_property
    def _bounds(self) -> NDArray[np.float64]:
        """(s, 4) of each shape with its stroke."""
        found = np.full((len(self.artwork.paths), 4), np.nan)
        for row, path in enumerate(self.artwork.paths):
            numbers = numbers_of(path)
            if len(numbers):
                half = self.artwork.widths[row] / 2
                found[row] = (*(numbers.min(axis=0) - half), *(numbers.max(axis=0) + half))
        return found


def numbers_of(path: str) -> NDArray[np.float64]:
    """(n, 2) every point of path data of absolute M, L and Z."""
    return np.array(MOVE.sub(" ", path).split(), dtype=np.float64).reshape(-1, 2)


def parts_of(path: str) -> list[NDArray[np.float64]]:
    """(n, 2) points of each subpath; a closed one ends where it began.

    >>> [part.tolist() for part in parts_of("M0 0L1 0 1 1ZM5 5L6 5")]
    [[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 0.0]], [[5.0, 5.0], [6.0, 5.0]]]
    """
    parts = []
    for written in path.split("M")[1:]:
        points = numbers_of(written)
        parts.append(np.concatenate([points, points[:1]]) if written.rstrip().endswith("Z") else points)
    return parts


def difference(one: str, other: str) -> float:
    """How different two colours look, CIEDE2000."""
    rgb = [[int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)] for colour in (one, other)]
    a, b = lab(np.array(rgb))
    return float(ciede2000(a[None], b[None])[0])
