"""Slivers of known widths: listed exactly where the tool is wider."""

import numpy as np
import pytest
import shapely
from shapely.affinity import translate
from test_plane import box, on_board, plan

from underdraw_stages.paint.narrow_places import TIP, narrow_places, narrowest
from underdraw_stages.paint.paint_plan import NarrowRegion, too_narrow
from underdraw_stages.paint.plane.painted_regions import HAIR_MM

WIDTHS = (0.3, 0.5, 1.0, 1.5, 1.9, 1.99, 2.0, 2.01, 2.5, 3.0)


def slivers(widths: tuple[float, ...]) -> list[list[np.ndarray]]:
    """Level strips of 40 mm, one below the other."""
    return [[box(30, 22 + 5 * at, 70, 22 + 5 * at + width)] for at, width in enumerate(widths)]


def listed(areas: list[shapely.Polygon], tool: float) -> list[int]:
    found = narrow_places(np.array(areas), np.full(len(areas), tool), TIP * tool)
    return sorted(set(found.region.tolist()))


@pytest.mark.parametrize("tool", [0.4, 1.0, 2.0, 3.0])
def test_slivers_are_listed_just_where_they_are_narrower_than_the_tool(tool: float) -> None:
    drawing = on_board(slivers(WIDTHS), fill=[f"#{40 + 20 * at:02x}6f63" for at in range(len(WIDTHS))])
    found = plan(drawing, tool=f"{tool} mm", alike=0)
    strips = {WIDTHS[int((each.at[1] - 22) // 5)]: each for each in found.narrow_regions}  # by where they are
    assert len(strips) == len(found.narrow_regions)
    assert sorted(strips) == [width for width in WIDTHS if width < tool]
    for width, each in strips.items():
        assert each.width == pytest.approx(width, abs=0.011 * tool) and 30 <= each.at[0] <= 70
    assert [entry.too_narrow for entry in found.entries] == [int(w < tool) for w in sorted(WIDTHS, reverse=True)]


def test_the_narrowest_is_what_shapelys_negative_buffer_empties() -> None:
    """An independent measure of a strip bent into a ring: the buffer inwards that leaves nothing of it."""
    for width in (0.4, 0.9, 1.7):
        band = (
            shapely.Point(0, 0).buffer(8, quad_segs=64).difference(shapely.Point(0, 0).buffer(8 - width, quad_segs=64))
        )
        [found] = narrowest(np.array([band]), 2.0).tolist()
        assert not band.buffer(-(found - 0.03) / 2).is_empty
        assert band.buffer(-(found + 0.03) / 2).is_empty


def test_a_tail_and_a_neck_are_narrow_places_and_only_they_are_hatched() -> None:
    body = shapely.box(0, 0, 20, 20)
    tail = body.union(shapely.box(20, 9, 40, 10))
    neck = shapely.union_all([body, shapely.box(25, 0, 45, 20), shapely.box(20, 9, 25, 10)])
    for region in (tail, neck):
        found = narrow_places(np.array([region]), np.array([2.0]), 2 * TIP)
        assert len(found) == 1 and found.area[0].area < 1.2 * region.intersection(shapely.box(20, 0, 40, 20)).area
        assert narrowest(np.array([region]), 2.0) == pytest.approx([1.0], abs=0.03)


def test_a_neck_is_narrow_however_short_and_a_stub_as_short_is_a_tip() -> None:
    body, bridge = shapely.box(0, 0, 20, 20), shapely.box(20, 9, 22.5, 10)
    neck = shapely.union_all([body, bridge, shapely.box(22.5, 0, 45, 20)])
    assert listed([body.union(bridge), neck], 2.0) == [1]


def test_a_corner_is_no_narrow_place_however_sharp_a_short_tip_is() -> None:
    square, disc = shapely.box(0, 0, 5, 5), shapely.Point(0, 0).buffer(4, quad_segs=64)
    triangle, petal = (shapely.Polygon([(0, 0), (20, 0), (10, tall)]) for tall in (18, 37))  # tips of 58° and 30°
    assert listed([square, disc, triangle, petal], 2.0) == []
    blade = shapely.Polygon([(0, 0), (40, 0), (40, 6)])  # its last 13 mm are narrower than 2 mm
    assert listed([blade], 2.0) == [0]


def test_what_is_smaller_than_the_tool_all_round_is_as_wide_as_the_largest_circle_in_it() -> None:
    dot = shapely.Point(0, 0).buffer(0.6, quad_segs=64)
    assert listed([dot], 2.0) == [0]
    assert narrowest(np.array([dot]), 2.0) == pytest.approx([1.2], abs=0.02)


def test_a_colour_that_is_wide_everywhere_gives_its_width_or_nothing() -> None:
    found = plan(on_board([[box(30, 30, 70, 35)], [box(30, 40, 70, 60)]], fill=["#3d6f63", "#f4c95d"]))
    assert found.narrow_regions == [] and isinstance(found.narrow_regions, list)
    widths = {entry.paint.colours[0]: entry.narrowest for entry in found.entries}
    assert widths["#3d6f63"] == pytest.approx(5.0, abs=0.1)
    assert widths["#f4c95d"] is None  # wider than four times the tool


def test_a_bridge_no_wider_than_a_hair_is_no_narrow_place() -> None:
    shapes = [[box(30, 30, 60, 60)], [box(60.04, 30, 90, 60)]]
    ground = [[box(25, 25, 95, 65)]]
    found = plan(on_board(ground + shapes, fill=["#f4ead8", "#3d6f63", "#6f5a95"]))
    assert found.narrow_regions == []
    wider = [[box(30, 30, 60, 60)], [box(60.5, 30, 90, 60)]]
    [place] = plan(on_board(ground + wider, fill=["#f4ead8", "#3d6f63", "#6f5a95"])).narrow_regions
    assert isinstance(place, NarrowRegion) and place.width == pytest.approx(0.5, abs=0.02)


def test_a_tip_beside_another_region_is_no_neck() -> None:
    body, bridge, other = shapely.box(0, 0, 20, 20), shapely.box(20, 9, 22.5, 10), shapely.box(22.5, 0, 45, 20)
    neck = shapely.union_all([body, bridge, other])
    stub = shapely.box(8, 20, 9, 22.5)  # ends at the other region's edge, which lies right above it
    above = translate(neck, yoff=22.5)
    found = narrow_places(np.array([neck.union(stub), above]), np.array([2.0, 2.0]), 2 * TIP)
    assert sorted(found.region.tolist()) == [0, 1]
    for place, bottom in zip(found.area, (0, 22.5), strict=True):
        assert place.intersects(translate(bridge, yoff=bottom))


def test_of_very_many_narrow_regions_none_reads_as_no_width_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Their width is worked out less closely; a hair's is the least, as thinner ones have gone to a neighbour."""
    monkeypatch.setattr("underdraw_stages.paint.narrow_places.MANY", 1)
    bands = shapely.box(0, np.arange(0, 30, 10.0), 60, np.arange(0, 30, 10.0) + np.array([0.11, 0.13, 1.3]))
    _, width = too_narrow(bands, 2.0)
    assert (width[:2] >= HAIR_MM).all() and (width[:2] <= [0.11, 0.13]).all()
    assert width[2] == pytest.approx(1.3, abs=2.0 / 16)
