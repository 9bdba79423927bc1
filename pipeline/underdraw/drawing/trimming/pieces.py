"""Shapes taken loose from their drawing, so that many steps can cut and copy them before a drawing is made again.

A loose shape knows the row of the drawing that it came from, whose looks it keeps, and what is left of it: all of it,
a cover (its fill, which hides what lies beneath and is nobody's line), or a line (its outline, which hides nothing).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Self

import numpy as np

from underdraw.drawing.drawing import COLUMNS, NO_MARKER, Drawing
from underdraw.drawing.ragged import Floats, Ints, Mask, gather, offsets, part_bounds

WHOLE, COVER, LINE = 0, 1, 2


@dataclass(frozen=True, eq=False)
class Base:
    """The drawing that loose shapes came from, and which of its rows are filled, and filled without a stroke."""

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
class Loose:
    """Loose shapes: coords (n, 2), parts (p + 1,), shapes (s + 1,), row (s,) of `base`, role (s,)."""

    base: Base
    coords: Floats
    parts: Ints
    shapes: Ints
    row: Ints
    role: Ints

    @classmethod
    def of(cls, drawing: Drawing) -> Self:
        """All shapes of a drawing."""
        role = np.where(drawing.marker == NO_MARKER, COVER, WHOLE).astype(np.int64)
        return cls(Base(drawing), drawing.coords, drawing.parts, drawing.shapes, np.arange(len(drawing)), role)

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
        return np.asarray(self.base.filled[self.row] & (self.role != LINE))

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
        )

    def with_parts(self, coords: Floats, counts: Ints, shape: Ints, role: int | None = None) -> Self:
        """Other parts: (p,) points of each, and which of today's shapes it belongs to, in order; empty shapes go."""
        kept, parts_of = np.unique(shape, return_counts=True)
        roles = self.role[kept] if role is None else np.full(len(kept), role, dtype=np.int64)
        return replace(
            self, coords=coords, parts=offsets(counts), shapes=offsets(parts_of), row=self.row[kept], role=roles
        )

    def moved(self, coords: Floats) -> Self:
        """The same shapes with other coordinates, (n, 2) mm."""
        return replace(self, coords=coords)


def together(loose: Sequence[Loose]) -> Loose:
    """All of them, one after the other; all come from one drawing."""
    if len(loose) == 1:
        return loose[0]
    return replace(
        loose[0],
        coords=np.concatenate([item.coords for item in loose]),
        parts=offsets(np.concatenate([np.diff(item.parts) for item in loose])),
        shapes=offsets(np.concatenate([np.diff(item.shapes) for item in loose])),
        row=np.concatenate([item.row for item in loose]),
        role=np.concatenate([item.role for item in loose]),
    )


@dataclass(eq=False)
class Pile:
    """Loose shapes in heaps, some of them taken away since: steps add heaps and never copy the large ones."""

    heaps: list[Loose]
    held: list[Mask] = field(default_factory=list)

    @classmethod
    def of(cls, drawing: Drawing) -> Self:
        """All shapes of a drawing."""
        return cls([Loose.of(drawing)], [np.ones(len(drawing), dtype=np.bool_)])

    def add(self, loose: Sequence[Loose]) -> None:
        """Put shapes on the pile."""
        filled = [item for item in loose if len(item)]
        if filled:
            heap = together(filled)
            self.heaps.append(heap)
            self.held.append(np.ones(len(heap), dtype=np.bool_))

    def drawing(self, on_top: Drawing | None = None) -> Drawing:
        """A drawing again: each shape in its row's place in the stack, a line above its cover; `on_top` above all."""
        every = together(self.heaps)
        index = np.flatnonzero(np.concatenate(self.held))
        if on_top is None and len(self.heaps) == 1 and len(index) == len(every):
            return every.base.drawing
        order = index[np.argsort(2 * every.row[index] + (every.role[index] == LINE), kind="stable")]
        chosen = every.select(order)
        base, upper = every.base.drawing, on_top if on_top is not None else every.base.drawing.select([])
        looks = columns(chosen)
        return base.replace(
            coords=np.concatenate([chosen.coords, upper.coords]),
            parts=offsets(np.concatenate([np.diff(chosen.parts), np.diff(upper.parts)])),
            shapes=offsets(np.concatenate([np.diff(chosen.shapes), np.diff(upper.shapes)])),
            **{name: np.concatenate([looks[name], getattr(upper, name)]) for name in COLUMNS},
        )


def columns(loose: Loose) -> dict[str, Any]:
    """What each loose shape looks like: its row's looks, without what it lost."""
    base = loose.base.drawing
    held = {name: getattr(base, name)[loose.row] for name in COLUMNS}
    cover, line = loose.role == COVER, loose.role == LINE
    hairline = min(marker.tip for marker in base.job.markers)  # no broader, or it would hide what lies beside it
    bare_line = line & loose.base.bare[loose.row]
    held["stroke"][bare_line] = held["fill"][bare_line]
    held["stroke_width"][bare_line] = hairline
    held["stroke_opacity"][bare_line] = held["fill_opacity"][bare_line]
    held["cut_edge"][bare_line] = True
    held["fill"][line] = ""
    held["stroke"][cover] = ""
    held["stroke_width"][cover] = 0.0
    held["marker"][cover] = NO_MARKER
    return held
