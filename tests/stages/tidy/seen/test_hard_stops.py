"""A line where a gradient changes its colour at once, and none where it fades; as an independent renderer shows it."""

from functools import partial

import night_artwork
import numpy as np
import pytest
import shapely
from banded import banded
from night_artwork import AMBER, INDIGO, IVORY, MOSS, artwork, box, fill, lines_of, ring, stroke
from rendered import rendered

from underdraw.drawing.paint.gradients import Gradient, LinearGradient, RadialGradient, Stop
from underdraw.drawing.wire import write_drawing
from underdraw_stages.tidy import TidySettings

run = partial(night_artwork.run, contrast=TidySettings().contrast)
tidied = partial(night_artwork.tidied, contrast=TidySettings().contrast)

PER_MM = 10  # pixels
SQUARE = [(10, 10), (10, 90), (90, 90), (90, 10), (10, 10)]


def banded_box(*offsets: float, **looks: object) -> night_artwork.Shape:
    """A square of 80 mm, amber above and moss below; the stops between them at these shares of its height."""
    first, last = offsets
    stops = (Stop(0, AMBER), Stop(first, AMBER), Stop(last, MOSS), Stop(1, MOSS))
    return box(10, 10, 90, 90, fill_gradient=LinearGradient(stops, (0.0, 80.0, -80.0, 0.0, 10.0, 10.0)), **looks)


def test_a_hard_stop_is_a_line_across_its_fill() -> None:
    drawn = tidied(banded_box(0.25, 0.25))
    assert shapely.union_all(drawn.part_lines()).equals(
        shapely.union_all([shapely.LineString(SQUARE), shapely.LineString([(10, 30), (90, 30)])])
    )


def test_a_fade_within_the_tip_is_a_line_in_its_middle_and_a_wider_one_none() -> None:
    """The tip is 0.7 mm; 80 mm long, the fades are of 0.64 and 0.8 mm."""
    narrow, wide = tidied(banded_box(0.25, 0.258)), tidied(banded_box(0.25, 0.26))
    assert shapely.length(narrow.part_lines()).sum() == pytest.approx(400)
    assert shapely.distance(shapely.union_all(narrow.part_lines()), shapely.Point(50, 10 + 80 * 0.254)) < 1e-4
    assert shapely.length(wide.part_lines()).sum() == pytest.approx(320)


def test_a_hard_stop_of_colours_that_look_alike_is_no_edge_and_counted() -> None:
    stops = (Stop(0.5, MOSS), Stop(0.5, "#4b6b3a"))
    shape = box(10, 10, 90, 90, fill_gradient=LinearGradient(stops, (80.0, 0.0, 0.0, 80.0, 10.0, 10.0)))
    result = run(artwork(shape))
    assert shapely.length(result.drawing.part_lines()).sum() == pytest.approx(320)
    assert result.figures["faint_mm"] == pytest.approx(80)
    assert shapely.length(tidied(shape, contrast=0.0).part_lines()).sum() == pytest.approx(400)


def test_what_lies_above_hides_it_and_its_own_stroke_is_met_in_the_middle() -> None:
    leaf = box(30, 20, 60, 40, colour=INDIGO)
    outline = stroke(*SQUARE, width=4.0)
    drawn = tidied({**banded_box(0.25, 0.25), **{key: outline[key] for key in ("stroke", "stroke_width")}}, leaf)
    across = shapely.union_all(drawn.part_lines()).intersection(shapely.LineString([(0, 30), (100, 30)]))
    pieces = [piece.bounds[::2] for piece in across.geoms if piece.length > 0]
    assert sorted(pieces) == [(10, 30), (60, 90)]


def test_a_fill_that_is_drawn_as_its_middle_line_has_no_line_across() -> None:
    stops = (Stop(0.5, AMBER), Stop(0.5, MOSS))
    stem = box(10, 10, 90, 11, fill_gradient=LinearGradient(stops, (80.0, 0.0, 0.0, 80.0, 10.0, 10.0)))
    assert shapely.length(tidied(stem).part_lines()).sum() == pytest.approx(162 + 1)
    drawn = tidied(stem, centre=2.0)
    assert drawn.coords[:, 1] == pytest.approx(10.5, abs=0.1)


def test_a_page_in_bands_keeps_its_horizon_and_is_not_outlined() -> None:
    stops = (Stop(0.6, INDIGO), Stop(0.6, MOSS))
    night = box(0, 0, 200, 200, fill_gradient=LinearGradient(stops, (0.0, 200.0, -200.0, 0.0, 0.0, 0.0)))
    moon = fill(*ring(100, 50, 20)[:-1], colour=IVORY)
    drawn = lines_of(tidied(night, moon))
    assert sorted(len(line) for line in drawn)[0] == 2 and len(drawn) == 2
    assert sorted(drawn, key=len)[0] == [(0, 120), (200, 120)]


def test_rings_of_a_radial_gradient_are_smooth() -> None:
    stops = (Stop(0.5, AMBER), Stop(0.5, MOSS))
    drawn = tidied(box(10, 10, 90, 90, fill_gradient=RadialGradient(stops, (30.0, 0.0, 0.0, 30.0, 50.0, 50.0))))
    [moon] = [line for line in drawn.part_lines() if shapely.length(line) < 200]
    away = np.hypot(*(shapely.get_coordinates(shapely.segmentize(moon, 0.5)) - 50).T)
    assert shapely.is_closed(moon) and np.abs(away - 15).max() <= 0.02


@pytest.mark.parametrize("seed", range(12))
def test_lines_stand_where_a_renderer_shows_an_edge_and_wherever_it_does(seed: int) -> None:
    """resvg, 10 pixels a mm: a change of colour has a line within 0.2 mm, and on both sides of a line it changes."""
    random = np.random.default_rng(seed)
    gradient: Gradient = banded(random, 100.0)
    x, y = random.uniform(-8, 8, 2)
    moth = fill((15, 15), (60 + x, 25), (85, 20), (80, 60 + y), (85, 90), (40, 75), (20, 85), fill_gradient=gradient)
    drawing = artwork(moth, sheet=(100.0, 100.0))
    lines = shapely.union_all(run(drawing).drawing.part_lines())
    picture = rendered(write_drawing(drawing).decode(), 100 * PER_MM)
    for axis in (0, 1):
        changes = np.abs(np.diff(picture, axis=axis)).max(axis=2) > 60
        places = (np.argwhere(changes)[:, ::-1] + (0.5, 1.0) * np.roll([1, 1], axis) + 0.25) / PER_MM
        assert len(places) > 100
        assert shapely.distance(lines, shapely.points(places)).max() < 0.2
    places = [line.interpolate(mm) for line in shapely.get_parts(lines) for mm in np.arange(1, line.length - 1)]
    corners = shapely.MultiPoint(moth["parts"][0])
    at = shapely.get_coordinates([place for place in places if place.distance(corners) > 1])
    for col, row in np.floor(at * PER_MM).astype(int).tolist():
        around = picture[max(row - 3, 0) : row + 4, max(col - 3, 0) : col + 4].reshape(-1, 3)
        assert np.ptp(around, axis=0).max() > 60
