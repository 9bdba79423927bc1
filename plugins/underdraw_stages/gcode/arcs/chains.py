"""Moves in chains, one after the other where the drawing is smooth: their headings, turns, bends and deviations."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.ragged import offsets
from underdraw_stages.gcode.arcs.longest_arcs import LARGEST_RADIUS_MM

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

WIDEST_HALF_TURN = np.radians(82)  # of an arc in a chain: near half a circle its bend shows too little
HALF_CIRCLE = np.radians(88)
STRAIGHT_SHARE = 4.0  # an edge so many times longer than its neighbours is a straight line of the drawing
LEAST_BACK_MM = 0.002  # how far a point may step back along its chord
MUCH_TOO_FAR_MM = 1e3


@dataclass(frozen=True)
class Chains:
    """Moves in chains: (m,) first and last points, headings' half turn (counter-clockwise above 0), whether straight.

    starts: (c + 1,) which moves each chain has. A move's last point is the next one's first. from_heading, to_heading:
    (c,) of what is joined before and after, nan where the chain may begin and end as it likes.
    """

    first: Index
    last: Index
    half_turn: Array
    straight: Flags
    starts: Index
    from_heading: Array
    to_heading: Array

    @classmethod
    def of(cls, points: Array, first: Index, last: Index, bend: Array, starts: Index) -> "Chains":
        """Of moves with these bends."""
        half = np.hypot(*(points[last] - points[first]).T) / 2
        free = np.full(len(starts) - 1, np.nan)
        return cls(first, last, -np.arctan(2 * half * bend), _straight(points, first, last, bend), starts, free, free)

    def __len__(self) -> int:
        return len(self.starts) - 1

    def replaced(self, rows: Index, other: "Chains", other_rows: Index) -> "Chains":
        """The same with moves in these rows as they are in other rows of another."""
        columns = {}
        for name in ("first", "last", "half_turn", "straight"):
            columns[name] = getattr(self, name).copy()
            columns[name][rows] = getattr(other, name)[other_rows]
        return replace(self, **columns)

    def together(self, *others: "Chains") -> "Chains":
        """These chains and then the others."""
        every = [self, *others]
        names = ("first", "last", "half_turn", "straight", "from_heading", "to_heading")
        columns = {name: np.concatenate([getattr(chains, name) for chains in every]) for name in names}
        return Chains(starts=offsets(np.concatenate([np.diff(chains.starts) for chains in every])), **columns)

    def select(self, chains: Index) -> "Chains":
        """Only these."""
        rows, starts = rows_of(self.starts, chains)
        return Chains(
            self.first[rows],
            self.last[rows],
            self.half_turn[rows],
            self.straight[rows],
            starts,
            self.from_heading[chains],
            self.to_heading[chains],
        )


@dataclass(frozen=True)
class Frames:
    """Points of moves in their chords' frames. owner: (k,) move of each point; half: (m,); u, v: (k,) mm."""

    owner: Index
    begins: Index
    half: Array
    along: Array
    u: Array
    v: Array
    weight: Array

    @classmethod
    def of(cls, points: Array, places: Array, first: Index, last: Index) -> "Frames":
        start, chord = places[first], places[last] - places[first]
        length = np.maximum(np.hypot(*chord.T), 1e-12)
        along = chord / length[:, None]
        counts = last - first + 1
        bounds = np.concatenate([[0], np.cumsum(counts)])
        owner = np.repeat(np.arange(len(first)), counts)
        at = np.arange(bounds[-1]) - bounds[owner] + first[owner]
        spot = points[at] - start[owner]
        u = spot[:, 0] * along[owner, 0] + spot[:, 1] * along[owner, 1] - length[owner] / 2
        v = spot[:, 1] * along[owner, 0] - spot[:, 0] * along[owner, 1]
        step = np.hypot(np.diff(u, prepend=0.0), np.diff(v, prepend=0.0))
        step[bounds[:-1]] = 0.0
        weight = step / 2
        weight[:-1] += step[1:] / 2
        return cls(owner, bounds[:-1].astype(np.int64), length / 2, along, u, v, weight)


def rows_of(starts: Index, chains: Index) -> tuple[Index, Index]:
    """The rows of these chains, and (c + 1,) offsets among them."""
    counts = np.diff(starts)[chains]
    bounds = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    return np.arange(bounds[-1]) + np.repeat(starts[:-1][chains] - bounds[:-1], counts), bounds


def as_turn(angle: Array) -> Array:
    """Angles as turns from -π to π."""
    return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)


def _straight(points: Array, first: Index, last: Index, bend: Array) -> Flags:
    """(m,) moves that are one long edge of the drawing, and no chord of a curve: they stay straight."""
    length = np.hypot(*np.diff(points, axis=0).T)
    before = length[np.maximum(first - 1, 0)]
    after = length[np.minimum(last, len(length) - 1)]
    own = np.hypot(*(points[last] - points[first]).T)
    return np.asarray((bend == 0) & (last - first == 1) & (own > STRAIGHT_SHARE * np.maximum(before, after)))


