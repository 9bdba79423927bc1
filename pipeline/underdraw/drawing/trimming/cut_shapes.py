"""Trim shapes to boxes: lines end exactly at the edge, fills stay fills, and a cut makes no line of its own.

A filled shape that is cut becomes two: a fill alone, which hides what is beneath it but whose outline is nobody's
line (marker `NO_MARKER`), and above it what is left of its outline as a line without fill. Where its stroke is open,
the straight edge that closes the fill is one more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.lines.closing_edges import closing_edges
from underdraw.drawing.ragged import Floats, Ints, Mask, Ragged, all_of, gather, lengths_by, offsets, strictly_within
from underdraw.drawing.trimming.cut_lines import trim_lines, without_edges
from underdraw.drawing.trimming.cut_rings import closed_rings, trim_rings
from underdraw.drawing.trimming.detached import (
    CLOSING_ONLY,
    FILL_ONLY,
    OUTLINE_ONLY,
    WHOLE,
    DetachedShapes,
    ShapeBatches,
)

LEAST_LOST_MM = 1e-3  # rounding of cut ends to the quantum loses less


@dataclass(frozen=True, eq=False)
class Trimmed:
    """A trimmed drawing, and what each shape of the input lost (mm of its line)."""

    drawing: Drawing
    lost: Floats


def trim(drawing: Drawing, boxes: Sequence[Box]) -> Trimmed:
    """What lies in the boxes (closed; two at most, which may overlap), in the same order.

    A line across two of them stays one. Edges of a fill without stroke that run along the outer edge of the boxes
    count as cut, and are nobody's line. Shapes with nothing left are dropped. The drawing is not changed; one that is
    all inside is handed back.
    """
    batches = ShapeBatches.of(drawing)
    lost = np.zeros(len(drawing))
    for row, gone in trim_batches(batches, boxes):
        lost[row] = gone
    return Trimmed(batches.drawing(), lost)


def trim_batches(batches: ShapeBatches, boxes: Sequence[Box]) -> list[tuple[Ints, Floats]]:
    """Trim every shape of all batches; returns (rows of the drawing, mm of line that each lost), batch by batch."""
    lost_rows, made = [], []
    for number, batch in enumerate(batches.batches):
        rows = np.flatnonzero(batches.remaining[number] & ~within(batch, boxes))
        if not len(rows):
            continue
        pieces, lost = trim_detached(batch.select(rows), boxes)
        batches.remaining[number][rows] = False
        lost_rows.append((batch.row[rows], lost))
        made += pieces
    batches.add(made)
    return lost_rows


def within(detached: DetachedShapes, boxes: Sequence[Box]) -> Mask:
    """(s,) which shapes lie in the boxes without touching their edge, each part in one of them."""
    inside = np.zeros(len(detached.bounds), dtype=np.bool_)
    for box in boxes:
        inside |= strictly_within(detached.bounds, box)
    return all_of(inside, detached.shapes)


def trim_detached(detached: DetachedShapes, boxes: Sequence[Box]) -> tuple[list[DetachedShapes], Floats]:
    """What lies in the boxes, and (s,) mm of line that each shape lost."""
    lines, gone, edges = trimmed_lines(detached, boxes)
    fills = trimmed_fills(detached, boxes)
    cut = (gone + edges > LEAST_LOST_MM) | (detached.role == FILL_ONLY) | lost_dots(detached, boxes)
    seen = np.zeros(len(detached), dtype=np.bool_)
    seen[fills.source] = True
    seen[lines.source] = True
    keep = detached.filled & seen & ~cut
    cut_fill = detached.filled & cut
    drawn = ~keep & (detached.role != FILL_ONLY)
    left = taken(detached, lines, drawn)
    plain = ~detached.base.filled[left.row]  # a line that never had a fill is all that it was
    left = replace(left, role=np.where(plain, WHOLE, np.maximum(left.role, OUTLINE_ONLY)))
    pieces = [
        detached.select(np.flatnonzero(keep)),
        taken(detached, fills, cut_fill, FILL_ONLY),
        taken(detached, trimmed_closings(detached, boxes), cut_fill, CLOSING_ONLY),
        left,
    ]
    outline = (detached.role == WHOLE) | (detached.role == OUTLINE_ONLY)
    lost = np.where((gone > LEAST_LOST_MM) & outline, gone, 0.0)
    return pieces, lost


def trimmed_closings(detached: DetachedShapes, boxes: Sequence[Box]) -> Ragged:
    """Within the boxes, the edges that close fills where their stroke is open; `source` is the shape."""
    width = detached.base.drawing.stroke_width[detached.row[detached.part_shape]]
    part, edges = closing_edges(detached.coords, detached.parts, width)
    stroked = detached.base.filled[detached.row] & ~detached.base.bare[detached.row] & (detached.role == WHOLE)
    asked = stroked[detached.part_shape[part]]
    shape, ends = detached.part_shape[part[asked]], edges[asked].reshape(-1, 2)
    lines = trim_lines(ends, np.arange(0, len(ends) + 1, 2), boxes)
    lines = Ragged(lines.coords, lines.offsets, shape[lines.source])
    return without_edges(lines, boxes, np.ones(len(lines.source), dtype=np.bool_))


def lost_dots(detached: DetachedShapes, boxes: Sequence[Box]) -> Mask:
    """(s,) which shapes have a part of no length outside the boxes: it goes, though no length is lost with it."""
    bounds = detached.bounds
    dot = (bounds[:, :2] == bounds[:, 2:]).all(axis=1)
    inside = np.zeros(len(bounds), dtype=np.bool_)
    for x0, y0, x1, y1 in boxes:
        inside |= (bounds[:, 0] >= x0) & (bounds[:, 1] >= y0) & (bounds[:, 2] <= x1) & (bounds[:, 3] <= y1)
    return ~all_of(~dot | inside, detached.shapes)


def taken(detached: DetachedShapes, ragged: Ragged, wanted: Mask, role: int | None = None) -> DetachedShapes:
    """Polylines whose `source` is a wanted shape, as shapes of that role; None: of the one that it has."""
    chosen = np.flatnonzero(wanted[ragged.source])
    index, parts = gather(ragged.offsets, chosen)
    return detached.with_parts(ragged.coords.take(index, axis=0), np.diff(parts), ragged.source[chosen], role)


def trimmed_lines(detached: DetachedShapes, boxes: Sequence[Box]) -> tuple[Ragged, Floats, Floats]:
    """Every shape's lines within the boxes; `source` is the shape, in order.

    Also (s,) mm that lay outside, and (s,) mm of edges along the boxes dropped from fills without stroke.
    """
    coords, parts = outlines(detached)
    lines = trim_lines(coords, parts, boxes)
    lines = Ragged(lines.coords, lines.offsets, detached.part_shape[lines.source])
    inside = lengths_by(lines, len(detached))
    whole = lengths_by(Ragged(coords, parts, detached.part_shape), len(detached))
    bare = detached.bare
    if not bare.any():
        return lines, whole - inside, np.zeros(len(detached))
    lines = without_edges(lines, boxes, bare[lines.source])
    return lines, whole - inside, inside - lengths_by(lines, len(detached))


def outlines(detached: DetachedShapes) -> tuple[Floats, Ints]:
    """The shapes' polylines, those of fills without stroke closed, as their outline is: (coords, offsets)."""
    bare = detached.bare
    if not bare.any():
        return detached.coords, detached.parts
    gaping = bare[detached.part_shape] & ~detached.closed() & (np.diff(detached.parts) > 2)
    first, after = detached.parts[:-1][gaping], detached.parts[1:][gaping]
    coords = np.insert(detached.coords, after, detached.coords[first], axis=0)
    return coords, offsets(np.diff(detached.parts) + gaping)


