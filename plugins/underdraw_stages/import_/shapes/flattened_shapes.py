"""Outlines through their matrices into millimetres, as polylines in ragged arrays."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import FLATTEN_MM, LARGEST_MM, QUANTUM_MM
from underdraw.drawing.ragged import offsets
from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import Job
from underdraw.panel import Panel
from underdraw_stages.import_.file import limits
from underdraw_stages.import_.outlines.flatten import CHUNK, TooManyPoints, flatten, make_room
from underdraw_stages.import_.shapes.found_shape import FoundShape

TOLERANCE_MM = FLATTEN_MM - 2 * QUANTUM_MM  # what rounding to the quantum and the cubics for arcs take is left off
FINEST_MM = 2 * QUANTUM_MM  # nearer than points can be kept is of no use


@dataclass(frozen=True)
class FlattenedShapes:
    """Polylines of shapes: coords (n, 2) mm, parts (p + 1,) offsets into coords, shapes (s + 1,) offsets into parts."""

    coords: NDArray[np.float64]
    parts: NDArray[np.int64]
    shapes: NDArray[np.int64]

    def parts_of(self, shape: int) -> list[NDArray[np.float64]]:
        """The (n, 2) polylines of one shape."""
        rows = range(self.shapes[shape], self.shapes[shape + 1])
        return [self.coords[self.parts[row] : self.parts[row + 1]] for row in rows]


def tolerance_for(page: tuple[float, float] | None, job: Job | None) -> float:
    """How near curves must be kept, to be within `FLATTEN_MM` still once the artwork fills its panel.

    A page smaller than the panel is enlarged later, and every chord with it. Without a job nothing is known of that.
    """
    if page is None or job is None or job.canvas.face is None:
        return TOLERANCE_MM
    panel = Panel.of(job)
    grows = max(there / own for there, own in zip(panel.image, page, strict=True))
    return max(FLATTEN_MM / max(grows, 1.0) - 2 * QUANTUM_MM, FINEST_MM)


def flatten_shapes(
    found: Iterable[FoundShape], file: str, tolerance: float = TOLERANCE_MM
) -> tuple[list[FoundShape], FlattenedShapes]:
    """All shapes and their outlines in mm, curves within `tolerance`; each shape's curves go as soon as they are used.

    Raises InputError for a coordinate out of all measure, CannotDo for more points than are of use.
    """
    items: list[FoundShape] = []
    points = _Points()
    part_counts: list[int] = []
    point_counts = [np.empty(0, dtype=np.int64)]
    for some in _handfuls(found):
        coords, counts = _flattened(some, file, tolerance, limits.MOST_POINTS - points.count)
        points.append(coords)
        point_counts.append(counts)
        part_counts += [len(item.outline.starts) for item in some]
        for item in some:
            item.outline = item.outline.without_curves()
        items += some
    return items, FlattenedShapes(points.all(), offsets(np.concatenate(point_counts)), offsets(part_counts))


def _handfuls(found: Iterable[FoundShape]) -> Iterator[list[FoundShape]]:
    """Shapes one after the other, as many at a time as have CHUNK curves together."""
    some: list[FoundShape] = []
    curves = 0
    for item in found:
        some.append(item)
        curves += len(item.outline)
        if curves >= CHUNK:
            yield some
            some, curves = [], 0
    if some:
        yield some


def _flattened(
    items: Sequence[FoundShape], file: str, tolerance: float, most: int
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """(n, 2) mm, the points of all items, and (p,) how many each part has."""
    part_counts = [len(item.outline.starts) for item in items]
    curves = PlacedCurves(items)
    matrices = np.array([item.matrix for item in items])
    starts = _placed(np.concatenate([item.outline.starts for item in items]), np.repeat(matrices, part_counts, axis=0))
    for begin in range(0, len(curves), CHUNK):
        _check_size(items, curves[begin : begin + CHUNK], curves.first, begin, file)
    _check_size(items, starts[:, None], offsets(part_counts), 0, file)
    first_curve = np.repeat(curves.first[:-1], part_counts)
    parts = np.concatenate([item.outline.parts[:-1] for item in items]) + first_curve
    parts = np.append(parts, len(curves)).astype(np.int64)
    try:
        coords, point_parts = flatten(curves, parts, starts, tolerance, most)
    except TooManyPoints:
        raise CannotDo(
            f"the outlines need more than {limits.MOST_POINTS:,} points: is the page far too large? "
            "Export it at its real size, or simplify",
            file=file,
        ) from None
    return coords, np.diff(point_parts)


class _Points:
    """Points of one handful of shapes after the other, in one array."""

    def __init__(self) -> None:
        self.count = 0
        self._held = np.empty((0, 2))

    def append(self, coords: NDArray[np.float64]) -> None:
        """Add (n, 2) points; the first ones, which may be all there are, are taken as they are."""
        end = self.count + len(coords)
        if not self.count:
            self._held = coords
        else:
            make_room(self._held, end)
            self._held[self.count : end] = coords
        self.count = end

    def all(self) -> NDArray[np.float64]:
        """(n, 2) all of them; none may be added any more."""
        self._held.resize((self.count, 2), refcheck=False)
        return self._held


def _placed(points: NDArray[np.float64], matrices: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, …, 2) points, each through its own row of (n, 6) matrices."""
    a, b, c, d, e, f = (column.reshape(-1, *[1] * (points.ndim - 2)) for column in matrices.T)
    x, y = points[..., 0], points[..., 1]
    return np.stack([a * x + c * y + e, b * x + d * y + f], axis=-1)


class PlacedCurves:
    """The curves of all items' outlines in mm, (n, 4, 2), worked out where they are asked for: all are never held."""

    def __init__(self, items: Sequence[FoundShape]) -> None:
        self.items = items
        self.first = offsets([len(item.outline) for item in items])  # (s + 1,) where each item's begin

    def __len__(self) -> int:
        return int(self.first[-1])

    def __getitem__(self, which: slice) -> NDArray[np.float64]:
        begin, end, _ = which.indices(len(self))
        low, high = int(np.searchsorted(self.first, begin, "right")) - 1, int(np.searchsorted(self.first, end, "left"))
        some, firsts = self.items[low:high], self.first[low:high].tolist()
        pieces = [  # of a long outline no more than is asked for: it is asked for a slice at a time
            item.outline.curves[max(begin - first, 0) : end - first] for item, first in zip(some, firsts, strict=True)
        ]
        matrices = np.repeat([item.matrix for item in some], [len(piece) for piece in pieces], axis=0)
        return _placed(np.concatenate(pieces), matrices)


def _check_size(
    items: Sequence[FoundShape], points: NDArray[np.float64], first: NDArray[np.int64], begin: int, file: str
) -> None:
    """Refuse (n, …, 2) points out of all measure; first: (s + 1,) where each item's begin, `begin` where these do."""
    fits = (np.abs(points) <= LARGEST_MM).all(axis=(1, 2))  # nan compares false
    if fits.all():
        return
    worst = items[int(np.searchsorted(first, begin + int(np.argmin(fits)), side="right")) - 1]
    raise InputError(
        f"{worst.element} has a coordinate that is not a number, or farther out than {LARGEST_MM / 1e6:g} km; "
        "mend or delete it",
        file=file,
    )
