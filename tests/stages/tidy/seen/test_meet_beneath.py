"""Where broad outlines meet: an edge that comes out at a stroke's end or side is joined to what will be drawn there."""

import numpy as np
import pytest
import shapely
from night_artwork import artwork, box, fill, lines_of, ring, run, same_bytes, stroke, tidied

from underdraw.drawing.trimming import trim

WING = box(20, 20, 100, 80)


def free_ends(*shapes: object, **settings: object) -> list[tuple[float, float]]:
    """Ends of strokes that no other line touches."""
    drawing = tidied(*shapes, **settings)  # type: ignore[arg-type]
    lines = drawing.part_lines()
    ends = []
    for at, line in enumerate(lines):
        others = shapely.union_all([other for place, other in enumerate(lines) if place != at])
        if not line.is_closed:
            ends += [point.coords[0] for point in line.boundary.geoms if point.distance(others) > 0.001]
    return ends


def test_an_edge_that_goes_on_beneath_its_outline_is_joined_to_the_outlines_end() -> None:
    """A wing outlined on three sides, the outline's round ends on the wing's edge: the whole outline is one ring."""
    outline = stroke((20, 20), (100, 20), (100, 80), (20, 80), width=5)
    drawing = tidied(WING, outline)
    assert lines_of(drawing) == [[(20, 20), (20, 80), (100, 80), (100, 20), (20, 20)]]


@pytest.mark.parametrize("aside", (0.6, -0.6, 1.2))
def test_it_is_joined_where_it_does_not_run_along_the_outlines_very_middle(aside: float) -> None:
    outline = stroke((20, 20 + aside), (100, 20 + aside), (100, 80 + aside), (20, 80 + aside), width=5)
    assert free_ends(WING, outline) == []


@pytest.mark.parametrize("aside", (0.6, -0.6))
def test_an_outline_along_a_part_of_an_edge_is_joined_to_the_rest_of_it(aside: float) -> None:
    """A mane drawn along the neck: its round ends come a little beside the neck's own edge, and no gap is left."""
    mane = stroke((40, 20 + aside), (80, 20 + aside), width=5)
    drawing = tidied(WING, mane)
    assert len(drawing) == 1
    assert drawing.part_closed().all()
    assert drawing.drawn_mm == pytest.approx(280, abs=1.5)


def test_a_line_ends_on_the_outline_that_is_drawn_not_on_one_hidden_there() -> None:
    """A vein runs beneath a broad stem whose middle is hidden, where the vein comes to it, by a bud's stalk."""
    vein = stroke((10, 50), (90, 50), width=1)
    stem, stalk = stroke((60, 20), (60, 90), width=10), stroke((62, 40), (62, 60), width=8)
    assert sorted(free_ends(vein, stem, stalk)) == [(10, 50), (60, 20), (60, 90), (90, 50)]
    assert (62, 50) in [point for line in lines_of(tidied(vein, stem, stalk)) for point in line]


def test_an_edge_that_peeks_out_along_an_outline_gets_no_hooks() -> None:
    """It leaves the outline's edge at a small angle, and comes back so: carried across it would be two hooks."""
    outline = stroke((20, 50), (60, 50), (100, 50), width=6)
    bump = fill((20, 45), (20, 52), (60, 54), (100, 52), (100, 45))
    drawing = tidied(bump, outline, shortest=0.0)
    (peeking,) = [line for line in drawing.part_lines() if line.bounds[3] > 53.5]
    assert peeking.bounds == pytest.approx((44, 53.2, 76, 54), abs=0.01)


def test_without_meet_an_edge_stops_at_the_outlines_edge() -> None:
    outline = stroke((20, 20), (100, 20), (100, 80), (20, 80), width=5)
    assert len(tidied(WING, outline, meet=False)) == 2


def test_joined_twice_is_joined_once() -> None:
    outline = stroke((20, 20.6), (100, 20.6), (100, 80.6), (20, 80.6), width=5)
    once = run(artwork(WING, outline)).drawing
    assert same_bytes(once, run(once).drawing)


def test_an_edge_that_peeks_out_from_under_its_outline_is_not_drawn_where_the_image_ends_either() -> None:
    """A moon cut by the image's edge: what is left of its fill's edge is an edge still, and no stroke."""
    moon = fill(*ring(200, 100, 18.45)[:-1]), stroke(*ring(200, 100, 20), width=3)
    cut = trim(artwork(*moon), [(0, 0, 200, 200)]).drawing
    lines = lines_of(run(cut).drawing)
    assert len(lines) == 1
    assert all(abs(np.hypot(x - 200, y - 100) - 20) < 0.05 for x, y in lines[0])


def test_what_is_left_of_a_cut_fills_edge_hides_no_line_beside_it() -> None:
    """A line drawn a third of a tip from a cut petal's edge, beneath it: as beside a petal that was not cut."""
    petal, line = fill((150, 50), (210, 50), (210, 90), (150, 90)), stroke((100, 49.75), (190, 49.75), width=0.1)
    whole, cut = (trim(artwork(line, petal), [(0, 0, width, 200)]).drawing for width in (220, 200))
    drawn = [shapely.multilinestrings(run(each, same=0.0, join=0.0).drawing.part_lines()) for each in (whole, cut)]
    assert all(lines.distance(shapely.Point(170, 49.75)) < 0.001 for lines in drawn)
