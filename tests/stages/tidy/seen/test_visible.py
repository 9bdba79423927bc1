"""What the eye sees: stacked shapes, strokes over fills, see-through shapes, the page."""

import numpy as np
import pytest
import resvg_py
import shapely
from night_artwork import (
    AMBER,
    INDIGO,
    IVORY,
    MOSS,
    SHEET,
    artwork,
    blobs,
    box,
    fill,
    lines_of,
    painted,
    ring,
    run,
    stroke,
    tidied,
)
from references import all_lines, seen_outlines, share_within
from rendered import pixels

from underdraw.drawing.trimming import trim
from underdraw.errors import CannotDo


def test_an_opaque_petal_hides_the_outline_beneath_it() -> None:
    drawing = tidied(box(10, 10, 60, 60), box(40, 40, 90, 90))
    assert drawing.drawn_mm == pytest.approx(200 + 160, abs=1e-3)
    assert run(artwork(box(10, 10, 60, 60), box(40, 40, 90, 90))).figures["hidden_mm"] == pytest.approx(40)


def test_white_hides_as_well_as_any_colour() -> None:
    assert len(tidied(box(20, 20, 50, 50), box(10, 10, 60, 60, colour=IVORY))) == 1


@pytest.mark.parametrize("how", ({"fill_opacity": 0.5}, {"fill": "", "stroke": MOSS, "stroke_width": 0.1}))
def test_what_can_be_seen_through_hides_nothing(how: dict[str, object]) -> None:
    drawing = tidied(box(20, 20, 50, 50), {**box(30, 10, 60, 60), **how})
    assert drawing.drawn_mm == pytest.approx(120 + 160, abs=0.5)


def test_what_an_almost_opaque_moth_lies_on_is_not_seen_through_it() -> None:
    for opacity, shapes in ((0.98, 1), (0.8, 2)):
        moth = {**box(10, 10, 60, 60, colour=INDIGO), "fill_opacity": opacity}
        assert len(tidied(box(20, 20, 50, 50), moth, contrast=5.0)) == shapes


def test_nothing_is_hidden_without_cover() -> None:
    assert tidied(box(20, 20, 50, 50), box(10, 10, 60, 60), cover=False).drawn_mm == pytest.approx(120 + 200)


def test_a_fills_edge_under_its_thick_outline_goes_and_the_outlines_middle_stays() -> None:
    drawing = tidied(box(10, 10, 60, 60), {**box(10, 10, 60, 60), "fill": "", "stroke": "#000000", "stroke_width": 3})
    assert len(drawing) == 1
    assert drawing.drawn_mm == pytest.approx(200)
    assert drawing.bounds == (10, 10, 60, 60)


def test_a_shape_with_a_stroke_is_drawn_once_along_its_middle() -> None:
    drawing = tidied({**box(10, 10, 60, 60), "stroke": "#000000", "stroke_width": 2})
    assert (len(drawing), drawing.drawn_mm) == (1, pytest.approx(200))


def test_an_edge_that_only_peeks_out_from_under_an_outline_is_not_drawn_beside_it() -> None:
    """A fill 0.1 mm larger than the outer edge of its own outline, as colour trapped under a line is."""
    outline = {**box(10, 10, 60, 60), "fill": "", "stroke": "#000000", "stroke_width": 3}
    assert len(tidied(box(8.4, 8.4, 61.6, 61.6), outline)) == 1
    assert len(tidied(box(7.9, 7.9, 62.1, 62.1), outline)) == 2


def test_a_fill_left_open_under_a_stroke_shows_its_closing_edge() -> None:
    """SVG 1.1, section 11.3: open subpaths are filled as if they were closed."""
    leaf, other = (
        painted([(at, 10), (at + 50, 10), (at + 50, 60)], fill=MOSS, stroke="#000000", stroke_width=1.0)
        for at in (10, 80)
    )
    assert tidied(leaf).drawn_mm == pytest.approx(100 + 50 * np.sqrt(2), abs=0.01)
    both = tidied(leaf, stroke((10, 90), (140, 90)), other)
    assert both.drawn_mm == pytest.approx(130 + 2 * (100 + 50 * np.sqrt(2)), abs=0.01)


