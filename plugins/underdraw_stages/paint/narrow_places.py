"""What a tool does not reach: places narrower than it is, and how wide a region is at its narrowest.

A place is reached where a disc as wide as the tool lies wholly within the region (the opening of J. Serra, 'Image
analysis and mathematical morphology', 1982, from memory). Every corner has a tip that no disc reaches: a tip no longer
than `TIP` times the tool's width is painted with the tool's edge, and is no narrow place (common practice, no source).
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.ragged import Floats, Ints, Mask

TIP = 2.0  # times the width: what is left in a corner of 30 degrees or more is no longer, 1 / tan(15°) = 3.7 radii
EXACT_MM = 5e-4  # a region just as wide as the tool is reached: half of what coordinates and arcs may be off
SLACK = 1.02  # arcs of the disc are polygons, smaller than it by less
SLACK_MM = 0.01
ARC_SEGMENTS = 8  # a quarter circle
STEPS = 7  # halvings of the width: to a hundredth of it
MANY, STEPS_OF_MANY = 1000, 4  # so many regions are worked out to a sixteenth: nobody reads their list to the end


@dataclass(frozen=True, eq=False)
class NarrowPlaces:
    """(n,) Polygons that the tool does not reach, and (n,) the region that each is of."""

    area: NDArray[Any]
    region: Ints

    def __len__(self) -> int:
        return len(self.area)


def narrow_places(regions: NDArray[Any], width: Floats, tip: float) -> NarrowPlaces:
    """Where (r,) Polygons are narrower than their (r,) `width`, in mm; tips no longer than `tip` mm are none."""
    radius = np.maximum(width / 2 - EXACT_MM, 1e-6)
    core = shapely.buffer(regions, -radius, quad_segs=ARC_SEGMENTS)
    unreached = shapely.is_empty(core)
    some = np.flatnonzero(~unreached)
    reached = shapely.buffer(core[some], radius[some] * SLACK + SLACK_MM, quad_segs=ARC_SEGMENTS)
    rest, of = shapely.get_parts(shapely.difference(regions[some], reached), return_index=True)
    counts = longer_than(rest, tip)
    short = np.flatnonzero(~counts)
    counts[short] = joins_cores(rest[short], of[short], core[some], radius[some]) >= 2
    area = np.concatenate([regions[unreached], rest[counts]])
    region = np.concatenate([np.flatnonzero(unreached), some[of[counts]]])
    order = np.argsort(region, kind="stable")
    return NarrowPlaces(area[order], region[order])


def longer_than(areas: NDArray[Any], mm: float) -> Mask:
    """(n,) which Polygons do not fit in a circle so many mm wide; of most their boxes show it."""
    left, bottom, right, top = shapely.bounds(areas).T
    longer = np.maximum(right - left, top - bottom) > mm
    unsure = np.flatnonzero(~longer & (np.hypot(right - left, top - bottom) > mm))
    longer[unsure] = 2 * shapely.minimum_bounding_radius(areas[unsure]) > mm
    return np.asarray(longer)


def joins_cores(rest: NDArray[Any], of: Ints, core: NDArray[Any], radius: Floats) -> Ints:
    """(n,) how many pieces of its region's core each leftover touches: two or more make it a neck."""
    pieces, region = shapely.get_parts(core, return_index=True)
    in_pieces = np.bincount(region, minlength=len(core)) > 1
    asked, kept = np.flatnonzero(in_pieces[of]), in_pieces[region]
    rest, of, pieces, region, count = rest[asked], of[asked], pieces[kept], region[kept], len(rest)
    distance = radius[of] * SLACK + 2 * SLACK_MM
    around = shapely.bounds(rest) + distance[:, None] * np.array([-1.0, -1.0, 1.0, 1.0])
    leftover, piece = shapely.STRtree(pieces).query(shapely.box(*around.T))
    own = region[piece] == of[leftover]
    leftover, piece = leftover[own], piece[own]
    shapely.prepare(pieces)  # one may have very many points, and as many leftovers
    touched = shapely.dwithin(pieces[piece], rest[leftover], distance[leftover])
    return np.bincount(asked[leftover[touched]], minlength=count)


def narrowest(regions: NDArray[Any], width: float, least: float = 0.0) -> Floats:
    """(r,) mm at the narrowest of (r,) Polygons; `width` for those that are nowhere narrower.

    Tips no longer than `TIP` times `width` are none. So in a region that is no longer, its largest circle counts.
    least: mm that nothing is narrower than.
    """
    found = np.full(len(regions), width)
    small = ~longer_than(regions, TIP * width)
    circles = shapely.maximum_inscribed_circle(regions[small], tolerance=width / 2**STEPS)
    found[small] = np.minimum(2 * shapely.length(circles), width)
    found[~small] = halved(shapely.simplify(regions[~small], SLACK_MM / 2), width, min(least, width))
    return found


def halved(regions: NDArray[Any], width: float, least: float) -> Floats:
    """The same by halving the width that is looked for, again and again."""
    low, high = np.full(len(regions), least), np.full(len(regions), width)
    for _ in range(STEPS if len(regions) <= MANY else STEPS_OF_MANY):
        middle = (low + high) / 2
        found = np.zeros(len(regions), dtype=np.bool_)
        found[narrow_places(regions, middle, TIP * width).region] = True
        low, high = np.where(found, low, middle), np.where(found, middle, high)
    return np.where(high == width, width, low)