def headings(places: Array, chains: Chains) -> tuple[Array, Array]:
    """(m,) headings at the start and at the end of each move."""
    chord = places[chains.last] - places[chains.first]
    along = np.arctan2(chord[:, 1], chord[:, 0])
    return along - chains.half_turn, along + chains.half_turn


def turns_at_joins(places: Array, chains: Chains) -> Array:
    """(m,) by how much the way turns where each move begins; 0 where a chain may begin as it likes."""
    start, end = headings(places, chains)
    turn = np.zeros(len(start))
    turn[1:] = np.abs(as_turn(start[1:] - end[:-1]))
    begins = chains.starts[:-1]
    turn[begins] = np.nan_to_num(np.abs(as_turn(start[begins] - chains.from_heading)))
    return turn


def roughest(places: Array, chains: Chains) -> Array:
    """(c,) the greatest turn at a join of each chain."""
    return np.asarray(np.maximum.reduceat(turns_at_joins(places, chains), chains.starts[:-1]))


def bends_of(places: Array, chains: Chains) -> Array:
    half = np.hypot(*(places[chains.last] - places[chains.first]).T) / 2
    bend = -np.tan(chains.half_turn) / np.maximum(2 * half, 1e-12)
    flat = half > LARGEST_RADIUS_MM * np.abs(np.sin(chains.half_turn))
    return np.where(flat | chains.straight, 0.0, bend)


def narrowed(points: Array, chains: Chains) -> Chains:
    """The same with wide arcs halved."""
    return halved(points, chains, np.abs(chains.half_turn) > WIDEST_HALF_TURN)


def halved(points: Array, chains: Chains, which: Flags) -> Chains:
    """The same with these moves in two, at the point in the middle; those of one edge stay."""
    which = which & (chains.last - chains.first > 1)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    middle = np.searchsorted(along, (along[chains.first] + along[chains.last]) / 2)
    middle = np.clip(middle, chains.first + 1, chains.last - 1)
    counts = np.where(which, 2, 1)
    rows = np.repeat(np.arange(len(counts)), counts)
    begins = np.cumsum(counts) - counts
    second = np.zeros(len(rows), dtype=np.bool_)
    second[begins[which] + 1] = True
    split = which[rows]
    first = np.where(second, middle[rows], chains.first[rows])
    last = np.where(split & ~second, middle[rows], chains.last[rows])
    length = along[chains.last] - along[chains.first]
    share = ((along[middle] - along[chains.first]) / length)[rows]
    half_turn = chains.half_turn[rows] * np.where(split, np.where(second, 1 - share, share), 1.0)
    straight = chains.straight[rows] & ~split
    bounds = np.concatenate([[0], np.cumsum(counts)])[chains.starts]
    return Chains(first, last, half_turn, straight, bounds, chains.from_heading, chains.to_heading)


def strays(points: Array, places: Array, chains: Chains) -> Array:
    """(m,) mm that a move leaves the drawing by; much where it runs back on itself."""
    frames = Frames.of(points, places, chains.first, chains.last)
    owner, begins, half, u, v = frames.owner, frames.begins, frames.half, frames.u, frames.v
    bend = bends_of(places, chains)
    curved = bend != 0
    centre = np.where(curved, -1 / np.where(curved, 2 * bend, 1.0), 0.0)
    radius = np.hypot(half, centre)
    height = v - centre[owner]
    apart = np.where(curved[owner], np.abs(np.hypot(u, height) - radius[owner]), np.abs(v))
    leg_u, leg_v = np.diff(u, prepend=0.0), np.diff(v, prepend=0.0)
    leg_u[begins], leg_v[begins] = 0.0, 0.0
    square = np.maximum(leg_u**2 + leg_v**2, 1e-30)
    before_u, before_v = u - leg_u, height - leg_v
    foot = -(before_u * leg_u + before_v * leg_v) / square
    dip = np.abs(np.abs(before_u * height - before_v * u) / np.sqrt(square) - radius[owner])
    between = (foot > 0) & (foot < 1) & curved[owner]
    between[begins] = False
    apart = np.where(between, np.maximum(apart, dip), apart)
    far = np.maximum.reduceat(apart, begins)
    back = np.minimum.reduceat(leg_u, begins) < -LEAST_BACK_MM
    back |= np.minimum.reduceat(v * np.sign(bend)[owner], begins) < -10 * LEAST_BACK_MM
    back |= np.abs(chains.half_turn) > HALF_CIRCLE
    return np.where(back | ~np.isfinite(far), MUCH_TOO_FAR_MM, far)