def test_and_where_the_shape_was_cut_at_a_fold_too() -> None:
    """What is left of the stroke and of the closing edge, and no line along the cut."""
    leaf = painted([(10, 10), (60, 10), (60, 60)], fill=MOSS, stroke="#000000", stroke_width=1.0)
    cut = trim(artwork(leaf), [(0.0, 0.0, 40.0, 200.0)]).drawing
    assert run(cut).drawing.drawn_mm == pytest.approx(30 + 30 * np.sqrt(2), abs=0.05)
    beyond = trim(artwork(leaf), [(50.0, 0.0, 200.0, 200.0)]).drawing
    assert run(beyond).drawing.drawn_mm == pytest.approx(10 + 50 + 10 * np.sqrt(2), abs=0.05)


@pytest.mark.parametrize(("evenodd", "edges"), ((True, 2), (False, 1)))
def test_both_fill_rules_are_kept(evenodd: bool, edges: int) -> None:
    """SVG 1.1, section 11.3, 'fill-rule': two rings of the same direction leave a hole by even-odd alone."""
    moon = painted(ring(50, 50, 40), ring(50, 50, 20), fill=MOSS, evenodd=evenodd)
    beneath = box(45, 45, 55, 55)
    drawing = tidied(beneath, moon)
    assert len(drawing) == edges + (1 if evenodd else 0)


def test_a_line_under_a_broad_stroke_runs_on_to_its_middle_and_no_farther() -> None:
    lower, upper = stroke((0, 50), (50, 52)), stroke((48, 20), (48, 90), width=6, colour="#000000")
    meets = tidied(lower, upper, join=0.0, shortest=0.0)
    assert shapely.MultiLineString(lines_of(meets)).length == pytest.approx(70 + np.hypot(48, 48 * 2 / 50), abs=0.01)
    stops = tidied(lower, upper, meet=False, join=0.0, shortest=0.0)
    assert stops.drawn_mm == pytest.approx(70 + np.hypot(45, 45 * 2 / 50), abs=0.01)


def test_a_line_has_no_gap_where_another_stroke_ends_on_it() -> None:
    """A handle drawn over the body of a vase, its round end on the body's line: the eye sees the body go on."""
    body, handle = stroke((10, 50), (90, 50), width=4), stroke((50, 50.5), (50, 90), width=4)
    assert (10, 50) in lines_of(tidied(body, handle))[0]
    assert tidied(body, handle, join=0.0).drawn_mm == pytest.approx(80 + 39.5, abs=0.01)


def test_two_broad_strokes_cross_as_lines_do() -> None:
    drawing = tidied(stroke((10, 50), (90, 50), width=4), stroke((50, 10), (50, 90), width=4))
    assert sorted(lines_of(drawing)) == [[(10, 50), (50, 50), (90, 50)], [(50, 10), (50, 50), (50, 90)]]


def test_the_pages_background_is_no_shape() -> None:
    page = box(0, 0, *SHEET, colour=IVORY)
    result = run(artwork(page, box(10, 10, 60, 60)))
    assert len(result.drawing) == 1
    assert result.figures["background"] == 1
    assert "background" in result.summary


def test_a_dot_that_was_meant_as_a_dot_stays_unless_it_is_covered() -> None:
    pollen = [painted([(x, 30), (x, 30)], stroke=AMBER, stroke_width=1.0, cap="round") for x in (20, 30, 40)]
    drawing = tidied(*pollen, box(35, 20, 60, 60))
    assert lines_of(drawing)[-2:] == [[(20, 30), (20, 30)], [(30, 30), (30, 30)]]
    assert (drawing.marker[-2:] == "accent").all()


def test_a_fill_of_one_marker_hides_lines_of_another() -> None:
    drawing = tidied(stroke((0, 30), (100, 30), colour=AMBER), box(20, 20, 50, 50))
    assert drawing.select(drawing.marker == "accent").drawn_mm == pytest.approx(70, abs=1e-3)


