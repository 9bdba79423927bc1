"""Polylines cut to boxes, each cut end exactly on the edge.

Liang and Barsky, 'A new concept and method for line clipping', ACM Transactions on Graphics 3 (1984).
"""

from collections.abc import Sequence

import numpy as np

from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import DECIMALS
from underdraw.drawing.ragged import Floats, Ints, Mask, Ragged, gather, offsets


def trim_lines(coords: Floats, parts: Ints, boxes: Sequence[Box]) -> Ragged:
    """Polylines within the boxes (closed; two at most may overlap); a piece from one box into the next stays one.

    A closed polyline that is cut gives open pieces, none of which ends where the input happened to begin. A dot (no
    length) inside is kept.
    """
    coords, parts = dots_as_lines(coords, parts)
    counts = np.diff(parts)
    line_of_segment = np.repeat(np.arange(len(counts)), np.maximum(counts - 1, 0))
    start = np.arange(len(line_of_segment)) + np.repeat(
        parts[:-1] - offsets(np.maximum(counts - 1, 0))[:-1], np.maximum(counts - 1, 0)
    )
    a, b = coords[start], coords[start + 1]
    segment, low, high = merged_shares([share_in_box(a, b, box) for box in boxes])
    step = (b - a)[segment]
    begins = np.round(a[segment] + low[:, None] * step, DECIMALS)
    ends = np.round(a[segment] + high[:, None] * step, DECIMALS)
    ends[high == 1.0] = b[segment[high == 1.0]]
    goes_on = np.zeros(len(segment), dtype=np.bool_)
    goes_on[1:] = (segment[1:] == segment[:-1] + 1) & (low[1:] == 0.0) & (high[:-1] == 1.0)
    goes_on[1:] &= line_of_segment[segment[1:]] == line_of_segment[segment[:-1]]
    return seamless(strung(begins, ends, goes_on, line_of_segment[segment]), coords, parts)


def dots_as_lines(coords: Floats, parts: Ints) -> tuple[Floats, Ints]:
    """Coords (n, 2) and offsets (p + 1,) with each part of one point given that point twice, for a segment."""
    counts = np.diff(parts)
    if not (counts == 1).any():
        return coords, parts
    times = np.repeat(np.where(counts == 1, 2, 1), counts)
    return np.repeat(coords, times, axis=0), offsets(np.where(counts == 1, 2, counts))


def strung(begins: Floats, ends: Floats, goes_on: Mask, line_of_segment: Ints) -> Ragged:
    """Segments, (n, 2) begins and ends, strung into polylines: each that goes on, (n,), shares the point before it."""
    both = np.stack([begins, ends], axis=1).reshape(-1, 2)
    keep = np.stack([~goes_on, np.ones_like(goes_on)], axis=1).reshape(-1)
    first = np.flatnonzero(~goes_on)
    return Ragged(both[keep], offsets(np.diff(np.append(first, len(begins))) + 1), line_of_segment[first])


def without_edges(lines: Ragged, boxes: Sequence[Box], wanted: Mask) -> Ragged:
    """Polylines less what runs along the outer edge of the boxes, where `wanted` (p,) is true."""
    if not wanted.any():
        return lines
    steps = np.diff(lines.offsets) - 1
    line_of_segment = np.repeat(np.arange(len(lines)), steps)
    start = (
        np.arange(len(line_of_segment)) + line_of_segment
    )  # each polyline before it has one more point than it has segments
    a, b = lines.coords[start], lines.coords[start + 1]
    kept = ~(along_edge(a, b, boxes) & wanted[line_of_segment])
    if kept.all():
        return lines
    goes_on = np.zeros(len(kept), dtype=np.bool_)
    goes_on[1:] = kept[:-1] & (line_of_segment[1:] == line_of_segment[:-1])
    pieces = strung(a[kept], b[kept], goes_on[kept], line_of_segment[kept])
    pieces = seamless(pieces, lines.coords, lines.offsets)
    return Ragged(pieces.coords, pieces.offsets, lines.source[pieces.source])


