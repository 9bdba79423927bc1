"""Trim a drawing to boxes: lines end exactly at the edge, fills stay fills, and a cut makes no line of its own.

A filled shape that is cut becomes two: a cover, whose fill hides what lies under it but whose outline is nobody's
line (marker `NO_MARKER`), and above it what is left of its outline as a line without fill.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from underdraw.drawing import COLUMNS, NO_MARKER, Drawing, gather, offsets
from underdraw.panel.geometry import Box
from underdraw.trim.lines import trim_lines, without_edges
from underdraw.trim.ragged import Floats, Ints, Mask, Ragged, all_of, lengths_by, part_bounds, strictly_within
from underdraw.trim.rings import closed_rings, trim_rings

LEAST_LOST_MM = 1e-3  # rounding of cut ends to the quantum loses less


@dataclass(frozen=True, eq=False)
class Trimmed:
    """A trimmed drawing, which shape of the input each of its shapes came from, and what each shape there lost (mm)."""

    drawing: Drawing
    source: Ints
    lost: Floats


def trim(drawing: Drawing, boxes: Sequence[Box]) -> Trimmed:
    """What lies in the boxes (closed; they may overlap), in the same order. A line across two of them stays one.

    Edges of a fill without stroke that run along the outer edge of the boxes count as cut, and are nobody's line.
    Shapes with nothing left are dropped. The drawing is not changed; one that is all inside is handed back.
    """
    bounds = part_bounds(drawing.coords, drawing.parts)
    inside = np.zeros(len(bounds), dtype=np.bool_)
    for box in boxes:
        inside |= strictly_within(bounds, box)
    whole = all_of(inside, drawing.shapes)
    if whole.all():
        return Trimmed(drawing, np.arange(len(drawing)), np.zeros(len(drawing)))
    rows = np.flatnonzero(~whole)
    touched = drawing.select(rows)
    (lines, gone, edges), covers = trimmed_lines(touched, boxes), trimmed_covers(touched, boxes)
    pieces = split(touched, rows, lines, covers, gone + edges > LEAST_LOST_MM)
    cut, source = assemble([(drawing.select(whole), np.flatnonzero(whole), 0), *pieces])
    lost = np.zeros(len(drawing))
    lost[rows] = np.where((gone > LEAST_LOST_MM) & ~is_cover(touched), gone, 0.0)
    return Trimmed(cut, source, lost)


def is_cover(drawing: Drawing) -> Mask:
    """(s,) which shapes only hide what lies under them."""
    return np.asarray(drawing.marker == NO_MARKER, dtype=np.bool_)


def split(touched: Drawing, rows: Ints, lines: Ragged, covers: Ragged, cut: Mask) -> list[tuple[Drawing, Ints, int]]:
    """Touched shapes as what they become: whole again, or cover and line; with their rows and place in the stack."""
    filled = touched.fill != ""
    outside = np.ones(len(touched), dtype=np.bool_)
    outside[covers.source] = False
    outside[lines.source] = False
    cut_fill = filled & ~outside & cut
    keep = filled & ~outside & ~cut
    looks = np.where(touched.stroke != "", touched.stroke, touched.fill)
    hairline = min(marker.tip for marker in touched.job.markers)  # no broader, or it would hide what lies beside it
    stroked = touched.stroke != ""
    width = np.where(stroked, touched.stroke_width, hairline)
    opacity = np.where(stroked, touched.stroke_opacity, touched.fill_opacity)
    line_drawing, of_line = shaped(touched, lines, ~keep & ~is_cover(touched))
    line_drawing = line_drawing.replace(
        fill="",
        stroke=looks[of_line],
        stroke_width=width[of_line],
        stroke_opacity=opacity[of_line],
    )
    cover_drawing, of_cover = shaped(touched, covers, cut_fill)
    cover_drawing = cover_drawing.replace(stroke="", stroke_width=0.0, marker=NO_MARKER)
    return [
        (touched.select(keep), rows[keep], 0),
        (cover_drawing, rows[of_cover], 0),
        (line_drawing, rows[of_line], 1),
    ]


def assemble(pieces: Sequence[tuple[Drawing, Ints, int]]) -> tuple[Drawing, Ints]:
    """One drawing of several, by the row that each shape stands for and then its place there: (drawing, rows)."""
    held = [piece for piece in pieces if len(piece[0])] or [pieces[0]]
    rows = np.concatenate([rows for _, rows, _ in held])
    place = np.concatenate([np.full(len(rows), place) for _, rows, place in held])
    first = held[0][0]
    joined = first.replace(
        coords=np.concatenate([item.coords for item, _, _ in held]),
        parts=offsets(np.concatenate([np.diff(item.parts) for item, _, _ in held])),
        shapes=offsets(np.concatenate([np.diff(item.shapes) for item, _, _ in held])),
        **{name: np.concatenate([getattr(item, name) for item, _, _ in held]) for name in COLUMNS},
    )
    order = np.lexsort((place, rows))
    return joined.select(order), rows[order]


def shaped(drawing: Drawing, ragged: Ragged, wanted: Mask) -> tuple[Drawing, Ints]:
    """Polylines whose `source` is a shape of the drawing as shapes with its columns: (drawing, their shapes)."""
    chosen = np.flatnonzero(wanted[ragged.source])
    index, parts = gather(ragged.offsets, chosen)
    rows, counts = np.unique(ragged.source[chosen], return_counts=True)
    made = drawing.replace(
        coords=ragged.coords[index],
        parts=parts,
        shapes=offsets(counts),
        **{name: getattr(drawing, name)[rows] for name in COLUMNS},
    )
    return made, rows


def trimmed_lines(drawing: Drawing, boxes: Sequence[Box]) -> tuple[Ragged, Floats, Floats]:
    """Every shape's lines within the boxes; `source` is the shape, in order.

    Also (s,) mm that lay outside, and (s,) mm of edges along the boxes dropped from fills without stroke.
    """
    of_part = np.repeat(np.arange(len(drawing)), np.diff(drawing.shapes))
    bare_fill = (drawing.fill != "") & (drawing.stroke == "")
    coords, parts = outlines(drawing, bare_fill[of_part])
    lines = trim_lines(coords, parts, boxes)
    lines = Ragged(lines.coords, lines.offsets, of_part[lines.source])
    inside = lengths_by(lines, len(drawing))
    lines = without_edges(lines, boxes, bare_fill[lines.source])
    whole = lengths_by(Ragged(coords, parts, of_part), len(drawing))
    return lines, whole - inside, inside - lengths_by(lines, len(drawing))


def outlines(drawing: Drawing, bare_fill: Mask) -> tuple[Floats, Ints]:
    """The drawing's polylines, those of fills without stroke closed, as their outline is: (coords, offsets)."""
    gaping = bare_fill & ~drawing.part_closed() & (np.diff(drawing.parts) > 2)
    if not gaping.any():
        return drawing.coords, drawing.parts
    first, after = drawing.parts[:-1][gaping], drawing.parts[1:][gaping]
    coords = np.insert(drawing.coords, after, drawing.coords[first], axis=0)
    return coords, offsets(np.diff(drawing.parts) + gaping)


def trimmed_covers(drawing: Drawing, boxes: Sequence[Box]) -> Ragged:
    """Every filled shape's rings within the boxes, which are parted so that none overlaps; `source` is the shape."""
    filled = np.flatnonzero(drawing.fill != "")
    part_index, shape_offsets = gather(drawing.shapes, filled)
    of_part = np.repeat(filled, np.diff(shape_offsets))
    coord_index, ring_offsets = gather(drawing.parts, part_index)
    rings = closed_rings(drawing.coords[coord_index], ring_offsets, of_part)
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
