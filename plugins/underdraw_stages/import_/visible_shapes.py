"""From flattened items to what is visible of them: clipped, dashed, without what has no extent."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.affine import inverse, transformed
from underdraw.drawing.drawing import DECIMALS
from underdraw.drawing.ragged import gather, offsets
from underdraw_stages.import_.clipping import Clipper, Parts, rings
from underdraw_stages.import_.file.limits import Budget
from underdraw_stages.import_.outlines.dashes import count_dashes, dash, lengths_along
from underdraw_stages.import_.shapes.flattened_shapes import FlattenedShapes
from underdraw_stages.import_.shapes.found_shape import FoundShape
from underdraw_stages.import_.shapes.inherited_state import Clip
from underdraw_stages.import_.style.svg_paint import NO_PAINT
from underdraw_stages.import_.tree.left_out import LeftOut

CHUNK = 20_000  # lines held against a clip at a time
POINTS = 500_000  # moved at a time


@dataclass(frozen=True)
class VisibleShapes:
    """Shapes as they go into the drawing: shape i has the appearance of `items[i]` and the polylines i of `flat`."""

    items: list[FoundShape]
    flat: FlattenedShapes


def cut_and_dash(
    items: Sequence[FoundShape], flat: FlattenedShapes, clipper: Clipper, left_out: LeftOut
) -> VisibleShapes:
    """Apply clips and dashes. A shape that is cut or dashed and has both fill and stroke becomes two shapes."""
    whole = np.ones(len(items), dtype=np.bool_)
    made: dict[int, list[tuple[FoundShape, Parts]]] = {}
    is_cut = _cut_items(items, flat, clipper)
    for at, item in enumerate(items):
        cut = bool(is_cut[at])
        if not cut and not item.dashes:
            continue
        parts = flat.parts_of(at)
        whole[at] = False
        made[at] = []
        fill, stroke = replace(item, stroke=NO_PAINT, stroke_width=0.0, dashes=()), replace(item, fill=NO_PAINT)
        if item.fill.colour:
            left = rings(clipper.cut_area(item, parts)) if cut else parts
            made[at].append((replace(fill, evenodd=fill.evenodd or cut), left))
        if item.stroke.colour:
            lines = _dashed(item, parts, clipper.budget)
            made[at].append((stroke, clipper.cut_lines(item, lines) if cut else lines))
        made[at] = [(shape, pieces) for shape, pieces in made[at] if pieces]
        if not made[at]:
            left_out.add("clipped", item.element)
    return _merged(items, flat, whole, made)


def _cut_items(items: Sequence[FoundShape], flat: FlattenedShapes, clipper: Clipper) -> NDArray[np.bool_]:
    """(n,) which items a clip cuts anything off; all that share their clips are looked at together."""
    cut = np.zeros(len(items), dtype=np.bool_)
    sharing: dict[tuple[Clip, ...], list[int]] = {}
    for at, item in enumerate(items):
        if item.clips:
            sharing.setdefault(item.clips, []).append(at)
    for clips, several in sharing.items():
        region = clipper.region(clips)
        if region is None:
            continue
        rows = np.array(several)
        part_rows, shapes = gather(flat.shapes, rows)
        coord_rows, parts = gather(flat.parts, part_rows)
        counts = np.diff(parts)
        inside = np.zeros(len(counts), dtype=np.bool_)
        single, long = np.flatnonzero(counts == 1), np.flatnonzero(counts > 1)
        inside[single] = shapely.covers(region, shapely.points(flat.coords[coord_rows[parts[single]]]))
        for begin in range(0, len(long), CHUNK):
            some = long[begin : begin + CHUNK]
            line_rows, _ = gather(parts, some)
            of = np.repeat(np.arange(len(some)), counts[some])
            inside[some] = shapely.covers(region, shapely.linestrings(flat.coords[coord_rows[line_rows]], indices=of))
        cut[rows] = ~np.logical_and.reduceat(inside, shapes[:-1])
    return cut


def _dashed(item: FoundShape, parts: Parts, budget: Budget) -> Parts:
    """The dashes of an item's parts; lengths are in its own user units, as a stretched line has stretched dashes."""
    back = inverse(item.matrix) if item.dashes else None
    if back is None:
        return parts
    lengths = [lengths_along(transformed(part, back)) for part in parts]
    scale = 1.0
    if item.path_length > 0:  # dashes go by the length that the author states (SVG 2, 9.6.1)
        scale = sum(float(along[-1]) for along in lengths) / item.path_length or 1.0
    dashes = [length * scale for length in item.dashes]
    dashed: Parts = []
    for part, along, closed in zip(parts, lengths, item.outline.closed.tolist(), strict=True):
        budget.dash(count_dashes(float(along[-1]), dashes), item.element)
        dashed += dash(part, along, dashes, item.dash_offset * scale, closed and len(part) > 2)
    return dashed


