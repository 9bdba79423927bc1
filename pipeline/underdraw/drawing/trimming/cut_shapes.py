"""Trim shapes to boxes: lines end exactly at the edge, fills stay fills, and a cut makes no line of its own.

A filled shape that is cut becomes two: a cover, whose fill hides what lies under it but whose outline is nobody's
line (marker `NO_MARKER`), and above it what is left of its outline as a line without fill.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from underdraw.drawing.boxes import Box
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.ragged import Floats, Ints, Mask, Ragged, all_of, gather, lengths_by, offsets, strictly_within
from underdraw.drawing.trimming.cut_lines import trim_lines, without_edges
from underdraw.drawing.trimming.cut_rings import closed_rings, trim_rings
from underdraw.drawing.trimming.pieces import COVER, LINE, WHOLE, Loose, Pile

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
    pile = Pile.of(drawing)
    lost = np.zeros(len(drawing))
    for row, gone in trim_pile(pile, boxes):
        lost[row] = gone
    return Trimmed(pile.drawing(), lost)


def trim_pile(pile: Pile, boxes: Sequence[Box]) -> list[tuple[Ints, Floats]]:
    """Trim every shape on a pile; hands back (rows of the drawing, mm of line that each lost), heap by heap."""
    told, made = [], []
    for number, heap in enumerate(pile.heaps):
        rows = np.flatnonzero(pile.held[number] & ~within(heap, boxes))
        if not len(rows):
            continue
        pieces, lost = trim_loose(heap.select(rows), boxes)
        pile.held[number][rows] = False
        told.append((heap.row[rows], lost))
        made += pieces
    pile.add(made)
    return told


def within(loose: Loose, boxes: Sequence[Box]) -> Mask:
    """(s,) which shapes lie in the boxes without touching their edge, each part in one of them."""
    inside = np.zeros(len(loose.bounds), dtype=np.bool_)
    for box in boxes:
        inside |= strictly_within(loose.bounds, box)
    return all_of(inside, loose.shapes)


def trim_loose(loose: Loose, boxes: Sequence[Box]) -> tuple[list[Loose], Floats]:
    """What lies in the boxes, and (s,) mm of line that each shape lost."""
    lines, gone, edges = trimmed_lines(loose, boxes)
    covers = trimmed_covers(loose, boxes)
    cut = (gone + edges > LEAST_LOST_MM) | (loose.role == COVER) | lost_dots(loose, boxes)
    seen = np.zeros(len(loose), dtype=np.bool_)
    seen[covers.source] = True
    seen[lines.source] = True
    keep = loose.filled & seen & ~cut
    cut_fill = loose.filled & cut
    drawn = ~keep & (loose.role != COVER)
    pieces = [
        loose.select(np.flatnonzero(keep)),
        taken(loose, covers, cut_fill, COVER),
        taken(loose, lines, drawn, LINE),
    ]
    plain = ~loose.base.filled[pieces[2].row]  # a line that never had a fill is all that it was
    pieces[2] = replace(pieces[2], role=np.where(plain, WHOLE, LINE))
    lost = np.where((gone > LEAST_LOST_MM) & (loose.role != COVER), gone, 0.0)
    return pieces, lost


def lost_dots(loose: Loose, boxes: Sequence[Box]) -> Mask:
    """(s,) which shapes have a part of no length outside the boxes: it goes, though no length is lost with it."""
    bounds = loose.bounds
    dot = (bounds[:, :2] == bounds[:, 2:]).all(axis=1)
    inside = np.zeros(len(bounds), dtype=np.bool_)
    for x0, y0, x1, y1 in boxes:
        inside |= (bounds[:, 0] >= x0) & (bounds[:, 1] >= y0) & (bounds[:, 2] <= x1) & (bounds[:, 3] <= y1)
    return ~all_of(~dot | inside, loose.shapes)


def taken(loose: Loose, ragged: Ragged, wanted: Mask, role: int) -> Loose:
    """Polylines whose `source` is a wanted shape, as shapes of that role."""
    chosen = np.flatnonzero(wanted[ragged.source])
    index, parts = gather(ragged.offsets, chosen)
    return loose.with_parts(ragged.coords.take(index, axis=0), np.diff(parts), ragged.source[chosen], role)


def trimmed_lines(loose: Loose, boxes: Sequence[Box]) -> tuple[Ragged, Floats, Floats]:
    """Every shape's lines within the boxes; `source` is the shape, in order.

    Also (s,) mm that lay outside, and (s,) mm of edges along the boxes dropped from fills without stroke.
    """
    coords, parts = outlines(loose)
    lines = trim_lines(coords, parts, boxes)
    lines = Ragged(lines.coords, lines.offsets, loose.part_shape[lines.source])
    inside = lengths_by(lines, len(loose))
    whole = lengths_by(Ragged(coords, parts, loose.part_shape), len(loose))
    bare = loose.bare
    if not bare.any():
        return lines, whole - inside, np.zeros(len(loose))
    lines = without_edges(lines, boxes, bare[lines.source])
    return lines, whole - inside, inside - lengths_by(lines, len(loose))


def outlines(loose: Loose) -> tuple[Floats, Ints]:
    """The shapes' polylines, those of fills without stroke closed, as their outline is: (coords, offsets)."""
    bare = loose.bare
    if not bare.any():
        return loose.coords, loose.parts
    gaping = bare[loose.part_shape] & ~loose.closed() & (np.diff(loose.parts) > 2)
    first, after = loose.parts[:-1][gaping], loose.parts[1:][gaping]
    coords = np.insert(loose.coords, after, loose.coords[first], axis=0)
    return coords, offsets(np.diff(loose.parts) + gaping)


def trimmed_covers(loose: Loose, boxes: Sequence[Box]) -> Ragged:
    """Every filled shape's rings within the boxes, which are parted so that none overlaps; `source` is the shape."""
    filled = np.flatnonzero(loose.filled)
    if not len(filled):
        return Ragged(np.empty((0, 2)), np.zeros(1, dtype=np.int64), np.empty(0, dtype=np.int64))
    part_index, shape_offsets = gather(loose.shapes, filled)
    of_part = np.repeat(filled, np.diff(shape_offsets))
    coord_index, ring_offsets = gather(loose.parts, part_index)
    rings = closed_rings(loose.coords.take(coord_index, axis=0), ring_offsets, of_part)
    pieces = [trim_rings(rings, box) for box in apart(boxes)]
    source = np.concatenate([piece.source for piece in pieces])
    order = np.argsort(source, kind="stable")
    joined = offsets(np.concatenate([np.diff(piece.offsets) for piece in pieces]))
    index, new = gather(joined, order)
    return Ragged(np.concatenate([piece.coords for piece in pieces])[index], new, source[order])


def apart(boxes: Sequence[Box]) -> list[Box]:
    """Boxes that cover the same ground and do not overlap: the first whole, of a second one what lies beside it."""
    first, *others = boxes
    parted = [first]
    for x0, y0, x1, y1 in others:
        middle = max(y0, first[1]), min(y1, first[3])
        parted += [
            (x0, y0, x1, min(y1, first[1])),
            (x0, middle[0], min(x1, first[0]), middle[1]),
            (max(x0, first[2]), middle[0], x1, middle[1]),
            (x0, max(y0, first[3]), x1, y1),
        ]
    return [box for box in parted if box[0] < box[2] and box[1] < box[3]]