def trimmed_fills(detached: DetachedShapes, boxes: Sequence[Box]) -> Ragged:
    """Every filled shape's rings within the boxes, which are parted so that none overlaps; `source` is the shape."""
    filled = np.flatnonzero(detached.filled)
    if not len(filled):
        return Ragged(np.empty((0, 2)), np.zeros(1, dtype=np.int64), np.empty(0, dtype=np.int64))
    part_index, shape_offsets = gather(detached.shapes, filled)
    of_part = np.repeat(filled, np.diff(shape_offsets))
    coord_index, ring_offsets = gather(detached.parts, part_index)
    rings = closed_rings(detached.coords.take(coord_index, axis=0), ring_offsets, of_part)
    pieces = [trim_rings(rings, box) for box in without_overlap(boxes)]
    source = np.concatenate([piece.source for piece in pieces])
    order = np.argsort(source, kind="stable")
    joined = offsets(np.concatenate([np.diff(piece.offsets) for piece in pieces]))
    index, new = gather(joined, order)
    return Ragged(np.concatenate([piece.coords for piece in pieces])[index], new, source[order])


def without_overlap(boxes: Sequence[Box]) -> list[Box]:
    """Boxes of the same area that do not overlap: the first whole, of a second one what is beside it."""
    first, *others = boxes
    separate = [first]
    for x0, y0, x1, y1 in others:
        middle = max(y0, first[1]), min(y1, first[3])
        separate += [
            (x0, y0, x1, min(y1, first[1])),
            (x0, middle[0], min(x1, first[0]), middle[1]),
            (max(x0, first[2]), middle[0], x1, middle[1]),
            (x0, max(y0, first[3]), x1, y1),
        ]
    return [box for box in separate if box[0] < box[2] and box[1] < box[3]]
