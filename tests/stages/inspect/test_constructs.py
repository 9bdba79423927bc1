"""Small constructs with known answers are found, and what reads well sets off no alarm."""

import numpy as np
import pytest
import shapely
from constructs import CONSTRUCTS, TIP, Construct, crossing, pair

from underdraw import Drawing, Job
from underdraw_stages.inspect.found.all_spots import ink_widths, spots_of
from underdraw_stages.inspect.found.artwork_shown import ArtworkShown
from underdraw_stages.inspect.found.spot import Spot


def strokes_of(lines: list[object] | tuple[object, ...], turned: float = 0.0, width: float = TIP) -> Drawing:
    """Lines in widths of the ink as strokes, turned by some degrees about a corner of the board."""
    angle = np.radians(turned)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return Drawing.build(
        [[np.asarray(line, dtype=np.float64) @ turn * width + 100.0] for line in lines],
        (200.0, 200.0),
        Job(),
        marker="outline",
        stroke_width=width,
    ).replace(hides_nothing=True)


def found(drawing: Drawing, tip: float | None = None) -> list[Spot]:
    return spots_of(drawing, ink_widths(drawing, tip), ArtworkShown(drawing.artwork))


def test_there_are_forty_of_them() -> None:
    assert len(CONSTRUCTS) >= 40
    assert len({each.name for each in CONSTRUCTS}) == len(CONSTRUCTS)


@pytest.mark.parametrize("turned", [0.0, 37.0])
@pytest.mark.parametrize("each", CONSTRUCTS, ids=[each.name for each in CONSTRUCTS])
def test_a_construct_is_found_as_it_should_be(each: Construct, turned: float) -> None:
    assert {spot.kind for spot in found(strokes_of(each.lines, turned))} == each.kinds


@pytest.mark.parametrize("width", [0.3, 1.5, 4.0])
@pytest.mark.parametrize("each", CONSTRUCTS, ids=[each.name for each in CONSTRUCTS])
def test_another_tip_at_the_same_ratio_finds_the_same(each: Construct, width: float) -> None:
    assert {spot.kind for spot in found(strokes_of(each.lines, width=width))} == each.kinds


def test_the_length_of_a_pair_is_that_of_both_lines() -> None:
    (spot,) = found(strokes_of(pair(0.5)))
    assert spot.length == pytest.approx(2 * 30 * TIP, rel=0.02)
    assert spot.strokes.tolist() == [1, 2]


def test_lines_of_two_widths_merge_where_their_ink_touches() -> None:
    drawing = strokes_of(pair(1.0))  # 0.7 mm apart
    broad = drawing.replace(stroke_width=np.array([0.7, 0.9]))
    assert not found(drawing.replace(stroke_width=np.array([0.3, 0.9])))
    assert [spot.kind for spot in found(broad)] == ["merge"]


def test_a_stroke_that_is_cut_in_two_reads_as_before() -> None:
    whole = [[(0, 0), (30, 0)]]
    cut = [[(0, 0), (14.0, 0)], [(14.0, 0), (30, 0)]]
    bent = [[(0, 0), (14.0, 0)], [(14.0, 0), (14.3, 0.2)], [(14.3, 0.2), (30, 0)]]
    assert not found(strokes_of(whole))
    assert not found(strokes_of(cut))
    assert not [spot for spot in found(strokes_of(bent)) if spot.kind != "fine"]  # the middle one is short


def test_a_thousand_plain_crossings_set_off_no_alarm() -> None:
    rng = np.random.default_rng(5)
    across = [[(x, -40), (x, 40)] for x in np.cumsum(rng.uniform(2.0, 3.0, 32))]
    along = [[(-5, y), (100, y + 3)] for y in np.cumsum(rng.uniform(2.0, 3.0, 28)) - 35]
    assert not found(strokes_of([*across, *along]))


def test_another_tip_is_tried_without_a_change_of_the_drawing() -> None:
    drawing = strokes_of(pair(1.5))
    assert not found(drawing)
    assert [spot.kind for spot in found(drawing, tip=2 * TIP)] == ["merge"]


def test_the_worst_comes_first() -> None:
    far = [np.add(line, (0, 20)) for line in pair(0.5, 60.0)]
    spots = found(strokes_of([*pair(0.5), *far]))
    assert [spot.strokes.tolist() for spot in spots] == [[3, 4], [1, 2]]


def test_a_spot_lies_on_its_lines() -> None:
    for each in CONSTRUCTS:
        drawing = strokes_of(each.lines)
        lines = shapely.multilinestrings(drawing.part_lines())
        for spot in found(drawing):
            assert shapely.distance(shapely.points(spot.at), lines) <= TIP, each.name


def test_the_first_three_widths_from_a_meeting_are_no_fault() -> None:
    meeting = shapely.points(100.0, 100.0)
    spots = found(strokes_of(crossing(3.0)))
    assert len(spots) == 2  # one on either side
    assert all(shapely.distance(meeting, spot.outline) > 2.5 * TIP for spot in spots)
