"""The palette: what is seen, with colours that are alike as one, in the order in which it is painted."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.paint.colours import rgb_of
from underdraw.drawing.paint.difference import ciede2000, lab
from underdraw.drawing.ragged import Floats, Ints
from underdraw_stages.paint import PaintSettings
from underdraw_stages.paint.narrow_places import TIP, NarrowPlaces, narrow_places, narrowest
from underdraw_stages.paint.plane.faces import PARTS, Faces
from underdraw_stages.paint.plane.painted_regions import HAIR_MM, Regions, joined
from underdraw_stages.paint.plane.seen_paints import BARE, SeenPaint

MM3_PER_ML = 1000.0
PAINTED = [PARTS.index(part) for part in ("face", "sides", "bleed")]  # the corners fold away
WIDER = 4.0  # times the tool's width, up to which it is worked out how wide a colour's regions are


@dataclass(frozen=True, eq=False)
class PlanEntry:
    """One row of the palette. `on_part`: mm² on each of `PARTS`; `narrowest`: mm, or None where all is wider."""

    number: int
    paint: SeenPaint
    regions: int
    on_part: Floats
    narrowest: float | None
    too_narrow: int
    coat: float
    coats: int

    @property
    def painted_mm2(self) -> float:
        """What takes paint: face, sides and bleed."""
        return float(self.on_part[PAINTED].sum())

    @property
    def millilitres(self) -> float:
        """Of all coats."""
        return self.painted_mm2 * self.coat * self.coats / MM3_PER_ML


@dataclass(frozen=True)
class NarrowRegion:
    """A region that the tool does not reach everywhere: its colour's number, mm at its narrowest, where (mm)."""

    number: int
    width: float
    at: tuple[float, float]


@dataclass(frozen=True, eq=False)
class PaintPlan:
    """The plan: entries by number, the painted regions with their number and narrowest mm, what is too narrow, bare.

    area: (r,) Polygons; number: (r,) the entry of each; width: (r,) mm, inf where it is nowhere too narrow.
    tool: mm, what was asked for. bare: mm² of canvas that stays bare, on each of `PARTS`; bare_area: (b,) Polygons.
    """

    entries: tuple[PlanEntry, ...]
    area: NDArray[Any]
    number: Ints
    width: Floats
    narrow: NarrowPlaces
    tool: float
    bare: Floats
    bare_area: NDArray[Any]

    @cached_property
    def narrow_regions(self) -> list[NarrowRegion]:
        """Each region that is too narrow somewhere, with a point in its largest such place; the narrowest first."""
        size, point = (
            shapely.area(self.narrow.area),
            shapely.get_coordinates(shapely.point_on_surface(self.narrow.area)),
        )
        order = np.lexsort((-size, self.narrow.region))
        region, first = np.unique(self.narrow.region[order], return_index=True)
        at = point[order[first]].tolist()
        found = [
            NarrowRegion(int(self.number[which]), float(self.width[which]), (x, y))
            for which, (x, y) in zip(region.tolist(), at, strict=True)
        ]
        return sorted(found, key=lambda each: (each.width, each.number, each.at))

    @property
    def painted_mm2(self) -> float:
        """Of all entries."""
        return sum(entry.painted_mm2 for entry in self.entries)

    @property
    def millilitres(self) -> float:
        """Of all entries."""
        return sum(entry.millilitres for entry in self.entries)


def plan_of(faces: Faces, paints: list[SeenPaint], paint: Ints, settings: PaintSettings) -> PaintPlan:
    """Work it out of the faces and (f,) the paint seen on each."""
    seen = np.zeros(len(paints))
    np.add.at(seen, paint, shapely.area(faces.area))
    alike = alike_paints(paints, seen, settings.alike)
    regions = joined(faces, alike[paint])
    painted = np.array([each is not BARE for each in paints], dtype=np.bool_)[regions.paint]
    bare, regions_painted = regions.select(~painted), regions.select(painted)
    order = painting_order(paints, regions_painted, settings.order)
    place = np.zeros(len(paints), dtype=np.int64)
    place[order] = np.arange(len(order)) + 1
    number = place[regions_painted.paint]
    narrow, width = too_narrow(regions_painted.area, settings.tool)
    entries = tuple(
        entry(at + 1, paints[which], regions_painted, number, width, settings)
        for at, which in enumerate(order.tolist())
    )
    return PaintPlan(
        entries, regions_painted.area, number, width, narrow, settings.tool, bare.on_part.sum(axis=0), bare.area
    )


def alike_paints(paints: list[SeenPaint], area: Floats, most: float) -> Ints:
    """(p,) the paint that stands for each: the one with the largest area that its colour is no farther from."""
    stands = np.arange(len(paints))
    plain = [at for at, paint in enumerate(paints) if paint.kind == "colour"]
    colours = lab(rgb_of([paints[at].colours[0] for at in plain])) if plain else np.empty((0, 3))
    kept: list[int] = []
    for at in sorted(range(len(plain)), key=lambda at: (-area[plain[at]], plain[at])):
        if kept:
            difference = ciede2000(np.repeat(colours[at : at + 1], len(kept), axis=0), colours[kept])
            nearest = int(np.argmin(difference))
            if difference[nearest] < most:
                stands[plain[at]] = plain[kept[nearest]]
                continue
        kept.append(at)
    return stands


def painting_order(paints: list[SeenPaint], regions: Regions, order: str) -> Ints:
    """The paints that are there, as they are painted: from light to dark, or from large to small."""
    found = np.unique(regions.paint)
    lightness = np.array([lab(rgb_of(list(paints[at].colours)))[:, 0].mean() for at in found.tolist()])
    size = np.array([regions.on_part[regions.paint == at].sum() for at in found.tolist()])
    keys = (found, -size, -lightness) if order == "light" else (found, -lightness, -size)
    return np.asarray(found[np.lexsort(keys)], dtype=np.int64)


def too_narrow(areas: NDArray[Any], tool: float) -> tuple[NarrowPlaces, Floats]:
    """The places that the tool does not reach, and (r,) how wide each region is there; inf where it reaches all."""
    areas = without_hairs(areas)
    narrow = narrow_places(areas, np.full(len(areas), tool), TIP * tool)
    width = np.full(len(areas), np.inf)
    found = np.unique(narrow.region)
    width[found] = narrowest(areas[found], tool, HAIR_MM)
    return narrow, width


def without_hairs(areas: NDArray[Any]) -> NDArray[Any]:
    """The regions without what is no wider than a hair: gaps and bridges of shapes that should meet."""
    inner = shapely.buffer(areas, -HAIR_MM / 2, join_style="mitre")
    return np.asarray(shapely.buffer(inner, HAIR_MM / 2, join_style="mitre"))


def entry(
    number: int, paint: SeenPaint, regions: Regions, numbers: Ints, width: Floats, settings: PaintSettings
) -> PlanEntry:
    """One row."""
    own = numbers == number
    narrow = own & np.isfinite(width)
    if narrow.any():
        least: float | None = float(width[narrow].min())
    else:
        most = WIDER * settings.tool
        found = float(narrowest(regions.area[own], most).min(initial=most))
        least = max(found, settings.tool) if found < most else None
    return PlanEntry(
        number,
        paint,
        int(own.sum()),
        regions.on_part[own].sum(axis=0),
        least,
        int(narrow.sum()),
        settings.coat,
        settings.coats,
    )
