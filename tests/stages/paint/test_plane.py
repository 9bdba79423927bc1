"""The board cut into regions of one paint: what an independent renderer shows, sums, folds, hairs, alike colours."""

import numpy as np
import pytest
import shapely
from banded import banded
from raster_areas import pixel_areas

from underdraw import Drawing, Panel
from underdraw.drawing.facts import Ground, OnBoard
from underdraw.drawing.paint.gradients import LinearGradient, Stop, moved_gradient
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw_stages.paint import PaintSettings
from underdraw_stages.paint.paint_plan import PaintPlan, plan_of
from underdraw_stages.paint.plane.faces import PARTS, cut_into_faces
from underdraw_stages.paint.plane.seen_paints import seen_paints

WRAPPED = {"canvas": {"face": "80 x 60 mm", "depth": "15 mm", "bleed": "5 mm", "staple": "20 mm"}}
BOARD = (120.0, 100.0)


def ring(x: float, y: float, size: float, points: int = 40) -> np.ndarray:
    """A round petal."""
    turn = np.linspace(0, 2 * np.pi, points)
    made = np.column_stack([x + size * np.cos(turn), y + size * np.sin(turn)])
    made[-1] = made[0]
    return made


def box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)])


def on_board(shapes: list[list[np.ndarray]], **columns: object) -> Drawing:
    """Fills on a wrapped panel of 80 x 60 mm: board 120 x 100 mm, face from 20, 20 to 100, 80."""
    drawing = Drawing.build(shapes, BOARD, job_from_data(WRAPPED, "moth"), **columns)
    return drawing.replace(lying=OnBoard(wrapped=True))


def plan(drawing: Drawing, **written: object) -> PaintPlan:
    faces = cut_into_faces(drawing, Panel.of(drawing.job))
    return plan_of(faces, *seen_paints(drawing, faces), read_settings(PaintSettings, written))


def areas(found: PaintPlan) -> dict[str, float]:
    """mm² of each colour on the whole board, "" for bare canvas."""
    return {
        **{entry.paint.colours[0]: float(entry.on_part.sum()) for entry in found.entries},
        "": float(found.bare.sum()),
    }


def garden(seed: int, count: int = 60) -> Drawing:
    """Petals on one another, some with holes by either fill rule, some translucent."""
    rng = np.random.default_rng(seed)
    shapes, evenodd = [], []
    for _ in range(count):
        x, y, size = rng.uniform(0, 120), rng.uniform(0, 100), rng.uniform(3, 18)
        parts = [ring(x, y, size)]
        if rng.random() < 0.5:
            parts.append(ring(x + size / 3, y, size / 2)[:: rng.choice([1, -1])])
        shapes.append([np.clip(part, (0, 0), BOARD) for part in parts])
        evenodd.append(bool(rng.random() < 0.5))
    colours = np.array(["#f4c95d", "#3d6f63", "#6f5a95", "#bcd7e6", "#fbfaff"], dtype=object)
    fill = colours[rng.integers(0, len(colours), count)]
    opacity = np.where(rng.random(count) < 0.1, 0.4, 1.0)
    return on_board(shapes, fill=fill, evenodd=evenodd, fill_opacity=opacity)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_areas_by_colour_are_what_an_independent_renderer_paints(seed: int) -> None:
    """resvg, 20 pixels a mm: within 0.5 %, or within the pixels along the colour's edges."""
    drawing = garden(seed)
    ours = areas(plan(drawing, alike=0))
    theirs, edges = pixel_areas(drawing, 20.0)
    blended = {name: area for name, area in theirs.items() if name not in ours}
    # Blends of eight-bit layers may come out one step off; there are hardly any beside those.
    assert sum(theirs[name] for name in ours if name in theirs) > 0.8 * sum(theirs.values())
    for name, area in ours.items():
        beside = sum(more for other, more in blended.items() if near(name, other))
        limit = max(0.005 * area, sum(edges[each] for each in theirs if each == name or near(name, each)))
        assert theirs.get(name, 0.0) + beside == pytest.approx(area, abs=limit + 0.1), name


