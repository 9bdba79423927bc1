"""Edges that the eye does not see, as their two sides look alike, are left out; and those that it does see are not."""

from functools import partial

import night_artwork
import numpy as np
import pytest
import shapely
from night_artwork import (
    AMBER,
    INDIGO,
    IVORY,
    MOSS,
    artwork,
    blobs,
    box,
    fill,
    lines_of,
    painted,
    ring,
    same_bytes,
    stroke,
)
from references import all_lines, share_within

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import Ground
from underdraw.drawing.paint.colours import rgb_of
from underdraw.drawing.paint.difference import ciede2000, lab
from underdraw.drawing.paint.gradients import LinearGradient, RadialGradient, Stop
from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.seen import faint_edges
from underdraw_stages.tidy.seen.shown_paint import ShownPaint

run = partial(night_artwork.run, contrast=TidySettings().contrast)
tidied = partial(night_artwork.tidied, contrast=TidySettings().contrast)

LEAF = box(10, 10, 60, 60)
BESIDE = box(60, 10, 110, 60)
NIGHT = box(5, 5, 195, 195, colour=INDIGO)


def test_the_border_of_two_leaves_of_one_colour_is_left_out_and_told_of() -> None:
    result = run(artwork(LEAF, BESIDE))
    assert lines_of(result.drawing) == [[(10, 10), (10, 60), (110, 60), (110, 10), (10, 10)]]
    assert (result.figures["faint_mm"], result.figures["faint_shapes"]) == (50, 0)
    assert result.summary.endswith("50 mm of edges left out, as their sides look alike (--contrast)")


