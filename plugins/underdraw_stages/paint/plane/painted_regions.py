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
    regions, of_region = together(faces, paint)
    for _ in range(ROUNDS):
        hairs = hair_regions(regions)
        if not len(hairs):
            break
        neighbour = longest_neighbour(regions, hairs)
        given = of_region.copy()
        given[hairs[neighbour >= 0]] = of_region[neighbour[neighbour >= 0]]
        if (given == of_region).all():
            break
        region_of_face = region_of(faces, regions, of_region, paint)
        paint = given[region_of_face]
        regions, of_region = together(faces, paint)
    on_part = np.zeros((len(regions), len(PARTS)))
    np.add.at(on_part, (region_of(faces, regions, of_region, paint), faces.part), shapely.area(faces.area))
    return Regions(regions, of_region, on_part)


def together(faces: Faces, paint: Ints) -> tuple[NDArray[Any], Ints]:
    """The faces of each paint as one, in parts that do not touch; and the paint of each part."""
    found = np.unique(paint)
    whole = [shapely.coverage_union_all(faces.area[paint == each]) for each in found.tolist()]
    area, which = shapely.get_parts(np.array(whole, dtype=object), return_index=True)
    return area, found[which].astype(np.int64)


def region_of(faces: Faces, regions: NDArray[Any], of_region: Ints, paint: Ints) -> Ints:
    """(f,) which region each face is in."""
    face, region = shapely.STRtree(regions).query(shapely.points(faces.point), predicate="within")
    own = of_region[region] == paint[face]
    index = np.zeros(len(faces.area), dtype=np.int64)
    index[face[own]] = region[own]
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
    shared = shapely.length(shapely.intersection(shapely.boundary(regions[hairs[hair]]), shapely.boundary(regions[other])))
    neighbour = np.full(len(hairs), -1, dtype=np.int64)
    order = np.lexsort((other, shared))
    neighbour[hair[order]] = np.where(shared[order] > 0, other[order], -1)
    return neighbour