def banded_garden(seed: int) -> Drawing:
    """Petals on one another, opaque, each in bands of one colour by a gradient of its own."""
    rng = np.random.default_rng(seed)
    shapes, gradients = [], np.full(16, None, dtype=object)
    for at in range(len(gradients)):
        x, y, size = rng.uniform(0, 120), rng.uniform(0, 100), rng.uniform(10, 25)
        shapes.append([np.clip(ring(x, y, size), (0, 0), BOARD)])
        gradients[at] = moved_gradient(banded(rng, 2 * size), (1.0, 0.0, 0.0, 1.0, x - size, y - size))
    return on_board(shapes, fill="#f4c95d", fill_gradient=gradients)


@pytest.mark.parametrize("seed", range(4))
def test_bands_of_gradients_are_painted_in_the_colours_that_a_renderer_shows(seed: int) -> None:
    """resvg, 10 pixels a mm: within 0.5 %, or within a third of the pixels along the colour's edges."""
    drawing = banded_garden(seed)
    found = plan(drawing, alike=0)
    assert {entry.paint.kind for entry in found.entries} == {"colour"}
    theirs, edges = pixel_areas(drawing, 10.0)
    ours = areas(found)
    assert set(ours) == set(theirs)
    for name, area in ours.items():
        assert theirs[name] == pytest.approx(area, abs=max(0.005 * area, edges[name] / 3)), name


def near(one: str, other: str) -> bool:
    """Whether two colours differ by eight-bit rounding alone."""
    if not one or not other:
        return False
    steps = [abs(int(one[at : at + 2], 16) - int(other[at : at + 2], 16)) for at in (1, 3, 5)]
    return max(steps) <= 2


@pytest.mark.parametrize("seed", range(4))
def test_the_regions_are_the_whole_board_and_share_nothing(seed: int) -> None:
    found = plan(garden(seed))
    regions = np.concatenate([found.area, found.bare_area])
    assert shapely.area(regions).sum() == pytest.approx(BOARD[0] * BOARD[1], rel=1e-12)
    assert sum(areas(found).values()) == pytest.approx(BOARD[0] * BOARD[1], rel=1e-12)
    assert shapely.union_all(regions).area == pytest.approx(BOARD[0] * BOARD[1], rel=1e-9)
    assert shapely.is_valid(regions).all()


def test_a_region_goes_over_the_fold_in_one_and_its_area_is_known_on_each_part() -> None:
    drawing = on_board([[box(10, 30, 60, 50)]], fill="#3d6f63")
    found = plan(drawing)
    [entry] = found.entries
    assert entry.regions == 1 and len(found.area) == 1
    # The face begins at x = 20 mm, the frame's side at x = 5 mm.
    assert dict(zip(PARTS, entry.on_part.round(6).tolist(), strict=True)) == {
        "face": 40 * 20.0,
        "sides": 10 * 20.0,
        "bleed": 0.0,
        "corners": 0.0,
    }
    across = plan(on_board([[box(0, 0, 120, 100)]], fill="#3d6f63")).entries[0]
    assert across.on_part.tolist() == pytest.approx([4800.0, 2 * 15 * (80 + 60), 2 * 5 * (80 + 60), 4 * 400.0])
    # Corner squares fold away and take no paint: 0.3 mm in 2 coats on what is left.
    assert across.millilitres == pytest.approx((4800 + 4200 + 1400) * 0.3 * 2 / 1000)


def test_what_lies_beneath_an_opaque_fill_is_not_painted_and_a_stroke_is_no_paint() -> None:
    shapes = [[box(30, 30, 60, 60)], [box(25, 25, 70, 70)], [box(80, 30, 90, 40)]]
    drawing = on_board(shapes, fill=["#3d6f63", "#f4c95d", ""], stroke=["", "", "#1b1b3a"], stroke_width=[0, 0, 4])
    found = plan(drawing)
    assert [entry.paint.colours for entry in found.entries] == [("#f4c95d",)]


