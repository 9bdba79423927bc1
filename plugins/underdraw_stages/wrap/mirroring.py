"""Mirror: a side shows the border band of what lies inside its fold, reflected there, each line going on as one."""

import numpy as np

from underdraw.drawing.ragged import Floats, Ints, Mask, all_of, gather, offsets, strictly_within
from underdraw.drawing.trimming import DetachedShapes, ShapeBatches, strung, together, trim_detached
from underdraw_stages.wrap.side_frame import SideFrame


def mirror(batches: ShapeBatches, fold: SideFrame) -> None:
    """Reflect the border band of what lies inside the fold, of all batches, beyond it.

    A line that ends on the fold goes on as its own reflection, in one stroke. What runs along the fold is not doubled.
    Each reflection keeps its original's place in the stack, so that on the side, too, the same shapes hide the same.
    """
    made = []
    for number, batch in enumerate(batches.batches):
        rows = np.flatnonzero(batches.remaining[number] & touching(batch, fold))
        if not len(rows):
            continue
        near = batch.select(rows)
        ending = np.flatnonzero(ends_on(near, fold))
        lines = near.select(ending)
        others = near.select(np.setdiff1d(np.arange(len(near)), ending))
        batches.remaining[number][rows[ending]] = False
        made += [*join(lines, band_of(lines, fold), fold), band_of(others, fold)]
    batches.add(made)


def touching(detached: DetachedShapes, fold: SideFrame) -> Mask:
    """(s,) which shapes reach into the band."""
    bounds, (x0, y0, x1, y1) = detached.bounds, fold.band()
    reaches = (bounds[:, 0] <= x1) & (bounds[:, 2] >= x0) & (bounds[:, 1] <= y1) & (bounds[:, 3] >= y0)
    return ~all_of(~reaches, detached.shapes)


def ends_on(detached: DetachedShapes, fold: SideFrame) -> Mask:
    """(s,) which shapes are lines, one of which ends on the fold."""
    has_line = np.diff(detached.parts) > 1
    ends = np.zeros(len(has_line), dtype=np.bool_)
    for index in (detached.parts[:-1][has_line], detached.parts[1:][has_line] - 1):
        ends[has_line] |= fold.on_fold(detached.coords[index])
    return ~all_of(~(ends & open_lines(detached)), detached.shapes)


def open_lines(detached: DetachedShapes) -> Mask:
    """(p,) which parts are open lines without fill."""
    return ~detached.filled[detached.part_shape] & ~detached.closed() & (np.diff(detached.parts) > 1)


def band_of(detached: DetachedShapes, fold: SideFrame) -> DetachedShapes:
    """The band, reflected; lines along the fold are left out, where the original has them already."""
    inside = all_of(strictly_within(detached.bounds, fold.band()), detached.shapes)
    crossing, _ = trim_detached(detached.select(np.flatnonzero(~inside)), [fold.band()])
    band = together([detached.select(np.flatnonzero(inside)), *crossing])
    return off_the_fold(band.moved(fold.reflect(band.coords), fold.reflection), fold)


def off_the_fold(image: DetachedShapes, fold: SideFrame) -> DetachedShapes:
    """A reflection less its lines that run along the fold."""
    on = fold.on_fold(image.coords)
    if not (on[1:] & on[:-1]).any():
        return image
    steps = np.maximum(np.diff(image.parts) - 1, 0)
    line_of_segment = np.repeat(np.arange(len(steps)), steps)
    start = np.arange(len(line_of_segment)) + np.repeat(image.parts[:-1] - offsets(steps)[:-1], steps)
    line = ~image.filled[image.part_shape]
    kept = ~(on[start] & on[start + 1] & line[line_of_segment])
    goes_on = np.zeros(len(kept), dtype=np.bool_)
    goes_on[1:] = kept[:-1] & (line_of_segment[1:] == line_of_segment[:-1])
    pieces = strung(image.coords[start[kept]], image.coords[start[kept] + 1], goes_on[kept], line_of_segment[kept])
    return image.with_parts(pieces.coords, np.diff(pieces.offsets), image.part_shape[pieces.source])


