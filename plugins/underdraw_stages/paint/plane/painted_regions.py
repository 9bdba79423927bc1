"""Regions of one paint: faces that touch and show the same, over the folds; hairs between shapes go to a neighbour."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import Floats, Ints, Mask
from underdraw_stages.paint.plane.faces import PARTS, Faces

HAIR_MM = 0.1  # nobody paints a region that is nowhere wider: shapes that should meet leave such gaps and overlaps
ROUNDS = 3  # hairs beside hairs go to a neighbour one after the other


@dataclass(frozen=True, eq=False)
class Regions:
    """(r,) Polygons, (r,) the paint of each by its index, (r, 4) mm² of it on each of `PARTS`."""

    area: NDArray[Any]
    paint: Ints
    on_part: Floats

    def select(self, keep: Mask) -> "Regions":
        """Only these."""
        return Regions(self.area[keep], self.paint[keep], self.on_part[keep])


def joined(faces: Faces, paint: Ints) -> Regions:
    """The regions that faces make which show the same; (f,) paint of each face."""
    area, of = together(faces.area, paint)
    for _ in range(ROUNDS):
        hairs = hair_regions(area)
        neighbour = longest_neighbour(area, hairs)
        hairs, neighbour = hairs[neighbour >= 0], neighbour[neighbour >= 0]
        if not len(hairs):
            break
        area, of = with_hairs_given(area, of, hairs, of[neighbour])
    on_part = np.zeros((len(area), len(PARTS)))
    np.add.at(on_part, (region_of(faces.point, area), faces.part), shapely.area(faces.area))
    return Regions(area, of, on_part)


def with_hairs_given(area: NDArray[Any], of: Ints, hairs: Ints, paint: Ints) -> tuple[NDArray[Any], Ints]:
    """The regions with (h,) hairs in other paints, joined to what they touch of that paint; the rest as it is."""
    of = of.copy()
    of[hairs] = paint
    hair, other = shapely.STRtree(area).query(area[hairs], predicate="intersects")
    touched = np.unique(other[of[other] == of[hairs[hair]]])
    changed, of_changed = together(area[touched], of[touched])
    rest = np.setdiff1d(np.arange(len(area)), touched)
    return np.concatenate([area[rest], changed]), np.concatenate([of[rest], of_changed])


def together(areas: NDArray[Any], paint: Ints) -> tuple[NDArray[Any], Ints]:
    """Areas of each paint as one, in parts that share no edge; and the paint of each part."""
    found = np.unique(paint)
    whole = [shapely.coverage_union_all(areas[paint == each]) for each in found.tolist()]
    area, which = shapely.get_parts(np.array(whole, dtype=object), return_index=True)
    return area, found[which].astype(np.int64)


def region_of(points: Floats, regions: NDArray[Any]) -> Ints:
    """(f,) the region that each of (f, 2) points is in; every point is in one."""
    shapely.prepare(regions)
    region, point = shapely.STRtree(shapely.points(points)).query(regions, predicate="contains")
    index = np.zeros(len(points), dtype=np.int64)
    index[point] = region
    return index


def hair_regions(regions: NDArray[Any]) -> Ints:
    """Which regions are nowhere wider than a hair, the smallest first."""
    # A region is nowhere narrower inside than its area over its perimeter, so most need no second look.
    perimeter = np.maximum(shapely.length(regions), 1e-12)
    thin = np.flatnonzero(shapely.area(regions) / perimeter <= HAIR_MM / 2)
    hairs = thin[shapely.is_empty(shapely.buffer(regions[thin], -HAIR_MM / 2, quad_segs=2))]
    return np.asarray(hairs[np.argsort(shapely.area(regions[hairs]), kind="stable")], dtype=np.int64)


def longest_neighbour(regions: NDArray[Any], hairs: Ints) -> Ints:
    """(h,) for each hair the region, itself no hair, that it shares most of its edge with; -1 for none."""
    hair, other = shapely.STRtree(regions).query(regions[hairs], predicate="intersects")
    keep = ~np.isin(other, hairs)
    hair, other = hair[keep], other[keep]
    edge = shapely.boundary(regions)
    shared = shapely.length(shapely.intersection(edge[hairs[hair]], edge[other]))
    neighbour = np.full(len(hairs), -1, dtype=np.int64)
    order = np.lexsort((other, shared))
    neighbour[hair[order]] = np.where(shared[order] > 0, other[order], -1)
    return neighbour
