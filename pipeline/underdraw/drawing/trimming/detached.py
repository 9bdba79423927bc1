"""Shapes detached from their drawing, so that many steps can cut and copy them before a drawing is made again.

A detached shape knows the row of the drawing that it came from, whose looks it keeps, and what is left of it: all of
it, its fill (which hides what is beneath, and whose edge is nobody's line), its outline (which hides nothing), or the
straight edges by which its fill is closed where its stroke is open: the fill's own edge, which is seen.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Self

import numpy as np

from underdraw.drawing.affine import IDENTITY, Matrix, compose
from underdraw.drawing.drawing import COLUMNS, NO_MARKER, Drawing
from underdraw.drawing.paint.gradients import moved_gradients
from underdraw.drawing.ragged import Floats, Ints, Mask, gather, offsets, part_bounds

WHOLE, FILL_ONLY, OUTLINE_ONLY, CLOSING_ONLY = 0, 1, 2, 3


@dataclass(frozen=True, eq=False)
class Base:
    """The drawing that detached shapes came from, and which of its rows are filled, and filled without a stroke."""

    drawing: Drawing

    @cached_property
    def filled(self) -> Mask:
        """(n,) rows with a fill."""
        return np.asarray(self.drawing.fill != "", dtype=np.bool_)

    @cached_property
    def bare(self) -> Mask:
        """(n,) rows with a fill and no stroke: their outline is drawn along the fill's edge."""
        return np.asarray(self.filled & (self.drawing.stroke == ""), dtype=np.bool_)


@dataclass(frozen=True, eq=False)
class DetachedShapes:
    """Shapes by themselves: coords (n, 2), parts (p + 1,), shapes (s + 1,), row (s,) of `base`, role (s,).

    move: (s,) how each was moved since, an index into `moves`, matrices of mm; so its gradients can follow.
    """

    base: Base
    coords: Floats
    parts: Ints
    shapes: Ints
    row: Ints
    role: Ints
    move: Ints
    moves: tuple[Matrix, ...] = (IDENTITY,)

    @classmethod
    def of(cls, drawing: Drawing) -> Self:
        """All shapes of a drawing."""
        role = np.where(drawing.marker == NO_MARKER, FILL_ONLY, WHOLE).astype(np.int64)
        row, move = np.arange(len(drawing)), np.zeros(len(drawing), dtype=np.int64)
        return cls(Base(drawing), drawing.coords, drawing.parts, drawing.shapes, row, role, move)

    def __len__(self) -> int:
        return len(self.row)

    @cached_property
    def bounds(self) -> Floats:
        """(p, 4) of each part."""
        return part_bounds(self.coords, self.parts)

    @cached_property
    def part_shape(self) -> Ints:
        """(p,) which shape each part belongs to."""
        return np.repeat(np.arange(len(self)), np.diff(self.shapes))

    @property
    def filled(self) -> Mask:
        """(s,) which shapes still have their fill."""
        return np.asarray(self.base.filled[self.row] & (self.role < OUTLINE_ONLY))

    @property
    def bare(self) -> Mask:
        """(s,) which shapes are drawn along their fill's edge."""
        return np.asarray(self.base.bare[self.row] & (self.role == WHOLE))

    def closed(self) -> Mask:
        """(p,) whether a part ends where it began."""
        counts = np.diff(self.parts)
        last = np.maximum(self.parts[1:] - 1, 0)
        first = np.minimum(self.parts[:-1], max(len(self.coords) - 1, 0))
        if not len(self.coords):
            return np.zeros(len(counts), dtype=np.bool_)
        return np.asarray((self.coords[first] == self.coords[last]).all(axis=1) & (counts > 2))

    def select(self, rows: Ints) -> Self:
        """Only these shapes, (m,) indices, in this order."""
        part_index, shapes = gather(self.shapes, rows)
        coord_index, parts = gather(self.parts, part_index)
        return replace(
            self,
            coords=self.coords.take(coord_index, axis=0),  # faster than indexing
            parts=parts,
            shapes=shapes,
            row=self.row[rows],
            role=self.role[rows],
            move=self.move[rows],
        )

    def with_parts(self, coords: Floats, counts: Ints, shape: Ints, role: int | None = None) -> Self:
        """Other parts: (p,) points of each, and which of today's shapes it belongs to, in order; empty shapes go."""
        kept, parts_of = np.unique(shape, return_counts=True)
        roles = self.role[kept] if role is None else np.full(len(kept), role, dtype=np.int64)
        return replace(
            self,
            coords=coords,
            parts=offsets(counts),
            shapes=offsets(parts_of),
            row=self.row[kept],
            role=roles,
            move=self.move[kept],
        )

    def moved(self, coords: Floats, matrix: Matrix) -> Self:
        """The same shapes with other coordinates, (n, 2) mm, to which the matrix took those of today."""
        used, move = np.unique(self.move, return_inverse=True)
        return replace(
            self, coords=coords, move=move, moves=tuple(compose(matrix, self.moves[each]) for each in used.tolist())
        )


