"""Lines that merge: where two lines, or two parts of one, run side by side nearer than their ink is wide.

Near a point where they meet, lines come near each other as they must: three widths from there on each line are no
fault. So two lines that meet at 10 degrees or more never merge, and a wedge of 5 degrees does.
"""

import itertools
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.groups import connected
from underdraw.drawing.lines.intervals import union
from underdraw.drawing.ragged import row_positions
from underdraw_stages.inspect.found.line_pieces import Pieces
from underdraw_stages.inspect.found.meetings import blocks, keys, meetings_of, near_a_meeting
from underdraw_stages.inspect.found.spot import Spot

LONGER_THAN = 3.0  # widths of the ink that lines run beside each other
FROM_MEETING = 6.0  # widths along both lines together, by way of where they meet
SIDE_BY_SIDE = 0.5  # sine of the angle between lines that run beside each other: 30 degrees
STRAIGHT = 0.97  # chord to length of a stretch that has one direction
ACROSS = 0.77  # sine between two such stretches that nowhere run side by side: 50 degrees
PAIRS = 2_000_000  # pairs of pieces looked at together, to bound memory
MOST_PAIRS = 150_000_000  # of pieces: half a minute, and a gigabyte where most of them are near
PAST = 0.5  # of a piece: how far past its end another one is still beside it
BRIDGED = 0.7  # widths: a shorter gap in a stretch is none


class TooDense(Exception):
    """Lines run beside each other all over: every pair of pieces would take too long."""


@dataclass(frozen=True, eq=False)
class Near:
    """(k,) pairs of pieces that are too near each other, and the mm between them."""

    one: NDArray[np.int64]
    other: NDArray[np.int64]
    gap: NDArray[np.float64]


def merging_spots(pieces: Pieces) -> list[Spot]:
    """Every spot where lines merge. Raises TooDense for a drawing that is ink all over."""
    near = pieces_too_near(pieces)
    if not len(near.one):
        return []
    run = runs_of(pieces, near)
    return spots_of(pieces, near, run) if (run >= 0).any() else []


def pieces_too_near(pieces: Pieces) -> Near:
    """Pairs of pieces that run side by side nearer than their ink is wide, away from where their lines meet."""
    stretches = stretches_near(pieces)
    beside = stretches[:, ~crosswise(pieces, stretches)]
    counts = np.diff(pieces.stretch_of)
    sizes = counts[beside[0]] * counts[beside[1]]
    if sizes.sum() > MOST_PAIRS:
        raise TooDense
    found = [_near_in(pieces, beside[:, block]) for block in blocks(sizes, PAIRS)]
    if not found:
        none = np.empty(0, dtype=np.int64)
        return Near(none, none, np.empty(0))
    one, other, gap = (np.concatenate([getattr(each, name) for each in found]) for name in ("one", "other", "gap"))
    stroke_one, stroke_other = pieces.stroke[one], pieces.stroke[other]
    low, high = np.minimum(stroke_one, stroke_other), np.maximum(stroke_one, stroke_other)
    meetings = meetings_of(pieces, stretches, np.unique(keys(pieces, low, high)))
    within = FROM_MEETING * (pieces.width[stroke_one] + pieces.width[stroke_other]) / 2
    away = ~near_a_meeting(pieces, meetings, one, other, within)
    return Near(one[away], other[away], gap[away])


def stretches_near(pieces: Pieces) -> NDArray[np.int64]:
    """(2, k) pairs of stretches that come nearer than their ink is wide, other than neighbours along one stroke."""
    first = pieces.stretch_of[:-1]
    half = pieces.width[pieces.stroke[first]] / 2
    bounds = shapely.bounds(pieces.stretch)
    boxes = shapely.box(*(bounds + half[:, None] * np.array([-1.0, -1.0, 1.0, 1.0])).T)
    tree = shapely.STRtree(boxes)
    found = []
    for begin in range(0, len(boxes), 50_000):
        a, b = tree.query(boxes[begin : begin + 50_000])
        a = a + begin
        later = a + 1 < b  # a neighbour on one stroke is nearer along it than FROM_MEETING
        later |= (a < b) & (pieces.stroke[first[a]] != pieces.stroke[first[b]])
        found.append(np.stack([a[later], b[later]]))
    pairs = np.concatenate(found, axis=1) if found else np.empty((2, 0), dtype=np.int64)
    near = shapely.dwithin(pieces.stretch[pairs[0]], pieces.stretch[pairs[1]], half[pairs[0]] + half[pairs[1]])
    return pairs[:, near]


def crosswise(pieces: Pieces, pairs: NDArray[np.int64]) -> NDArray[np.bool_]:
    """(k,) whether two stretches are straight enough, and steep enough to each other, to run beside nowhere."""
    chord = pieces.end[pieces.stretch_of[1:] - 1] - pieces.start[pieces.stretch_of[:-1]]
    reach = np.hypot(*chord.T)
    straight = reach > STRAIGHT * shapely.length(pieces.stretch)
    a, b = pairs
    cross = np.abs(chord[a, 0] * chord[b, 1] - chord[a, 1] * chord[b, 0])
    return np.asarray(straight[a] & straight[b] & (cross > ACROSS * reach[a] * reach[b]))


