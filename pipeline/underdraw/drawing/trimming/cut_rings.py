"""Rings of filled shapes cut to a box, for either fill rule.

Sutherland and Hodgman, 'Reentrant polygon clipping', Communications of the ACM 17 (1974). Where it leaves edges that
run along the box there and back, they enclose nothing under either fill rule.
"""

import numpy as np

from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import DECIMALS
from underdraw.drawing.ragged import Floats, Ints, Ragged, offsets


def closed_rings(coords: Floats, parts: Ints, source: Ints) -> Ragged:
    """Every polyline of coords (n, 2) and offsets (p + 1,) as a ring without its closing point.

    Fewer than three points enclose nothing and are dropped.
    """
    counts = np.diff(parts)
    first, last = parts[:-1], np.maximum(parts[1:] - 1, parts[:-1])
    shut = np.zeros(len(counts), dtype=np.bool_)
    is_line = counts > 1
    shut[is_line] = (coords[first[is_line]] == coords[last[is_line]]).all(axis=1)
    counts = counts - shut
    keep = np.flatnonzero(counts >= 3)
    new = offsets(counts[keep])
    index = np.arange(new[-1]) + np.repeat(first[keep] - new[:-1], counts[keep])
    return Ragged(coords[index], new, source[keep])


def trim_rings(rings: Ragged, box: Box) -> Ragged:
    """Rings (no closing point) cut to a box, as closed rings."""
    for axis, limit, sign in ((0, box[0], 1.0), (0, box[2], -1.0), (1, box[1], 1.0), (1, box[3], -1.0)):
        rings = half_plane(rings, axis, limit, sign)
    counts = np.diff(rings.offsets)
    index = np.arange(len(rings.coords)) if not len(counts) else None
    if index is None:
        ends = rings.offsets[:-1]
        index = np.insert(np.arange(len(rings.coords)), rings.offsets[1:], ends)
    return Ragged(np.round(rings.coords[index], DECIMALS), offsets(counts + 1), rings.source)


def half_plane(rings: Ragged, axis: int, limit: float, sign: float) -> Ragged:
    """Rings cut to where sign * (coordinate - limit) >= 0."""
    coords, counts = rings.coords, np.diff(rings.offsets)
    if not len(coords):
        return rings
    depth = sign * (coords[:, axis] - limit)
    if (depth >= 0).all():
        return rings
    following = np.arange(1, len(coords) + 1)
    following[rings.offsets[1:] - 1] = rings.offsets[:-1]
    inside = depth >= 0
    crosses = inside != inside[following]
    share = np.where(crosses, depth / np.where(crosses, depth - depth[following], 1.0), 0.0)
    meet = coords + share[:, None] * (coords[following] - coords)
    meet[:, axis] = limit
    ring_of_segment = np.repeat(np.arange(len(counts)), counts)
    both = np.stack([coords, meet], axis=1).reshape(-1, 2)
    keep = np.stack([inside, crosses], axis=1).reshape(-1)
    left = np.bincount(ring_of_segment.repeat(2)[keep], minlength=len(counts))
    alive = left >= 3
    keep &= alive[ring_of_segment].repeat(2)
    return Ragged(both[keep], offsets(left[alive]), rings.source[alive])
