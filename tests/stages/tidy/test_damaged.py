"""Damaged geometry gives a right result or one clear line; no shape is lost in silence."""

import numpy as np
import pytest
import shapely
from night_artwork import artwork, box, fill, painted, ring, run, stroke, tidied
from references import all_lines, farthest, fewest_by_networkx

from underdraw.errors import CannotDo
from underdraw_stages.tidy.scribbles import require_no_scribble


@pytest.mark.parametrize("evenodd", (True, False))
def test_a_bow_tie_is_seen_by_its_outline(evenodd: bool) -> None:
    drawing = tidied(fill((10, 10), (50, 50), (50, 10), (10, 50), evenodd=evenodd))
    assert drawing.drawn_mm == pytest.approx(80 + 2 * np.hypot(40, 40), abs=1e-3)
    assert len(drawing) == 1


def test_a_star_drawn_in_one_go_shows_its_inside_lines_by_even_odd_alone() -> None:
    points = [(50 + 40 * np.cos(t), 50 + 40 * np.sin(t)) for t in np.arange(5) * 4 * np.pi / 5]
    outline = tidied(fill(*points))
    inside = tidied(fill(*points, evenodd=True))
    assert inside.drawn_mm == pytest.approx(shapely.LineString([*points, points[0]]).length, rel=1e-4)
    golden = (1 + np.sqrt(5)) / 2  # each chord of the pentagram loses the side of the inner pentagon
    assert outline.drawn_mm == pytest.approx(inside.drawn_mm * 2 / golden**2, rel=1e-4)


def test_a_fill_of_no_area_is_counted() -> None:
    result = run(artwork(fill((10, 10), (50, 10), (30, 10)), fill((5, 5), (5, 5)), box(60, 60, 90, 90)))
    assert (len(result.drawing), result.figures["unpainted"]) == (1, 2)


@pytest.mark.slow
@pytest.mark.parametrize(("points", "refused"), [(200, False), (1001, True)])
def test_a_scribble_of_thousands_of_crossings_is_refused_at_once(points: int, refused: bool) -> None:
    chords = [(50 + 40 * np.cos(t), 50 + 40 * np.sin(t)) for t in np.arange(points) * 2.4]
    scribble = artwork(stroke(*chords))
    if refused:
        with pytest.raises(CannotDo, match="crosses itself more than 25,000 times"):
            run(scribble)
    else:
        require_no_scribble(scribble)


def test_a_long_zigzag_that_never_crosses_is_no_scribble() -> None:
    require_no_scribble(artwork(stroke(*((at / 100, at % 2 * 50.0) for at in range(5000)))))


def test_ten_thousand_points_on_one_spot_are_a_dot_or_nothing() -> None:
    heap = [(30.0, 30.0)] * 10_000
    round_ended = painted(heap, stroke="#000000", stroke_width=1.0, cap="round")
    butt_ended = painted(heap, stroke="#000000", stroke_width=1.0)
    filled = painted(heap, fill="#000000")
    result = run(artwork(round_ended, butt_ended, filled, box(60, 60, 90, 90)))
    assert len(result.drawing) == 2
    assert result.figures["unpainted"] == 2


def test_ten_thousand_points_within_a_hair_are_no_trouble() -> None:
    random = np.random.default_rng(0)
    scribble = 30 + random.normal(0, 0.003, (10_000, 2)).round(4)
    drawing = tidied(painted(scribble, stroke="#000000", stroke_width=1.0, cap="round"), box(60, 60, 90, 90))
    assert len(drawing) >= 2


def test_nested_rings_are_all_drawn() -> None:
    rings = [ring(50, 50, radius) for radius in range(2, 42, 2)]
    drawing = tidied(painted(*rings, fill="#445588", evenodd=True))
    assert len(drawing) == 20
    assert drawing.drawn_mm == pytest.approx(sum(shapely.LineString(each).length for each in rings), rel=1e-3)


def test_far_from_zero_is_as_good_as_near() -> None:
    """Coordinates at 10⁶ mm: a kilometre, still a tenth of a micrometre in a double."""
    shapes = [box(10, 10, 60, 60), box(40, 40, 90, 90), stroke((20, 0), (20, 100))]
    near = tidied(*shapes)
    for shape in shapes:
        shape["parts"] = [part + 1e6 for part in shape["parts"]]
    far = tidied(*shapes)
    assert np.allclose(far.coords - 1e6, near.coords, atol=2e-4)
    assert len(far) == len(near)


def test_a_ring_that_touches_itself_keeps_its_outline() -> None:
    pinched = fill((10, 10), (50, 10), (50, 50), (30, 10), (10, 50))
    assert tidied(pinched).drawn_mm == pytest.approx(shapely.Polygon(pinched["parts"][0]).buffer(0).length, abs=1e-3)


def test_a_line_that_runs_back_on_itself_is_drawn_once() -> None:
    drawing = tidied(stroke((10, 10), (90, 10), (30, 10), (60, 10), (60, 60)))
    assert drawing.drawn_mm == pytest.approx(130)
    assert len(drawing) == fewest_by_networkx(drawing)


@pytest.mark.slow
def test_scribbles_over_each_other_lose_nothing() -> None:
    random = np.random.default_rng(4)
    scribbles = [stroke(*random.uniform(20, 60, (80, 2)), width=0.1) for _ in range(2)]
    drawing = run(artwork(*scribbles), cover=False, same=0.0, join=0.0, shortest=0.0).drawing
    wanted = shapely.union_all([shapely.LineString(shape["parts"][0]) for shape in scribbles])
    assert drawing.drawn_mm == pytest.approx(wanted.length, rel=1e-3)
    assert farthest(wanted, all_lines(drawing)) < 0.02
    assert len(drawing) == fewest_by_networkx(drawing)


def test_one_point_is_a_dot() -> None:
    drawing = tidied(painted([(20, 20)], stroke="#000000", stroke_width=1.0, cap="square"), box(60, 60, 90, 90))
    assert (drawing.part_lengths() == 0).sum() == 1
