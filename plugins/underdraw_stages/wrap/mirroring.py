"""Mirror: a side shows the border band of what lies inside its fold, reflected there, each line going on as one."""

import numpy as np

from underdraw.drawing import COLUMNS, Drawing, gather, offsets
from underdraw.trim import assemble, trim
from underdraw.trim.lines import strung
from underdraw.trim.ragged import Floats, Ints, Mask, part_bounds
from underdraw_stages.wrap.side_frame import SideFrame


def mirror(drawing: Drawing, fold: SideFrame) -> Drawing:
    """A drawing that lies inside the fold, with its border band reflected beyond it.

    A line that ends on the fold goes on as its own reflection, in one stroke. What runs along the fold is not doubled.
    Each reflection lies right above its original, so that on the side, too, the same shapes hide the same lines.
    """
    rows = np.flatnonzero(touching(drawing, fold))
    if not len(rows):
        return drawing
    band = trim(drawing.select(rows), [fold.band()])
    image = band.drawing.replace(coords=fold.reflect(band.drawing.coords))
    source = rows[band.source]
    image, source = off_the_fold(image, source, fold)
    joined, rest, source = join(drawing, image, source, fold)
    return assemble([(joined, np.arange(len(joined)), 0), (rest, source, 1)])[0]


def touching(drawing: Drawing, fold: SideFrame) -> Mask:
    """(s,) which shapes reach into the band."""
    bounds, (x0, y0, x1, y1) = part_bounds(drawing.coords, drawing.parts), fold.band()
    reaches = (bounds[:, 0] <= x1) & (bounds[:, 2] >= x0) & (bounds[:, 1] <= y1) & (bounds[:, 3] >= y0)
    count = np.concatenate([[0], np.cumsum(reaches)])
    return np.asarray(count[drawing.shapes[1:]] > count[drawing.shapes[:-1]])


def off_the_fold(image: Drawing, source: Ints, fold: SideFrame) -> tuple[Drawing, Ints]:
    """A reflection less its lines that run along the fold, where the original has them already."""
    on = image.coords[:, fold.axis] == fold.at
    if not (on[1:] & on[:-1]).any():
        return image, source
    counts = np.diff(image.parts)
    owner = np.repeat(np.arange(len(counts)), np.maximum(counts - 1, 0))
    start = np.arange(len(owner)) + np.repeat(
        image.parts[:-1] - offsets(np.maximum(counts - 1, 0))[:-1], np.maximum(counts - 1, 0)
    )
    of_part = np.repeat(np.arange(len(image)), np.diff(image.shapes))
    line = image.fill == ""
    kept = ~(on[start] & on[start + 1] & line[of_part[owner]])
    goes_on = np.zeros(len(kept), dtype=np.bool_)
    goes_on[1:] = kept[:-1] & (owner[1:] == owner[:-1])
    pieces = strung(image.coords[start[kept]], image.coords[start[kept] + 1], goes_on[kept], of_part[owner[kept]])
    return regrouped(image, source, pieces.coords, np.diff(pieces.offsets), pieces.source)


def regrouped(image: Drawing, source: Ints, coords: Floats, counts: Ints, shape: Ints) -> tuple[Drawing, Ints]:
    """A drawing of other parts: (p,) points of each and the shape it belongs to, in order; empty shapes are dropped."""
    rows, parts_of = np.unique(shape, return_counts=True)
    columns = {name: getattr(image, name)[rows] for name in COLUMNS}
    made = image.replace(coords=coords, parts=offsets(counts), shapes=offsets(parts_of), **columns)
    return made, source[rows]