def share_in_box(a: Floats, b: Floats, box: Box) -> tuple[Floats, Floats]:
    """Which share of each segment a-b lies in the closed box, from and to; from > to where none does (Liang-Barsky)."""
    low, high = np.zeros(len(a)), np.ones(len(a))
    for axis, (least, most) in enumerate(((box[0], box[2]), (box[1], box[3]))):
        delta = b[:, axis] - a[:, axis]
        still = delta == 0.0
        safe = np.where(still, 1.0, delta)
        to_least, to_most = (least - a[:, axis]) / safe, (most - a[:, axis]) / safe
        enter, leave = np.minimum(to_least, to_most), np.maximum(to_least, to_most)
        out = still & ((a[:, axis] < least) | (a[:, axis] > most))
        low = np.where(still, low, np.maximum(low, enter))
        high = np.where(still, np.where(out, -1.0, high), np.minimum(high, leave))
    return low, high


def merged_shares(shares: Sequence[tuple[Floats, Floats]]) -> tuple[Ints, Floats, Floats]:
    """Shares of each segment in any box, in order along it: (segment, from, to). Mere touches are left out."""
    low, high = shares[0]
    extra: list[tuple[Ints, Floats, Floats]] = []
    for other_low, other_high in shares[1:]:
        none, other_none = low > high, other_low > other_high
        separate = ~none & ~other_none & ((other_low > high) | (low > other_high))
        where = np.flatnonzero(separate)
        extra.append((where, other_low[where], other_high[where]))
        take = other_none | separate
        low, high = (
            np.where(take, low, np.where(none, other_low, np.minimum(low, other_low))),
            np.where(take, high, np.where(none, other_high, np.maximum(high, other_high))),
        )
    every = [(np.arange(len(low)), low, high), *extra]
    segment, low, high = (np.concatenate([item[column] for item in every]) for column in range(3))
    keep = np.flatnonzero(high > low)
    order = keep[np.lexsort((low[keep], segment[keep]))] if extra else keep
    return segment[order], low[order], high[order]


def along_edge(a: Floats, b: Floats, boxes: Sequence[Box]) -> Mask:
    """(n,) which segments run along the edge of a box and are not inside another."""
    along = np.zeros(len(a), dtype=np.bool_)
    within = np.zeros(len(a), dtype=np.bool_)
    middle = (a + b) / 2
    for x0, y0, x1, y1 in boxes:
        for axis, limit in ((0, x0), (0, x1), (1, y0), (1, y1)):
            along |= (a[:, axis] == limit) & (b[:, axis] == limit)
        x, y = middle.T
        within |= (x > x0) & (x < x1) & (y > y0) & (y < y1)
    return along & ~within


def seamless(pieces: Ragged, coords: Floats, parts: Ints) -> Ragged:
    """Join the last piece of a closed polyline to its first where both are at the point it began with."""
    if not len(pieces):
        return pieces
    same = pieces.source[1:] == pieces.source[:-1]
    first = np.flatnonzero(np.append(True, ~same))
    last = np.append(first[1:], len(pieces)) - 1
    part = pieces.source[first]
    origin, final = coords[parts[part]], coords[parts[part + 1] - 1]
    begins, ends = pieces.coords[pieces.offsets[first]], pieces.coords[pieces.offsets[last + 1] - 1]
    ring = (
        (origin == final).all(axis=1) & (begins == origin).all(axis=1) & (ends == origin).all(axis=1) & (last > first)
    )
    if not ring.any():
        return pieces
    order = np.arange(len(pieces), dtype=np.float64)
    order[last[ring]] = first[ring] - 0.5  # the last piece goes before the first, which follows on from it
    index, new = gather(pieces.offsets, np.argsort(order, kind="stable"))
    moved = np.zeros(len(pieces), dtype=np.bool_)
    moved[first[ring] + 1] = True  # where the first piece now stands, right after the last
    counts = np.diff(new)
    drop = new[:-1][moved]
    counts[np.flatnonzero(moved) - 1] += counts[moved] - 1
    return Ragged(
        np.delete(pieces.coords[index], drop, axis=0),
        offsets(counts[~moved]),
        pieces.source[~moved],
    )