def together(detached: Sequence[DetachedShapes]) -> DetachedShapes:
    """All of them, one after the other; all come from one drawing."""
    if len(detached) == 1:
        return detached[0]
    moves = tuple(dict.fromkeys(matrix for item in detached for matrix in item.moves))
    number = {matrix: index for index, matrix in enumerate(moves)}
    return replace(
        detached[0],
        coords=np.concatenate([item.coords for item in detached]),
        parts=offsets(np.concatenate([np.diff(item.parts) for item in detached])),
        shapes=offsets(np.concatenate([np.diff(item.shapes) for item in detached])),
        row=np.concatenate([item.row for item in detached]),
        role=np.concatenate([item.role for item in detached]),
        move=np.concatenate([np.array([number[each] for each in item.moves])[item.move] for item in detached]),
        moves=moves,
    )


@dataclass(eq=False)
class ShapeBatches:
    """Detached shapes in batches, some of them taken away since: steps add batches and never copy the large ones."""

    batches: list[DetachedShapes]
    remaining: list[Mask] = field(default_factory=list)

    @classmethod
    def of(cls, drawing: Drawing) -> Self:
        """All shapes of a drawing."""
        return cls([DetachedShapes.of(drawing)], [np.ones(len(drawing), dtype=np.bool_)])

    def add(self, detached: Sequence[DetachedShapes]) -> None:
        """Add shapes, as one more batch."""
        filled = [item for item in detached if len(item)]
        if filled:
            batch = together(filled)
            self.batches.append(batch)
            self.remaining.append(np.ones(len(batch), dtype=np.bool_))

    def drawing(self, on_top: Drawing | None = None) -> Drawing:
        """A drawing again: each shape at its row's level in the stack, an outline above its fill; `on_top` last."""
        every = together(self.batches)
        index = np.flatnonzero(np.concatenate(self.remaining))
        if on_top is None and len(self.batches) == 1 and len(index) == len(every):
            return every.base.drawing
        order = index[np.argsort(2 * every.row[index] + (every.role[index] >= OUTLINE_ONLY), kind="stable")]
        chosen = every.select(order)
        base, upper = every.base.drawing, on_top if on_top is not None else every.base.drawing.select([])
        looks = columns(chosen)
        return base.replace(
            coords=np.concatenate([chosen.coords, upper.coords]),
            parts=offsets(np.concatenate([np.diff(chosen.parts), np.diff(upper.parts)])),
            shapes=offsets(np.concatenate([np.diff(chosen.shapes), np.diff(upper.shapes)])),
            **{name: np.concatenate([looks[name], getattr(upper, name)]) for name in COLUMNS},
        )


def columns(detached: DetachedShapes) -> dict[str, Any]:
    """What each detached shape looks like: its row's looks, without what it lost."""
    base = detached.base.drawing
    values = {name: getattr(base, name)[detached.row] for name in COLUMNS}
    for name in ("fill_gradient", "stroke_gradient"):
        for move, matrix in enumerate(detached.moves):
            if matrix != IDENTITY:
                here = detached.move == move
                values[name][here] = moved_gradients(values[name][here], matrix)
    fill, outline = detached.role == FILL_ONLY, detached.role >= OUTLINE_ONLY
    hairline = min(marker.tip for marker in base.job.markers)  # no broader, or it would hide what lies beside it
    bare_outline = (outline & detached.base.bare[detached.row]) | (detached.role == CLOSING_ONLY)
    values["stroke"][bare_outline] = values["fill"][bare_outline]
    values["stroke_width"][bare_outline] = hairline
    values["stroke_opacity"][bare_outline] = values["fill_opacity"][bare_outline]
    values["stroke_gradient"][bare_outline] = values["fill_gradient"][bare_outline]
    values["cut_edge"][bare_outline] = True
    values["fill"][outline], values["fill_gradient"][outline], values["fill_pattern"][outline] = "", None, False
    values["stroke"][fill], values["stroke_gradient"][fill] = "", None
    values["stroke_width"][fill] = 0.0
    values["marker"][fill] = NO_MARKER
    return values