def _near_in(pieces: Pieces, pairs: NDArray[np.int64]) -> Near:
    """The same within some pairs of stretches; meetings of two strokes are not looked at yet."""
    counts = np.diff(pieces.stretch_of)
    size_a, size_b = counts[pairs[0]], counts[pairs[1]]
    pair = np.repeat(np.arange(pairs.shape[1]), size_a * size_b)
    within = row_positions(size_a * size_b)
    one = pieces.stretch_of[pairs[0]][pair] + within // size_b[pair]
    other = pieces.stretch_of[pairs[1]][pair] + within % size_b[pair]
    middle, step = pieces.middle, pieces.end - pieces.start
    length = pieces.piece_length
    most = (pieces.width[pieces.stroke[one]] + pieces.width[pieces.stroke[other]]) / 2
    offset = middle[other] - middle[one]
    hopeful = (offset**2).sum(axis=1) < (most + (length[one] + length[other]) / 2) ** 2
    one, other, most = one[hopeful], other[hopeful], most[hopeful]
    sine = np.abs(step[one, 0] * step[other, 1] - step[one, 1] * step[other, 0]) / (length[one] * length[other])
    gap, faces = _to_piece(middle[one], pieces.start[other], step[other], length[other])
    back, faced = _to_piece(middle[other], pieces.start[one], step[one], length[one])
    gap = np.minimum(gap, back)
    beside = (sine < SIDE_BY_SIDE) & (gap < most) & (faces | faced)
    same = pieces.stroke[one] == pieces.stroke[other]
    beside &= ~same | (pieces.between(one, other) >= FROM_MEETING * most)
    return Near(one[beside], other[beside], gap[beside])


def _to_piece(
    point: NDArray[np.float64], start: NDArray[np.float64], step: NDArray[np.float64], length: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """(k,) mm from points to straight pieces, and whether each is beside it, or hardly past its end."""
    share = ((point - start) * step).sum(axis=1) / length**2
    gap = np.hypot(*(point - start - np.clip(share, 0.0, 1.0)[:, None] * step).T)
    return np.asarray(gap), np.asarray((share > -PAST) & (share < 1 + PAST))


def runs_of(pieces: Pieces, near: Near) -> NDArray[np.int64]:
    """(p,) the stretch of its line, long enough to see, in which a piece is too near another line; -1 for none."""
    touched = np.unique(np.concatenate([near.one, near.other]))
    half = pieces.piece_length / 2
    begin_of_stroke = np.concatenate([[0.0], np.cumsum(pieces.length + 1000.0)[:-1]])  # all on one axis, far apart
    at = begin_of_stroke[pieces.stroke] + pieces.position
    spans = np.stack([at - half, at + half], axis=1)
    gap = BRIDGED * float(pieces.width.max())
    runs = union(spans[touched], gap)
    run = np.full(len(at), -1, dtype=np.int64)
    run[touched] = np.searchsorted(runs[:, 0], at[touched], side="right") - 1
    length = np.bincount(run[touched], (2 * half)[touched], minlength=len(runs))
    width = np.zeros(len(runs))
    width[run[touched]] = pieces.width[pieces.stroke[touched]]
    long_enough = length > LONGER_THAN * width
    run[touched] = np.where(long_enough[run[touched]], run[touched], -1)
    return run


def spots_of(pieces: Pieces, near: Near, run: NDArray[np.int64]) -> list[Spot]:
    """Runs beside each other as one spot."""
    a, b = run[near.one], run[near.other]
    held = (a >= 0) | (b >= 0)
    one, other, gap, a, b = near.one[held], near.other[held], near.gap[held], a[held], b[held]
    both = (a >= 0) & (b >= 0)
    group = connected(int(run.max(initial=-1)) + 1, a[both], b[both])
    least = np.full(len(run), np.inf)
    np.minimum.at(least, one, gap)
    np.minimum.at(least, other, gap)
    members = np.flatnonzero(run >= 0)
    spot_of = group[run[members]]
    order = np.argsort(spot_of, kind="stable")
    members, spot_of = members[order], spot_of[order]
    pair_spot = np.where(a >= 0, group[np.maximum(a, 0)], group[np.maximum(b, 0)])
    strokes_of: dict[int, set[int]] = {}
    count = len(pieces.width)
    both_ways = (np.unique(pair_spot * count + pieces.stroke[side]) for side in (one, other))
    touching = np.unique(np.concatenate(list(both_ways)))
    for spot, stroke in zip((touching // count).tolist(), (touching % count).tolist(), strict=True):
        strokes_of.setdefault(spot, set()).add(stroke)
    bounds = np.flatnonzero(np.concatenate([[True], spot_of[1:] != spot_of[:-1], [True]]))
    return [
        _spot(pieces, members[begin:end], least, sorted(strokes_of[int(spot_of[begin])]))
        for begin, end in itertools.pairwise(bounds)
    ]


def _spot(pieces: Pieces, members: NDArray[np.int64], least: NDArray[np.float64], strokes: list[int]) -> Spot:
    length = pieces.piece_length[members]
    points = pieces.middle[members]
    centre = (points.min(axis=0) + points.max(axis=0)) / 2
    worst = int(np.argmin(np.hypot(*(points - centre).T)))  # the piece nearest to the middle of them all
    x, y = points[worst].tolist()
    across = float(np.hypot(*np.ptp(np.concatenate([pieces.start[members], pieces.end[members]]), axis=0)))
    lines = shapely.linestrings(np.stack([pieces.start[members], pieces.end[members]], axis=1))
    return Spot(
        kind="merge",
        at=(x, y),
        strokes=np.array(strokes, dtype=np.int64) + 1,
        length=float(length.sum()),
        size=across,
        pieces=np.stack([length, least[members]], axis=1),
        outline=shapely.line_merge(shapely.multilinestrings(lines)),
    )
