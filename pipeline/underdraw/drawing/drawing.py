"""What a drawing is in memory: shapes of polylines in one ragged array, with their looks, in millimetres.

x right, y down. Coordinates are kept to `QUANTUM_MM`, as the wire writes them, so that a chain in one process and
a chain of pipes give the same bytes.
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Self

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from underdraw.drawing.facts import (
    Artwork,
    Card,
    FaintEdges,
    Ground,
    MirrorFold,
    OnBoard,
    Palette,
    Reading,
    Source,
    WrittenProgram,
)
from underdraw.drawing.ragged import gather, offsets
from underdraw.errors import InputError
from underdraw.job.sections import Job

QUANTUM_MM = 1e-4  # a tenth of a micrometre: far below any marker, and exact in decimal on the wire
DECIMALS = 4
FACTS = (
    "lying",
    "mirror_folds",
    "sources",
    "programs",
    "hides_nothing",
    "ground",
    "faint",
    "card",
    "artwork",
    "reading",
    "palette",
)  # fields that travel, see `drawing.facts`
_UNSAID: Any = None  # a column that was not given; `__post_init__` fills it in
FLATTEN_MM = 0.01  # curves become polylines within this, once, at import
PIECE = 100_000  # points looked at a time
LARGEST_MM = 1e7  # ten kilometres: still exact to the quantum in a double; larger coordinates are refused
NO_MARKER = "none"  # marker of a fill that only hides what lies beneath it: where a fill was cut, no line belongs


@dataclass(frozen=True)
class Column:
    """One thing known of each shape: numpy dtype, value if not set, attribute on the wire."""

    dtype: Any
    default: Any


COLUMNS: dict[str, Column] = {
    "fill": Column(object, ""),  # "#rrggbb", or "" for none
    "evenodd": Column(np.bool_, False),  # fill rule: even-odd; False is nonzero
    "fill_opacity": Column(np.float64, 1.0),  # all opacities that bear on the fill, multiplied; not a gradient's own
    "fill_gradient": Column(object, None),  # `drawing.paint.gradients`; then `fill` is the colour that stands for it
    "fill_pattern": Column(np.bool_, False),  # painted with a pattern; then `fill` is the first colour in it
    "stroke": Column(object, ""),  # "#rrggbb", or "" for none
    "stroke_opacity": Column(np.float64, 1.0),
    "stroke_gradient": Column(object, None),
    "stroke_width": Column(np.float64, 0.0),  # mm; after `tidy` the marker's tip
    "cap": Column(object, "butt"),  # butt, round, square
    "join": Column(object, "miter"),  # miter, round, bevel
    "miter_limit": Column(np.float64, 4.0),  # a corner whose miter is longer, in stroke widths, is bevelled
    "blur": Column(np.float64, 0.0),  # mm over which its edge fades, by a filter; 0: a sharp edge
    "marker": Column(object, ""),  # name of the job's marker, "" where none was chosen yet, or `NO_MARKER`
    "load": Column(np.int32, 0),  # from 1 within a marker; 0 where no loads were made yet
    "section": Column(np.int32, 0),  # of a board longer than the bed, from 1; 0 where it is drawn in one go
    "cut_edge": Column(np.bool_, False),  # a line that a cut left of the edge of a fill without stroke
    "layer": Column(object, ""),  # where it came from, for messages
    "element": Column(object, ""),
}


@dataclass(frozen=True)
class Record:
    """One stage's entry in a drawing's history, as JSON can hold it."""

    stage: str
    settings: Mapping[str, Any] = field(default_factory=dict)
    figures: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Drawing:
    """Shapes in stacking order before `tidy`; strokes, one part a shape, in drawing order after it.

    coords: (n, 2) float64 mm. parts: (p + 1,) int64 offsets into coords; a part is one polyline, closed where its
    first and last points are equal. shapes: (s + 1,) int64 offsets into parts. The columns of `COLUMNS` are arrays
    of length s. sheet: (width, height) mm: the artwork's page before `fit`, the board after it. Arrays are read-only;
    `select` and `replace` make new drawings.

    Facts, for whoever comes after (see `underdraw.drawing.facts`): lying, how it is on its board, or None;
    mirror_folds; sources, the files it was made from; programs, what was written of it so far; hides_nothing, whether
    every shape is a stroke that is drawn whole, as none of them hides another; ground, what the artwork's page was
    painted with; faint, edges that are left out as the eye hardly sees them; card, that it is a card to learn a marker
    or the machine with; artwork, what the strokes were made of, as it shows; reading, how the strokes will read;
    palette, what is painted.
    """

    coords: NDArray[np.float64]
    parts: NDArray[np.int64]
    shapes: NDArray[np.int64]
    sheet: tuple[float, float]
    job: Job
    history: tuple[Record, ...] = ()
    fill: NDArray[Any] = _UNSAID
    evenodd: NDArray[np.bool_] = _UNSAID
    fill_opacity: NDArray[np.float64] = _UNSAID
    fill_gradient: NDArray[Any] = _UNSAID
    fill_pattern: NDArray[np.bool_] = _UNSAID
    stroke: NDArray[Any] = _UNSAID
    stroke_opacity: NDArray[np.float64] = _UNSAID
    stroke_gradient: NDArray[Any] = _UNSAID
    stroke_width: NDArray[np.float64] = _UNSAID
    cap: NDArray[Any] = _UNSAID
    join: NDArray[Any] = _UNSAID
    miter_limit: NDArray[np.float64] = _UNSAID
    blur: NDArray[np.float64] = _UNSAID
    marker: NDArray[Any] = _UNSAID
    load: NDArray[np.int32] = _UNSAID
    section: NDArray[np.int32] = _UNSAID
    cut_edge: NDArray[np.bool_] = _UNSAID
    layer: NDArray[Any] = _UNSAID
    element: NDArray[Any] = _UNSAID
    lying: OnBoard | None = None
    mirror_folds: tuple[MirrorFold, ...] = ()
    sources: tuple[Source, ...] = ()
    programs: tuple[WrittenProgram, ...] = ()
    hides_nothing: bool = False
    ground: Ground | None = None
    faint: FaintEdges | None = None
    card: Card | None = None
    artwork: Artwork | None = None
    reading: Reading | None = None
    palette: Palette | None = None

    def __post_init__(self) -> None:
        """Quantise, fill in columns that were not given, check lengths, and lock every array."""
        coords = np.asarray(self.coords, dtype=np.float64).reshape(-1, 2)
        if coords.size and not (coords.min() >= -LARGEST_MM and coords.max() <= LARGEST_MM):  # nan compares false
            raise InputError(f"a coordinate is not a number, or lies farther than {LARGEST_MM / 1e6:g} km from zero")
        arrays: dict[str, NDArray[Any]] = {
            "coords": coords if _is_locked(coords) and _is_quantised(coords) else _quantised(coords),
            "parts": np.array(self.parts, dtype=np.int64),
            "shapes": np.array(self.shapes, dtype=np.int64),
        }
        count = len(arrays["shapes"]) - 1
        if arrays["parts"][-1] != len(coords) or arrays["shapes"][-1] != len(arrays["parts"]) - 1:
            raise ValueError("offsets do not end where the arrays they point into end")
        for name, column in COLUMNS.items():
            given = getattr(self, name)
            values = np.full(count, column.default, dtype=column.dtype)
            if given is not None:
                values[:] = given
            if column.dtype is np.float64:
                values = np.round(values, DECIMALS) + 0.0
            arrays[name] = values
        for name, array in arrays.items():
            array.setflags(write=False)
            object.__setattr__(self, name, array)
        object.__setattr__(
            self, "sheet", (round(float(self.sheet[0]), DECIMALS), round(float(self.sheet[1]), DECIMALS))
        )

    @classmethod
    def build(
        cls,
        shapes: Iterable[Sequence[ArrayLike]],
        sheet: tuple[float, float],
        job: Job,
        history: tuple[Record, ...] = (),
        **columns: Any,
    ) -> Self:
        """Make a drawing from shapes, each a list of (n, 2) polylines; a column is an array or one value for all."""
        nested = [[np.asarray(part, dtype=np.float64).reshape(-1, 2) for part in shape] for shape in shapes]
        flat = [part for shape in nested for part in shape]
        return cls(
            coords=np.concatenate(flat) if flat else np.empty((0, 2)),
            parts=offsets([len(part) for part in flat]),
            shapes=offsets([len(shape) for shape in nested]),
            sheet=sheet,
            job=job,
            history=history,
            **columns,
        )

    def with_lines(self, lines: NDArray[Any], rows: ArrayLike | None = None, **changes: Any) -> Self:
        """The same drawing with other geometry: `lines` (m,) shapely LineString or MultiLineString, one a shape.

        rows: (m,) which of today's shapes each inherits its columns from; None: shape i from shape i. Columns in
        `changes` (array of m, or one value) go before the inherited ones, as do `sheet`, `job`, `history` and facts.
        """
        pieces, line_of_piece = shapely.get_parts(lines, return_index=True)
        coords, of_line = shapely.get_coordinates(pieces, return_index=True)
        index = np.arange(len(lines)) if rows is None else np.asarray(rows, dtype=np.int64)
        inherited = {name: getattr(self, name)[index] for name in COLUMNS}
        facts = {name: getattr(self, name) for name in FACTS}
        given = {"sheet": self.sheet, "job": self.job, "history": self.history, **facts, **inherited, **changes}
        return type(self)(
            coords=coords,
            parts=offsets(np.bincount(of_line, minlength=len(pieces))),
            shapes=offsets(np.bincount(line_of_piece, minlength=len(lines))),
            **given,
        )

    def select(self, rows: ArrayLike) -> Self:
        """Only these shapes, in this order: (m,) indices, or a boolean mask of length s."""
        index = np.asarray(rows)
        index = np.flatnonzero(index) if index.dtype == np.bool_ else index.astype(np.int64)
        part_index, shape_offsets = gather(self.shapes, index)
        coord_index, part_offsets = gather(self.parts, part_index)
        columns = {name: getattr(self, name)[index] for name in COLUMNS}
        return replace(
            self, coords=self.coords.take(coord_index, axis=0), parts=part_offsets, shapes=shape_offsets, **columns
        )

    def replace(self, **changes: Any) -> Self:
        """A copy with some fields changed."""
        return replace(self, **changes)

    def recorded(self, stage: str, settings: Mapping[str, Any], figures: Mapping[str, Any]) -> Self:
        """A copy whose history has one more record."""
        return replace(self, history=(*self.history, Record(stage, dict(settings), dict(figures))))

    def __len__(self) -> int:
        """How many shapes (strokes, after `tidy`)."""
        return len(self.shapes) - 1

    def part_coords(self, part: int) -> NDArray[np.float64]:
        """(n, 2) the points of one part."""
        return self.coords[self.parts[part] : self.parts[part + 1]]

    def part_lines(self) -> NDArray[Any]:
        """(p,) one shapely LineString a part; a part of one point becomes a line of no length there."""
        counts = np.diff(self.parts)
        coords, parts = self.coords, self.parts
        if (counts < 2).any():
            repeats = np.where(counts == 1, 2, 1).repeat(counts)
            coords = coords.repeat(repeats, axis=0)
            parts = offsets(np.where(counts == 1, 2, counts))
        lines: NDArray[Any] = shapely.linestrings(coords, indices=np.repeat(np.arange(len(counts)), np.diff(parts)))
        return lines

    def shape_lines(self) -> NDArray[Any]:
        """(s,) one shapely MultiLineString a shape."""
        lines: NDArray[Any] = shapely.multilinestrings(
            self.part_lines(), indices=np.repeat(np.arange(len(self)), np.diff(self.shapes)), out=self._empty_lines()
        )
        return lines

    def _empty_lines(self) -> NDArray[Any]:
        empty = np.empty(len(self), dtype=object)
        empty[:] = shapely.MultiLineString()
        return empty

    def part_closed(self) -> NDArray[np.bool_]:
        """(p,) whether a part ends where it began (and has more than one point)."""
        counts = np.diff(self.parts)
        first, last = self.coords[self.parts[:-1][counts > 0]], self.coords[self.parts[1:][counts > 0] - 1]
        closed = np.zeros(len(counts), dtype=np.bool_)
        closed[counts > 0] = (first == last).all(axis=1)
        return closed & (counts > 2)

    def part_lengths(self) -> NDArray[np.float64]:
        """(p,) mm along each part."""
        steps = np.hypot(*np.diff(self.coords, axis=0, prepend=self.coords[:1]).T) if len(self.coords) else np.empty(0)
        starts = self.parts[:-1][np.diff(self.parts) > 0]
        steps[starts] = 0.0  # the step from one part to the next is not drawn
        total = np.concatenate([[0.0], np.cumsum(steps)])
        lengths: NDArray[np.float64] = total[self.parts[1:]] - total[self.parts[:-1]]
        return lengths

    def shape_lengths(self) -> NDArray[np.float64]:
        """(s,) mm along each shape's parts together."""
        total = np.concatenate([[0.0], np.cumsum(self.part_lengths())])
        lengths: NDArray[np.float64] = total[self.shapes[1:]] - total[self.shapes[:-1]]
        return lengths

    @property
    def opaque_fill(self) -> NDArray[np.bool_]:
        """(s,) whether a shape's fill lets nothing through, anywhere in it."""
        return self._opaque(self.fill, self.fill_opacity, self.fill_gradient)

    @property
    def opaque_stroke(self) -> NDArray[np.bool_]:
        """(s,) the same of its stroke."""
        return self._opaque(self.stroke, self.stroke_opacity, self.stroke_gradient)

    def _opaque(self, colour: NDArray[Any], opacity: NDArray[np.float64], gradient: NDArray[Any]) -> NDArray[np.bool_]:
        opaque = (colour != "") & (opacity >= 1) & (self.blur == 0)
        for row in np.flatnonzero(opaque & (gradient != None)):  # noqa: E711 - elementwise
            opaque[row] = gradient[row].least_opacity >= 1
        return np.asarray(opaque, dtype=np.bool_)

    @property
    def drawn_mm(self) -> float:
        """Length of everything."""
        return float(self.part_lengths().sum())

    @property
    def bounds(self) -> tuple[float, float, float, float] | None:
        """(x0, y0, x1, y1) of all points, or None for an empty drawing."""
        if not len(self.coords):
            return None
        return (*map(float, self.coords.min(axis=0)), *map(float, self.coords.max(axis=0)))  # type: ignore[return-value]

    @property
    def digest(self) -> str:
        """A short hash of the strokes themselves, their markers and loads: the same strokes, the same digits."""
        held = hashlib.sha256()
        for array in (self.coords, self.parts, self.load):
            held.update(array.tobytes())
        held.update("\n".join(map(str, self.marker.tolist())).encode())
        return held.hexdigest()[:16]

    @property
    def is_strokes(self) -> bool:
        """Whether every shape is one stroke of a marker, with points, as `tidy` leaves them."""
        single = (np.diff(self.shapes) == 1).all() and (np.diff(self.parts) > 0).all()
        return bool(single and (self.fill == "").all() and (self.marker != "").all())

    @property
    def is_tidied(self) -> bool:
        """Whether these are strokes of which none hides another: of artwork, what `tidy` has made of it."""
        return self.hides_nothing and self.is_strokes


def _quantised(coords: NDArray[np.float64]) -> NDArray[np.float64]:
    """A copy with every number a whole count of quanta, and no -0 among them."""
    rounded = np.round(coords, DECIMALS)
    rounded += 0.0  # turns -0 into 0
    return rounded


def _is_quantised(coords: NDArray[np.float64]) -> bool:
    """Whether a quantised copy would be the same to the last bit; asked a piece at a time, without such a copy."""
    pieces = (coords[begin : begin + PIECE] for begin in range(0, len(coords), PIECE))
    return coords.flags.c_contiguous and all(piece.tobytes() == _quantised(piece).tobytes() for piece in pieces)


def _is_locked(array: NDArray[Any] | None) -> bool:
    """Whether nobody can change an array, neither by itself nor by one that it is a view of: it may be shared."""
    while isinstance(array, np.ndarray) and not array.flags.writeable:
        array = array.base
    return array is None