def test_edges_of_kilometres_are_looked_at_a_bounded_number_of_times(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = []
    differences = ShownPaint.differences
    monkeypatch.setattr(
        ShownPaint, "differences", lambda self, at, *rest: (looked.append(len(at)), differences(self, at, *rest))[1]
    )
    monkeypatch.setattr(faint_edges, "MOST_LOOKS", 1000)
    result = run(artwork(box(0, 10, 900_000, 60), box(0, 60, 900_000, 110)))
    assert looked[0] <= 1000 + 8  # a piece more for each side
    assert result.figures["faint_mm"] == 900_000


def test_with_0_every_edge_is_drawn() -> None:
    result = run(artwork(LEAF, BESIDE), contrast=0.0)
    assert result.drawing.drawn_mm == pytest.approx(350)
    assert result.drawing.faint is None
    assert "look alike" not in result.summary


def test_what_is_left_out_travels_with_the_drawing() -> None:
    faint = run(artwork(LEAF, BESIDE)).drawing.faint
    assert faint is not None and faint.length_mm == 50
    assert faint.path == "M60.00 60.00L60.00 10.00"


def test_a_shape_that_lost_every_edge_is_counted() -> None:
    result = run(artwork(NIGHT, box(50, 50, 80, 80, colour="#1c1c3b")))
    assert result.figures["faint_shapes"] == 1
    assert result.summary.endswith("look alike (--contrast), all edges of 1 shape among them")


def test_a_border_between_two_colours_stays() -> None:
    drawing = tidied(LEAF, box(60, 10, 110, 60, colour=IVORY))
    assert drawing.drawn_mm == pytest.approx(350)


def test_the_bare_page_is_no_colour() -> None:
    """Nor is the page's own background: an ivory moth on an ivory page keeps its outline."""
    moth = box(10, 10, 60, 60, colour=IVORY)
    assert tidied(moth).drawn_mm == pytest.approx(200)
    assert tidied(box(0, 0, 200, 200, colour=IVORY), moth).drawn_mm == pytest.approx(200)
    on_ivory = night_artwork.run(artwork(moth).replace(ground=Ground(IVORY)), contrast=5.0)
    assert on_ivory.drawing.drawn_mm == pytest.approx(200)


def test_a_wing_as_dark_as_the_night_behind_it_is_not_drawn() -> None:
    assert tidied(NIGHT, box(50, 50, 80, 80, colour=INDIGO)).drawn_mm == pytest.approx(760)


def test_of_a_wing_half_before_the_night_only_the_half_before_the_moon_is_drawn() -> None:
    """Exactly: the wing's edge ends where the moon's does, and the two meet there."""
    moon = painted(ring_at(100, 100), fill=IVORY)
    wing = box(90, 90, 180, 110, colour=INDIGO)
    drawing = tidied(NIGHT, moon, wing)
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
    assert tidied(LEAF, box(60 + slip, 10, 110, 60)).drawn_mm == pytest.approx(300, abs=0.2)


def test_of_see_through_paint_only_the_edges_that_can_be_told_are_drawn() -> None:
    """Moss at half opacity over moss is moss; over amber it is not."""
    glaze = {**box(40, 40, 90, 90), "fill_opacity": 0.5}
    assert tidied(LEAF, glaze).drawn_mm == pytest.approx(200 + 200 - 40)  # 2 by 20 mm of it lie on the leaf
    amber = box(10, 10, 60, 60, colour=AMBER)
    assert tidied(amber, glaze).drawn_mm == pytest.approx(200 + 200)


def test_without_cover_nothing_tells() -> None:
    assert tidied(LEAF, BESIDE, cover=False).drawn_mm == pytest.approx(350)


def test_a_broad_line_across_its_own_colour_is_not_seen() -> None:
    """A vein, 3 mm broad, in the leaf's own green, that runs on over the ivory beside it."""
    vein = stroke((20, 35), (90, 35), width=3.0, colour=MOSS)
    drawing = tidied(box(60, 10, 110, 60, colour=IVORY), LEAF, vein)
    assert drawing.drawn_mm == pytest.approx(350 + 30, abs=0.1)
    assert tidied(LEAF, {**vein, "stroke": AMBER}).drawn_mm > 200 + 69


def test_outlines_that_cross_are_each_drawn_through() -> None:
    """Where two broad outlines of one colour cross, each has the other's colour beside it; both are lines still."""
    cross = (stroke((10, 50), (90, 50), width=4), stroke((50, 10), (50, 90), width=4))
    assert same_bytes(tidied(*cross), tidied(*cross))


def test_a_fine_stalk_does_not_open_the_leaf_that_lies_on_it() -> None:
    """A stalk no broader than three tips is a line, and leaves no gap in an outline."""
    for width, gap in ((1.5, 0.0), (8.0, 8.0)):
        stalk = stroke((35, 35), (35, 150), width=width, colour=MOSS)
        drawing = tidied(stalk, LEAF)
        assert drawing.drawn_mm == pytest.approx(200 + 90 - gap, abs=0.1)


def test_a_sharp_notch_is_not_bitten_off() -> None:
    notch = fill((10, 10), (60, 10), (60, 60), (36, 60), (35, 20), (34, 60), (10, 60))
    other = box(100, 10, 150, 60)
    drawing = tidied(notch, other)
    assert (35, 20) in [point for line in lines_of(drawing) for point in line]
    assert same_bytes(drawing, tidied(notch, other))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_of_petals_of_one_colour_the_outline_of_their_union_is_left(seed: int) -> None:
    """Outside check: shapely's union of the petals, which `tidy` does not form."""
    petals = [{**petal, "fill": MOSS} for petal in blobs(80, seed)]
    outline = shapely.union_all([shapely.Polygon(petal["parts"][0]) for petal in petals]).boundary
    found = all_lines(tidied(*petals))
    assert share_within(found, outline, 0.05) > 0.999
    assert share_within(outline, found, 0.05) > 0.99
    assert found.length == pytest.approx(outline.length, rel=0.01)


@pytest.mark.slow
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
    found = all_lines(tidied(*petals))
    assert share_within(found, outline, 0.05) > 0.995
    assert share_within(outline, found, 0.05) > 0.98


@pytest.mark.parametrize("seed", range(3))
def test_left_out_twice_is_left_out_once(seed: int) -> None:
    once = run(artwork(*blobs(60, seed)))
    twice = run(once.drawing)
    assert same_bytes(once.drawing, twice.drawing)
    assert twice.figures["faint_mm"] == 0
    assert twice.drawing.faint == once.drawing.faint  # what the first run left out is still known


def test_lengths_add_up() -> None:
    figures = run(artwork(*blobs(60, 4))).figures
    gone = sum(figures[name] for name in ("hidden_mm", "doubled_mm", "dropped_mm", "faint_mm"))
    assert figures["before_mm"] - gone == pytest.approx(figures["drawn_mm"], abs=0.5)


# Gradients ----------------------------------------------------------------------------------------------------------


def fading(start: float, end: float, **looks: object) -> dict[str, object]:
    """From indigo at x = start mm to nothing at x = end mm."""
    stops = (Stop(0, INDIGO), Stop(1, INDIGO, 0.0))
    return {"fill": INDIGO, "fill_gradient": LinearGradient(stops, (end - start, 0.0, 0.0, 1.0, start, 0.0)), **looks}


def ends_of(drawing: Drawing) -> list[tuple[float, float]]:
    return sorted(point for line in lines_of(drawing) for point in (line[0], line[-1]))


def test_a_line_ends_where_its_shape_has_faded() -> None:
    """Half way of the higher threshold, 5: where indigo at some opacity differs by 2.5 from the page."""
    drawing = tidied({**box(20, 50, 180, 90), **fading(20, 120)})
    (x_one, y_one), (x_other, y_other) = ends_of(drawing)
    assert (y_one, y_other) == pytest.approx((50, 90), abs=0.01)
    assert x_one == pytest.approx(x_other, abs=0.05)
    assert 110 < x_one < 120
    assert len(drawing) == 1  # one stroke round the end that is seen, without a hook at either end
    coords = np.array(lines_of(drawing)[0])
    assert set(np.round(coords[:, 1], 3)) == {50, 90} and coords[:, 0].max() == pytest.approx(x_one, abs=0.05)


def test_where_a_line_ends_hangs_on_the_contrast_asked_for() -> None:
    shape = {**box(20, 50, 180, 90), **fading(20, 120)}
    ends = [ends_of(tidied(shape, contrast=contrast))[-1][0] for contrast in (2, 5, 10, 30)]
    assert ends == sorted(ends, reverse=True) and ends[0] - ends[-1] > 10


def test_a_line_that_dips_between_the_thresholds_is_not_broken() -> None:
    """Canny 1986: from 100 % down to where 4 is left, and up again; with one threshold of 5 it would be two lines."""
    stops = (Stop(0, INDIGO), Stop(0.5, INDIGO, 0.05), Stop(1, INDIGO))
    dip = LinearGradient(stops, (160.0, 0.0, 0.0, 1.0, 20.0, 0.0))
    shape = {**box(20, 50, 180, 90), "fill": INDIGO, "fill_gradient": dip}
    assert tidied(shape).drawn_mm == pytest.approx(400)
    assert tidied(shape, contrast=12.0).drawn_mm < 390


def test_an_edge_between_the_thresholds_all_along_is_not_drawn() -> None:
    """Sides that differ by more than the lower threshold keep an edge going; they do not make one."""
    one, other = lab(rgb_of(["#8a8a8a", "#969696"]))
    apart = float(ciede2000(one[None], other[None])[0])
    eyes = box(10, 10, 110, 110, colour="#8a8a8a"), box(40, 40, 60, 60, colour="#969696")
    assert tidied(*eyes, contrast=0.9 * apart).drawn_mm == pytest.approx(400 + 80)
    assert tidied(*eyes, contrast=apart / 0.75).drawn_mm == pytest.approx(400)


def test_a_glow_that_fades_all_round_has_no_edge() -> None:
    glow = RadialGradient((Stop(0, IVORY), Stop(1, IVORY, 0.0)), (30.0, 0.0, 0.0, 30.0, 100.0, 100.0))
    moon = painted(ring(100, 100, 30), fill=IVORY, fill_gradient=glow)
    drawing = tidied(NIGHT, moon)
    assert drawing.drawn_mm == pytest.approx(760)
    assert tidied(NIGHT, {**moon, "fill_gradient": None}).drawn_mm > 760 + 180


def test_an_eye_beneath_a_fading_shadow_is_not_lost() -> None:
    """A shape is not hidden by a gradient that has faded there, though it begins opaque."""
    eye = painted(ring(150, 70, 5), fill=AMBER)
    assert tidied(eye, {**box(20, 50, 180, 90), **fading(20, 120)}).drawn_mm > 30 + 200
    assert tidied(painted(ring(30, 70, 5), fill=AMBER), {**box(20, 50, 180, 90), **fading(25, 180)}).drawn_mm < 30 + 380


def test_two_shapes_that_share_an_edge_give_one_line() -> None:
    sky = LinearGradient((Stop(0, INDIGO), Stop(1, AMBER)), (0.0, 80.0, -80.0, 0.0, 0.0, 20.0))
    upper = {**box(20, 20, 180, 60), "fill_gradient": sky}
    lower = box(20, 60, 180, 100, colour=MOSS)
    assert tidied(upper, lower).drawn_mm == pytest.approx(2 * 160 + 2 * 80 + 160)


def test_of_a_blend_in_steps_the_outer_edge_alone_is_drawn() -> None:
    """Twelve steps from ivory to a shade darker, each less than can be told from the next."""
    steps = [
        painted(ring(100, 100, 80 - 5 * step), fill=f"#ff{255 - 3 * step:02x}{250 - 3 * step:02x}")
        for step in range(12)
    ]
    drawing = tidied(box(5, 5, 195, 195, colour=INDIGO), *steps)
    assert drawing.drawn_mm == pytest.approx(760 + 2 * np.pi * 80, rel=0.002)
    assert tidied(*steps, contrast=0.0).drawn_mm > 3000


def test_a_thin_dark_line_between_two_alike_sides_is_drawn() -> None:
    """A stroke is held against its own paint, too: its two sides are alike, and it is seen."""
    line = stroke((20, 35), (50, 35), width=0.5)
    assert tidied(LEAF, line).drawn_mm == pytest.approx(230)
    assert tidied(LEAF, {**line, "stroke": "#4b6c3b"}).drawn_mm == pytest.approx(200)


def test_a_broad_pale_line_between_two_colours_is_drawn_once_along_its_middle() -> None:
    border = stroke((60, 10), (60, 60), width=4, colour=MOSS, cap="butt")
    drawing = tidied(LEAF, box(60, 10, 110, 60, colour=IVORY), border, meet=False)
    assert share_within(shapely.LineString([(60, 10), (60, 60)]), all_lines(drawing), 0.01) == 1


# Blurs --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("blur", "edges"), ((0.5, 2), (0.7, 2), (0.8, 1), (5.0, 1)))
def test_a_blurred_edge_counts_as_seen_only_if_it_fades_over_less_than_the_tip(blur: float, edges: int) -> None:
    """The outline marker's tip is 0.7 mm, and only it is used."""
    drawing = tidied(LEAF, {**box(100, 100, 150, 150, colour=INDIGO), "blur": blur})
    assert len(drawing) == edges
    assert (drawing.faint is None) is (edges == 2)


def test_what_lies_beneath_a_soft_edge_is_not_hidden() -> None:
    moth = box(95, 95, 120, 120, colour=AMBER)
    soft = {**box(100, 100, 150, 150, colour=INDIGO), "blur": 5.0}
    assert share_within(shapely.LineString([(95, 95), (95, 120)]), all_lines(tidied(moth, soft)), 0.01) == 1


def test_a_hair_of_a_shape_is_kept_and_the_rest_of_the_shape_judged_all_the_same() -> None:
    """A leaf on one of its colour, with a hair of 0.1 mm beside it: the eye sees the hair, and no edge of the leaf."""
    hair = [(70, 20), (70.1, 20), (70.1, 50), (70, 50), (70, 20)]
    inner = [(20, 20), (40, 20), (40, 40), (20, 40), (20, 20)]
    drawn = shapely.union_all(tidied(LEAF, painted(inner, hair, fill=MOSS)).part_lines())
    assert drawn.intersection(shapely.box(15, 15, 55, 55)).length == 0
    assert shapely.LineString([(70, 20), (70, 50)]).difference(drawn.buffer(0.11)).length == 0
    assert drawn.difference(shapely.box(9, 9, 61, 61)).length >= 30
