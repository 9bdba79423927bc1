"""What the order needs to know of strokes: where each may begin and end; and what an order is."""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import gather, offsets


@dataclass(frozen=True)
class StrokeEnds:
    """n strokes as an order sees them, in mm.

    first, last: (n, 2) ends; a closed stroke has both at its first point. ring_start: (n + 1,) offsets into ring,
    (k, 2): every point that a closed stroke may be entered at; none for an open one.
    """

    first: NDArray[np.float64]
    last: NDArray[np.float64]
    ring_start: NDArray[np.int64]
    ring: NDArray[np.float64]

    @classmethod
    def of(cls, drawing: Drawing) -> Self:
        """The strokes of a drawing of one part a shape, none of them empty."""
        starts, counts = drawing.parts[:-1], np.diff(drawing.parts)
        kept = np.where(drawing.part_closed(), counts - 1, 0)
        ring_start = offsets(kept)
        points = np.arange(ring_start[-1]) + np.repeat(starts - ring_start[:-1], kept)
        return cls(drawing.coords[starts], drawing.coords[drawing.parts[1:] - 1], ring_start, drawing.coords[points])

    @classmethod
    def point(cls, at: ArrayLike, leave: ArrayLike | None = None) -> Self:
        """One stroke from `at` to `leave` (or of no length): how the park position takes part in a tour."""
        leave = at if leave is None else leave
        return cls(np.array([at], float), np.array([leave], float), np.zeros(2, np.int64), np.empty((0, 2)))

    def __len__(self) -> int:
        return len(self.first)

    def subset(self, rows: NDArray[np.int64]) -> Self:
        """Some of them, in this order."""
        points, ring_start = gather(self.ring_start, rows)
        return type(self)(self.first[rows], self.last[rows], ring_start, self.ring[points])

    def with_others(self, others: "StrokeEnds") -> Self:
        """These, then others."""
        return replace(
            self,
            first=np.concatenate([self.first, others.first]),
            last=np.concatenate([self.last, others.last]),
            ring_start=np.concatenate([self.ring_start, self.ring_start[-1] + others.ring_start[1:]]),
            ring=np.concatenate([self.ring, others.ring]),
        )

    def scaled(self, x: float, y: float) -> Self:
        """The same with other scales along x and y."""
        scale = np.array([x, y])
        return replace(self, first=self.first * scale, last=self.last * scale, ring=self.ring * scale)

    @property
    def closed(self) -> NDArray[np.bool_]:
        """(n,) whether each is closed, with more than one point to enter at."""
        return np.asarray(np.diff(self.ring_start) > 1)

    @property
    def pointlike(self) -> NDArray[np.bool_]:
        """(n,) whether each is left where it was entered: closed, or of no length."""
        return np.asarray(self.closed | (self.first == self.last).all(axis=1))

    def circles(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """(n, 2) middles and (n,) radii of circles round each ring; zeros for open self."""
        middle, radius = np.zeros((len(self), 2)), np.zeros(len(self))
        rings = np.flatnonzero(np.diff(self.ring_start) > 0)
        if len(rings):
            starts = self.ring_start[rings]
            low, high = (extreme.reduceat(self.ring, starts, axis=0) for extreme in (np.minimum, np.maximum))
            middle[rings] = (low + high) / 2
            distance = np.hypot(*(self.ring - np.repeat(middle, np.diff(self.ring_start), axis=0)).T)
            radius[rings] = np.maximum.reduceat(distance, starts)
        return middle, radius


@dataclass(frozen=True)
class Plan:
    """An order: which stroke comes when, whether it is drawn from its last point, and where a closed one is entered.

    All (n,) and in drawing order: `order` rows of the strokes, `turned`, `entry` points of rings.
    """

    order: NDArray[np.int64]
    turned: NDArray[np.bool_]
    entry: NDArray[np.int64]

    @classmethod
    def as_drawn(cls, order: NDArray[np.int64]) -> Self:
        """Strokes in this order, each from its own first point."""
        return cls(order, np.zeros(len(order), dtype=np.bool_), np.zeros(len(order), dtype=np.int64))

    def within(self, rows: NDArray[np.int64]) -> "Plan":
        """This plan of a subset, in the indices of the whole that `rows` chose it from."""
        return Plan(rows[self.order], self.turned, self.entry)

    def at(self, positions: NDArray[np.int64]) -> "Plan":
        """Only what comes at these positions of the drawing order."""
        return Plan(self.order[positions], self.turned[positions], self.entry[positions])


def join_plans(plans: list[Plan]) -> Plan:
    """One after the other."""
    if not plans:
        return Plan.as_drawn(np.empty(0, np.int64))
    return Plan(*(np.concatenate([getattr(plan, name) for plan in plans]) for name in ("order", "turned", "entry")))


def ends_of(strokes: StrokeEnds, plan: Plan) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(n, 2) where each stroke of a plan is begun, and (n, 2) where it is left, in drawing order."""
    first, last = strokes.first[plan.order], strokes.last[plan.order]
    closed = strokes.closed[plan.order]
    into = np.where(plan.turned[:, None], last, first)
    out = np.where(plan.turned[:, None], first, last)
    at = strokes.ring[strokes.ring_start[plan.order[closed]] + plan.entry[closed]]
    into[closed] = at
    out[closed] = at
    return into, out


def drawn_in(drawing: Drawing, plan: Plan) -> Drawing:
    """The drawing with its strokes in a plan's order, each from its planned end or entry point."""
    ordered = drawing.select(plan.order)
    starts, counts = ordered.parts[:-1], np.diff(ordered.parts)
    closed = ordered.part_closed()
    stroke_of_point = np.repeat(np.arange(len(ordered)), counts)
    along = np.arange(len(ordered.coords)) - starts[stroke_of_point]
    turned = (plan.turned & ~closed)[stroke_of_point]
    along = np.where(turned, counts[stroke_of_point] - 1 - along, along)
    round_ring = np.where(closed, counts - 1, counts)[stroke_of_point]
    along = np.where(closed[stroke_of_point], (along + plan.entry[stroke_of_point]) % round_ring, along)
    return ordered.replace(coords=ordered.coords[starts[stroke_of_point] + along])