def test_nothing_left_to_draw_is_said() -> None:
    with pytest.raises(CannotDo, match="nothing is left to draw of 1 shape"):
        tidied(painted([(0, 0), (10, 10)], stroke="#000000", stroke_width=1.0, stroke_opacity=0.0))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_seen_outlines_agree_with_each_boundary_less_the_union_above_it(seed: int) -> None:
    """Outside check: shapely, another way."""
    drawing = artwork(*blobs(60, seed))
    wanted = seen_outlines(drawing)
    found = all_lines(run(drawing, same=0.0, join=0.0, shortest=0.0, points=0.001).drawing)
    assert share_within(found, wanted, 0.005) == 1.0
    assert share_within(wanted, found, 0.005) == 1.0
    assert found.length == pytest.approx(wanted.length, rel=1e-4)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_seen_outlines_agree_where_broad_strokes_lie_over_fills(seed: int) -> None:
    """Outside check: shapely, another way; lines are left to end at the edge of a stroke above them."""
    random = np.random.default_rng(seed)
    shapes = blobs(25, seed)
    for _ in range(12):
        points = random.uniform(20, 170, (3, 2))
        shapes.insert(
            int(random.integers(len(shapes))), stroke(*points, width=float(random.uniform(2, 8)), join="bevel")
        )
    drawing = artwork(*shapes)
    wanted = seen_outlines(drawing, same=0.2)
    found = all_lines(run(drawing, meet=False, join=0.0, shortest=0.0, points=0.001).drawing)
    assert share_within(found, wanted, 0.08) > 0.995
    assert share_within(wanted, found, 0.08) > 0.995


def test_lines_lie_where_a_renderer_shows_an_edge() -> None:
    """Outside check: colours that an independent renderer (resvg) puts side by side."""
    drawing = artwork(*blobs(30, 7, side=120))
    colours = [f"#{40 + 7 * row:02x}{(90 * row) % 250:02x}{(37 * row) % 250:02x}" for row in range(len(drawing))]
    paths = [
        f'<path d="M{" ".join(f"{x},{y}" for x, y in drawing.part_coords(row))}Z" fill="{colour}"/>'
        for row, colour in enumerate(colours)
    ]
    scale = 3
    picture = pixels(
        bytes(
            resvg_py.svg_to_bytes(
                svg_string=f'<svg xmlns="http://www.w3.org/2000/svg" width="{200 * scale}" height="{200 * scale}" '
                f'viewBox="0 0 200 200" shape-rendering="crispEdges">{"".join(paths)}</svg>'
            )
        )
    )
    value = (picture * np.array([1, 256, 65536, 16777216])).sum(axis=2)
    right, down = np.argwhere(value[:, 1:] != value[:, :-1]), np.argwhere(value[1:] != value[:-1])
    edges = np.concatenate([right[:, ::-1] + [1.0, 0.5], down[:, ::-1] + [0.5, 1.0]]) / scale
    lines = all_lines(run(drawing).drawing)
    assert shapely.dwithin(shapely.points(edges), lines, 1.0 / scale).mean() > 0.995
    along = shapely.points(shapely.get_coordinates(shapely.segmentize(lines, 0.2)))
    assert shapely.dwithin(along, shapely.multipoints(edges), 1.2 / scale).mean() > 0.995


def test_a_shape_that_shows_nothing_is_counted() -> None:
    flat = fill((10, 10), (20, 10), (30, 10))
    result = run(artwork(flat, box(50, 50, 80, 80)))
    assert result.figures["unpainted"] == 1
    assert "1 shape shows nothing" in result.summary


@pytest.mark.parametrize(("limit", "hidden"), [(4.0, 0.0), (6.0, 1.0)])
def test_a_tip_that_is_bevelled_hides_nothing_where_its_miter_would_have_been(limit: float, hidden: float) -> None:
    """A moth's feeler, 6 mm wide, ends in 23°: its miter would be 5 widths long, and is bevelled at 4."""
    feeler = painted([(20, 40), (120, 60), (20, 80)], stroke="#000000", stroke_width=6.0, miter_limit=limit)
    twig = stroke((126, 20), (126, 100), width=0.1)
    drawn = shapely.union_all(tidied(twig, feeler, meet=False).part_lines())
    gone = shapely.LineString([(126, 20), (126, 100)]).difference(shapely.buffer(drawn, 1e-6)).length
    assert set(tidied(twig, feeler).miter_limit.tolist()) == {4.0}  # a marker's strokes have round joins
    tip = 120 + 3 / np.sin(np.arctan(0.2))
    assert gone == pytest.approx(hidden * 2 * (tip - 126) * 0.2, abs=1e-3)
