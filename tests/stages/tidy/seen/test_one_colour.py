"""Edges with one colour on both sides: told of and drawn, or left out if that is wished."""

import numpy as np
import pytest
import shapely
from night_artwork import (
    AMBER,
    INDIGO,
    IVORY,
    MOSS,
    Listener,
    artwork,
    blobs,
    box,
    fill,
    lines_of,
    painted,
    run,
    same_bytes,
    stroke,
    tidied,
)
from references import all_lines, share_within

LEAF = box(10, 10, 60, 60)
BESIDE = box(60, 10, 110, 60)
NIGHT = box(5, 5, 195, 195, colour=INDIGO)


def test_the_border_of_two_leaves_of_one_colour_is_told_of_and_drawn() -> None:
    listener = Listener()
    result = run(artwork(LEAF, BESIDE), listener)
    assert result.drawing.drawn_mm == pytest.approx(350)
    assert listener.warnings == [
        "about 50 mm of edges have one colour on both sides; drawn; --drop-unseen leaves them out"
    ]
    assert result.figures["one_colour_mm"] == pytest.approx(50, abs=1)
    assert not result.figures["one_colour_dropped"]


def test_it_is_left_out_when_asked() -> None:
    listener = Listener()
    result = run(artwork(LEAF, BESIDE), listener, drop_unseen=True)
    assert lines_of(result.drawing) == [[(10, 10), (10, 60), (110, 60), (110, 10), (10, 10)]]
    assert (result.figures["one_colour_mm"], result.figures["one_colour_dropped"]) == (50, True)
    assert result.summary.endswith("50 mm with one colour on both sides left out")
    assert listener.warnings == []


def test_a_little_is_not_told() -> None:
    listener = Listener()
    run(artwork(LEAF, box(60, 10, 80, 30)), listener)
    assert listener.warnings == []


def test_a_border_between_two_colours_stays() -> None:
    drawing = tidied(LEAF, box(60, 10, 110, 60, colour=IVORY), drop_unseen=True)
    assert drawing.drawn_mm == pytest.approx(350)


def test_the_bare_page_is_no_colour() -> None:
    """Nor is the page's own background: an ivory moth on an ivory page keeps its outline."""
    moth = box(10, 10, 60, 60, colour=IVORY)
    assert tidied(moth, drop_unseen=True).drawn_mm == pytest.approx(200)
    assert tidied(box(0, 0, 200, 200, colour=IVORY), moth, drop_unseen=True).drawn_mm == pytest.approx(200)


def test_a_wing_as_dark_as_the_night_behind_it_is_not_drawn() -> None:
    assert tidied(NIGHT, box(50, 50, 80, 80, colour=INDIGO), drop_unseen=True).drawn_mm == pytest.approx(760)


def test_of_a_wing_half_before_the_night_only_the_half_before_the_moon_is_drawn() -> None:
    """Exactly: the wing's edge ends where the moon's does, and the two meet there."""
    moon = painted(ring_at(100, 100), fill=IVORY)
    wing = box(90, 90, 180, 110, colour=INDIGO)
    drawing = tidied(NIGHT, moon, wing, drop_unseen=True)
    inside = shapely.Polygon(moon["parts"][0])
    seen = shapely.Polygon(wing["parts"][0]).boundary.intersection(inside)
    rim = inside.boundary.difference(shapely.Polygon(wing["parts"][0]))
    assert drawing.drawn_mm == pytest.approx(760 + seen.length + rim.length, abs=0.02)
    assert len(drawing) == 2
    assert drawing.part_closed().all()


def ring_at(x: float, y: float) -> list[tuple[float, float]]:
    turn = np.linspace(0, 2 * np.pi, 200)
    circle = [(x + 40 * np.cos(t), y + 40 * np.sin(t)) for t in turn[:-1]]
    return [*circle, circle[0]]


@pytest.mark.parametrize("slip", (0.01, -0.01))
def test_leaves_that_do_not_quite_meet_are_one_area_all_the_same(slip: float) -> None:
    assert tidied(LEAF, box(60 + slip, 10, 110, 60), drop_unseen=True).drawn_mm == pytest.approx(300, abs=0.2)


@pytest.mark.parametrize("where", ("beneath", "above"))
def test_where_paint_can_be_seen_through_every_edge_stays(where: str) -> None:
    glaze = {**box(40, 40, 90, 90), "fill_opacity": 0.5}
    shapes = (glaze, LEAF) if where == "beneath" else (LEAF, glaze)
    assert tidied(*shapes, drop_unseen=True).drawn_mm == pytest.approx(tidied(*shapes).drawn_mm)
    assert run(artwork(*shapes)).figures["one_colour_mm"] == 0