def join(detached: DetachedShapes, image: DetachedShapes, fold: SideFrame) -> list[DetachedShapes]:
    """Lines joined to their reflections where they end on the fold, and what is left of the image."""
    before, after = partners(detached, image, fold)
    shift = len(detached.coords)
    image_last, image_count = image.parts[1:] - 1 + shift, np.diff(image.parts)
    starts, counts, steps = (np.zeros((len(before), 3), dtype=np.int64) for _ in range(3))
    starts[:, 1], counts[:, 1], steps[:, 1] = detached.parts[:-1], np.diff(detached.parts), 1
    for column, partner in ((0, before), (2, after)):  # a reflection runs the other way, and shares the fold's point
        has = partner >= 0
        starts[has, column] = image_last[partner[has]] - (1 if column == 2 else 0)
        counts[has, column] = image_count[partner[has]] - 1
        steps[has, column] = -1
    index = runs(starts.ravel(), counts.ravel(), steps.ravel())
    coords = np.concatenate([detached.coords, image.coords]).take(index, axis=0)
    joined = detached.with_parts(coords, counts.sum(axis=1), detached.part_shape)
    left = np.ones(len(image_count), dtype=np.bool_)
    left[before[before >= 0]] = False
    left[after[after >= 0]] = False
    kept = np.flatnonzero(left)
    chosen, _ = gather(image.parts, kept)
    return [joined, image.with_parts(image.coords.take(chosen, axis=0), image_count[kept], image.part_shape[kept])]


def partners(detached: DetachedShapes, image: DetachedShapes, fold: SideFrame) -> tuple[Ints, Ints]:
    """(p,) for each part, which part of the image goes before its first and which after its last point; or -1.

    The two are lines of one row of the drawing that meet on the fold. No part is used twice.
    """
    row, image_row = detached.row[detached.part_shape], image.row[image.part_shape]
    line, image_line = open_lines(detached), open_lines(image)
    found = []
    for end in (1, 0):  # a line whose reflection meets it at both ends is joined at its last point, and is closed
        at, image_at = (item.coords[item.parts[end:][: len(item.parts) - 1] - end] for item in (detached, image))
        here = np.flatnonzero(line & fold.on_fold(at))
        there = np.flatnonzero(image_line & fold.on_fold(image_at))
        matched = matching(row[here], fold.along(at)[here], image_row[there], fold.along(image_at)[there])
        partner = np.full(len(row), -1, dtype=np.int64)
        partner[here[matched >= 0]] = there[matched[matched >= 0]]
        found.append(partner)
        image_line[partner[partner >= 0]] = False
    return found[1], found[0]


def matching(row: Ints, place: Floats, other_row: Ints, other_place: Floats) -> Ints:
    """(n,) which of the others has the same row and place, one each, or -1."""
    if not len(row) or not len(other_row):
        return np.full(len(row), -1, dtype=np.int64)
    _, at = np.unique(np.concatenate([place, other_place]), return_inverse=True)
    group = np.concatenate([row, other_row]) * (at.max() + 1) + at.reshape(-1)
    own, other = group[: len(row)], group[len(row) :]
    width = len(group)
    own_key, other_key = own * width + ranked(own), other * width + ranked(other)
    order = np.argsort(other_key)
    found = np.minimum(np.searchsorted(other_key[order], own_key), len(order) - 1)
    return np.where(other_key[order][found] == own_key, order[found], -1).astype(np.int64)


def ranked(group: Ints) -> Ints:
    """(n,) how many of the same group come before each."""
    order = np.argsort(group, kind="stable")
    begins = np.flatnonzero(np.append(True, np.diff(group[order]) != 0))[: len(group)]
    lengths = np.diff(np.append(begins, len(group)))
    rank = np.empty(len(group), dtype=np.int64)
    rank[order] = np.arange(len(group)) - np.repeat(begins, lengths)
    return rank


def runs(starts: Ints, counts: Ints, steps: Ints) -> Ints:
    """(n,) the indices start, start + step, … of each run, one run after the other."""
    within = np.arange(counts.sum()) - np.repeat(offsets(counts)[:-1], counts)
    return np.asarray(np.repeat(starts, counts) + np.repeat(steps, counts) * within)