def test_a_translucent_fill_gives_the_blend_that_is_seen() -> None:
    """Source-over of Porter and Duff (1984): half black over white canvas is mid grey, over mid grey darker."""
    shapes = [[box(30, 30, 60, 60)], [box(40, 40, 70, 70)]]
    found = plan(on_board(shapes, fill="#000000", fill_opacity=0.5), alike=0)
    assert {entry.paint.colours[0]: round(float(entry.on_part.sum())) for entry in found.entries} == {
        "#808080": 2 * 900 - 2 * 400,
        "#404040": 400,
    }


def test_colours_nearer_than_alike_are_one_and_the_larger_one_stands_for_both() -> None:
    shapes = [[box(30, 30, 60, 60)], [box(60, 30, 70, 60)]]
    drawing = on_board(shapes, fill=["#3d6f63", "#3e7063"])
    [entry] = plan(drawing).entries
    assert (entry.paint.colours, entry.regions) == (("#3d6f63",), 1)
    assert float(entry.on_part.sum()) == pytest.approx(40 * 30)
    assert len(plan(drawing, alike=0.1).entries) == 2


def test_a_painted_page_leaves_no_canvas_bare() -> None:
    drawing = on_board([[box(30, 30, 60, 60)]], fill="#3d6f63").replace(ground=Ground("#22264b"))
    found = plan(drawing)
    assert float(found.bare.sum()) == 0
    assert {entry.paint.colours[0] for entry in found.entries} == {"#22264b", "#3d6f63"}


def test_gradients_and_patterns_are_one_entry_each_by_what_they_are() -> None:
    dusk = LinearGradient((Stop(0, "#5d6aab"), Stop(1, "#f4ead8")), (100.0, 0.0, 0.0, 1.0, 0.0, 0.0))
    flipped = LinearGradient(dusk.stops, (-100.0, 0.0, 0.0, 1.0, 100.0, 0.0))  # as beyond a mirrored fold
    shapes = [[box(30, 30, 50, 50)], [box(60, 30, 80, 50)], [box(30, 60, 50, 70)], [box(60, 60, 80, 70)]]
    gradients = np.array([dusk, flipped, None, None], dtype=object)
    drawing = on_board(
        shapes,
        fill=["#5d6aab", "#5d6aab", "#6f5a95", "#6f5a95"],
        fill_gradient=gradients,
        fill_pattern=[False, False, True, False],
        fill_opacity=[1, 1, 0.5, 1],
    )
    found = {(entry.paint.kind, entry.paint.way): entry for entry in plan(drawing).entries}
    assert set(found) == {("gradient", "linear"), ("pattern", ""), ("colour", "")}
    assert found["gradient", "linear"].paint.colours == ("#5d6aab", "#f4ead8")
    assert found["gradient", "linear"].regions == 2
    assert found["pattern", ""].paint.colours == ("#6f5a95",)


def test_a_hair_between_shapes_that_should_meet_goes_to_a_neighbour() -> None:
    """A gap of 0.04 mm all round between shapes is no region to paint around; one of 0.2 mm is."""
    for gap, bare in ((0.04, 1), (0.2, 2)):
        shapes = [[box(30, 30, 60, 60)], [box(60 + gap, 30, 90, 60)], [box(50, 60, 70, 62)], [box(50, 28, 70, 30)]]
        found = plan(on_board(shapes, fill=["#3d6f63", "#f4c95d", "#6f5a95", "#6f5a95"]))
        assert len(found.bare_area) == bare
        total = {entry.paint.colours[0]: float(entry.on_part.sum()) for entry in found.entries}
        given = gap * 30 if bare == 1 else 0.0
        assert total["#3d6f63"] + total["#f4c95d"] == pytest.approx((60 - gap) * 30 + given)


def test_light_colours_come_first_or_large_ones() -> None:
    shapes = [[box(30, 30, 60, 60)], [box(60, 30, 70, 60)], [box(70, 30, 75, 60)]]
    drawing = on_board(shapes, fill=["#1b1b3a", "#f4ead8", "#6f5a95"])
    assert [e.paint.colours[0] for e in plan(drawing).entries] == ["#f4ead8", "#6f5a95", "#1b1b3a"]
    assert [e.paint.colours[0] for e in plan(drawing, order="large").entries] == ["#1b1b3a", "#f4ead8", "#6f5a95"]