def join(drawing: Drawing, image: Drawing, source: Ints, fold: SideFrame) -> tuple[Drawing, Drawing, Ints]:
    """Lines joined to their reflections where they end on the fold: (drawing, the rest of the image, its source)."""
    before, after = pairs(drawing, image, source, fold)
    coords = np.concatenate([drawing.coords, image.coords])
    shift = len(drawing.coords)
    first, count = drawing.parts[:-1], np.diff(drawing.parts)
    image_last, image_count = image.parts[1:] - 1 + shift, np.diff(image.parts)
    starts, counts, steps = (np.zeros((len(first), 3), dtype=np.int64) for _ in range(3))
    starts[:, 1], counts[:, 1], steps[:, 1] = first, count, 1
    for column, partner in ((0, before), (2, after)):  # a reflection runs the other way, and shares the fold's point
        has = partner >= 0
        mate = partner[has]
        starts[has, column] = image_last[mate] - (1 if column == 2 else 0)
        counts[has, column] = image_count[mate] - 1
        steps[has, column] = -1
    index = runs(starts.ravel(), counts.ravel(), steps.ravel())
    joined = drawing.replace(coords=coords[index], parts=offsets(counts.sum(axis=1)))
    left = np.ones(len(image_count), dtype=np.bool_)
    left[before[before >= 0]] = False
    left[after[after >= 0]] = False
    of_part = np.repeat(np.arange(len(image)), np.diff(image.shapes))
    kept = np.flatnonzero(left)
    chosen, _ = gather(image.parts, kept)
    rest, rest_source = regrouped(image, source, image.coords[chosen], image_count[kept], of_part[kept])
    return joined, rest, rest_source


def pairs(drawing: Drawing, image: Drawing, source: Ints, fold: SideFrame) -> tuple[Ints, Ints]:
    """(p,) for each part of the drawing, which part of the image goes before its first and after its last point; or -1.

    Both lie in lines of the same shape, and meet on the fold. No part is used twice.
    """
    shape = np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes))
    image_shape = np.repeat(np.arange(len(image)), np.diff(image.shapes))
    open_line = (drawing.fill[shape] == "") & ~drawing.part_closed() & (np.diff(drawing.parts) > 1)
    image_line = (image.fill[image_shape] == "") & ~image.part_closed() & (np.diff(image.parts) > 1)
    found = []
    for end in (1, 0):  # a line whose reflection meets it at both ends is joined at its last point, and is closed
        at = drawing.coords[drawing.parts[end:][: len(shape)] - end]
        image_at = image.coords[image.parts[end:][: len(image_shape)] - end]
        here = np.flatnonzero(open_line & (at[:, fold.axis] == fold.at))
        there = np.flatnonzero(image_line & (image_at[:, fold.axis] == fold.at))
        matched = matching(
            shape[here], at[here, 1 - fold.axis], source[image_shape[there]], image_at[there, 1 - fold.axis]
        )
        partner = np.full(len(shape), -1, dtype=np.int64)
        partner[here[matched >= 0]] = there[matched[matched >= 0]]
        found.append(partner)
        image_line[partner[partner >= 0]] = False
    return found[1], found[0]


def matching(shape: Ints, place: Floats, other_shape: Ints, other_place: Floats) -> Ints:
    """(n,) which of the others has the same shape and place, one each, or -1."""
    keys = np.column_stack([np.concatenate([shape, other_shape]), np.concatenate([place, other_place])])
    if not len(keys):
        return np.empty(0, dtype=np.int64)
    _, group = np.unique(keys, axis=0, return_inverse=True)
    group = group.reshape(-1)
    n = len(shape)
    own, other = ranked(group[:n]), ranked(group[n:])
    width = max(own.max(initial=0), other.max(initial=0)) + 1
    own_key, other_key = group[:n] * width + own, group[n:] * width + other
    order = np.argsort(other_key)
    at = np.searchsorted(other_key[order], own_key)
    at_safe = np.minimum(at, max(len(order) - 1, 0))
    if not len(order):
        return np.full(n, -1, dtype=np.int64)
    return np.where(other_key[order][at_safe] == own_key, order[at_safe], -1).astype(np.int64)


def ranked(group: Ints) -> Ints:
    """(n,) how many of the same group come before each."""
    order = np.argsort(group, kind="stable")
    ordered = group[order]
    begins = np.flatnonzero(np.append(True, ordered[1:] != ordered[:-1])) if len(group) else np.empty(0, dtype=np.int64)
    lengths = np.diff(np.append(begins, len(group)))
    rank = np.empty(len(group), dtype=np.int64)
    rank[order] = np.arange(len(group)) - np.repeat(begins, lengths)
    return rank


def runs(starts: Ints, counts: Ints, steps: Ints) -> Ints:
    """The indices start, start + step, … of each run, one run after the other."""
    within = np.arange(counts.sum()) - np.repeat(offsets(counts)[:-1], counts)
    return np.asarray(np.repeat(starts, counts) + np.repeat(steps, counts) * within)