def _merged(
    items: Sequence[FoundShape],
    flat: FlattenedShapes,
    whole: NDArray[np.bool_],
    made: dict[int, list[tuple[FoundShape, Parts]]],
) -> VisibleShapes:
    """The shapes left whole and those made anew, in stacking order."""
    if not made:
        return VisibleShapes(list(items), flat)
    kept = np.flatnonzero(whole)
    part_rows, shapes = gather(flat.shapes, kept)
    coord_rows, parts = gather(flat.parts, part_rows)
    new = [(at, shape, pieces) for at, several in made.items() for shape, pieces in several]
    new_parts = [piece for _, _, pieces in new for piece in pieces]
    coords = np.concatenate([flat.coords[coord_rows], *new_parts])
    parts = np.concatenate([parts, parts[-1] + offsets([len(part) for part in new_parts])[1:]])
    shapes = np.concatenate([shapes, shapes[-1] + offsets([len(pieces) for _, _, pieces in new])[1:]])
    appearance = [items[at] for at in kept.tolist()] + [item for _, item, _ in new]
    order = np.argsort(np.concatenate([kept, np.array([at for at, _, _ in new], dtype=np.int64)]), kind="stable")
    part_rows, new_shapes = gather(shapes, order)
    coord_rows, new_part_offsets = gather(parts, part_rows)
    return VisibleShapes(
        [appearance[at] for at in order], FlattenedShapes(coords[coord_rows], new_part_offsets, new_shapes)
    )


def without_empty_parts(visible: VisibleShapes, left_out: LeftOut) -> VisibleShapes:
    """Repeated points are one; parts without extent go, but for dots that a round or square cap shows.

    Parts of a shape that is filled and not stroked are closed, as the fill is (SVG 1.1, 11.3), and go when they have
    no area. Shapes left with no part go too. The coordinates of `visible` are worked on in place, since a copy of them
    is the largest thing in memory: it is not to be used again.
    """
    items, flat = visible.items, visible.flat
    if not items:
        return visible
    coords = np.round(flat.coords, DECIMALS, out=flat.coords)
    coords += 0.0  # turns -0 into 0
    part_shape = np.repeat(np.arange(len(items)), np.diff(flat.shapes))
    full = np.diff(flat.parts) > 0
    firsts = flat.parts[:-1][full]
    fresh = np.ones(len(coords), dtype=np.bool_)
    for begin in range(1, len(coords), POINTS):
        end = min(begin + POINTS, len(coords))
        fresh[begin:end] = (coords[begin:end] != coords[begin - 1 : end - 1]).any(axis=1)
    fresh[firsts] = True
    repeated = np.flatnonzero(~fresh)  # few: to count the others in each part would take eight bytes a point
    counts = np.diff(flat.parts) - np.diff(np.searchsorted(repeated, flat.parts))
    coords = _moved_up(coords, fresh)
    bare = np.array([not item.stroke.colour for item in items])[part_shape]
    dots = np.array([bool(item.stroke.colour) and item.cap != "butt" for item in items])[part_shape]
    coords, counts = _closed(coords, counts, bare)
    keep = np.where(bare, _has_area(coords, counts, bare), (counts > 1) | dots)
    coords = _moved_up(coords, np.repeat(keep, counts))
    shape_counts = np.bincount(part_shape[keep], minlength=len(items))
    for at in np.flatnonzero(shape_counts == 0):
        left_out.add("thin", items[at].element)
    kept_items = [item for item, count in zip(items, shape_counts, strict=True) if count]
    return VisibleShapes(
        kept_items, FlattenedShapes(coords, offsets(counts[keep]), offsets(shape_counts[shape_counts > 0]))
    )


def _moved_up(coords: NDArray[np.float64], keep: NDArray[np.bool_]) -> NDArray[np.float64]:
    """The points to keep, moved to the front of their own array, a piece at a time; what is behind them goes."""
    if keep.all():
        return coords
    end = 0
    for begin in range(0, len(coords), POINTS):
        kept = coords[begin : begin + POINTS][keep[begin : begin + POINTS]]
        coords[end : end + len(kept)] = kept
        end += len(kept)
    return coords[:end]


def _closed(
    coords: NDArray[np.float64], counts: NDArray[np.int64], bare: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Append the first point to parts that are to be closed and are not."""
    bounds = offsets(counts)
    full = np.flatnonzero(bare & (counts > 2))
    ajar = full[(coords[bounds[full]] != coords[bounds[full + 1] - 1]).any(axis=1)]
    if not len(ajar):
        return coords, counts
    closed = np.insert(coords, bounds[ajar + 1], coords[bounds[ajar]], axis=0)
    more = counts.copy()
    more[ajar] += 1
    return closed, more


def _has_area(coords: NDArray[np.float64], counts: NDArray[np.int64], which: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(p,) whether a part's points do not all lie on one line; False where it was not asked."""
    bounds = offsets(counts)
    dashed = np.zeros(len(counts), dtype=np.bool_)
    rows = np.flatnonzero(which & (counts > 3))
    if len(rows):
        point_rows, _ = gather(bounds, rows)
        lines = shapely.linestrings(coords[point_rows], indices=np.repeat(np.arange(len(rows)), counts[rows]))
        hulls = shapely.convex_hull(lines)
        dashed[rows] = shapely.area(hulls) > 1e-6 * np.maximum(shapely.length(hulls), 1e-3)  # a µm wide
    return dashed