def test_without_cover_nothing_tells() -> None:
    assert tidied(LEAF, BESIDE, cover=False, drop_unseen=True).drawn_mm == pytest.approx(350)


def test_a_broad_line_across_its_own_colour_is_not_seen() -> None:
    """A vein, 3 mm broad, in the leaf's own green, that runs on over the ivory beside it."""
    vein = stroke((20, 35), (90, 35), width=3.0, colour=MOSS)
    drawing = tidied(box(60, 10, 110, 60, colour=IVORY), LEAF, vein, drop_unseen=True)
    assert drawing.drawn_mm == pytest.approx(350 + 30, abs=0.1)
    assert tidied(LEAF, {**vein, "stroke": AMBER}, drop_unseen=True).drawn_mm > 200 + 69


def test_outlines_that_cross_are_each_drawn_through() -> None:
    """Where two broad outlines of one colour cross, each has the other's colour beside it; both are lines still."""
    cross = (stroke((10, 50), (90, 50), width=4), stroke((50, 10), (50, 90), width=4))
    assert same_bytes(tidied(*cross, drop_unseen=True), tidied(*cross))


def test_a_fine_stalk_does_not_open_the_leaf_that_lies_on_it() -> None:
    """A stalk no broader than three tips is a line, and leaves no gap in an outline."""
    for width, gap in ((1.5, 0.0), (8.0, 8.0)):
        stalk = stroke((35, 35), (35, 150), width=width, colour=MOSS)
        drawing = tidied(stalk, LEAF, drop_unseen=True)
        assert drawing.drawn_mm == pytest.approx(200 + 90 - gap, abs=0.1)


def test_a_sharp_notch_is_not_bitten_off() -> None:
    notch = fill((10, 10), (60, 10), (60, 60), (36, 60), (35, 20), (34, 60), (10, 60))
    other = box(100, 10, 150, 60)
    drawing = tidied(notch, other, drop_unseen=True)
    assert (35, 20) in [point for line in lines_of(drawing) for point in line]
    assert same_bytes(drawing, tidied(notch, other))


@pytest.mark.parametrize("seed", range(4))
def test_of_petals_of_one_colour_the_outline_of_their_union_is_left(seed: int) -> None:
    """Outside check: shapely's union of the petals, which `tidy` does not form."""
    petals = [{**petal, "fill": MOSS} for petal in blobs(80, seed)]
    outline = shapely.union_all([shapely.Polygon(petal["parts"][0]) for petal in petals]).boundary
    found = all_lines(tidied(*petals, drop_unseen=True))
    assert share_within(found, outline, 0.05) > 0.999
    assert share_within(outline, found, 0.05) > 0.99
    assert found.length == pytest.approx(outline.length, rel=0.01)


@pytest.mark.parametrize("seed", range(3))
def test_of_petals_of_three_colours_the_outlines_of_the_areas_that_show_are_left(seed: int) -> None:
    """Outside check: the area of each colour that shows, from the top down, by shapely."""
    petals = blobs(60, seed)
    above, areas = shapely.Polygon(), dict[str, list[object]]()
    for petal in reversed(petals):
        area = shapely.Polygon(petal["parts"][0])
        areas.setdefault(str(petal["fill"]), []).append(area.difference(above))
        above = above.union(area)
    outline = shapely.union_all([shapely.union_all(each).buffer(0.005).boundary for each in areas.values()])
    found = all_lines(tidied(*petals, drop_unseen=True))
    assert share_within(found, outline, 0.05) > 0.995
    assert share_within(outline, found, 0.05) > 0.98


@pytest.mark.parametrize("seed", range(3))
def test_left_out_twice_is_left_out_once(seed: int) -> None:
    once = run(artwork(*blobs(60, seed)), drop_unseen=True)
    twice = run(once.drawing, drop_unseen=True)
    assert same_bytes(once.drawing, twice.drawing)
    assert twice.figures["one_colour_mm"] == 0


@pytest.mark.parametrize("drop", (True, False))
def test_lengths_add_up(drop: bool) -> None:
    figures = run(artwork(*blobs(60, 4)), drop_unseen=drop).figures
    left = figures["before_mm"] - figures["hidden_mm"] - figures["doubled_mm"] - figures["dropped_mm"]
    left -= figures["one_colour_mm"] if drop else 0
    assert left == pytest.approx(figures["drawn_mm"], abs=0.5)


def test_what_is_told_is_about_what_is_left_out() -> None:
    shapes = artwork(*({**petal, "fill": MOSS} for petal in blobs(300, 1)))
    told, left_out = (run(shapes, drop_unseen=drop).figures["one_colour_mm"] for drop in (False, True))
    assert told == pytest.approx(left_out, rel=0.05)
