"""A panel that does not fit the bed is refused with the reason, and with remedies that then work."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underdraw import CannotDo, Panel
from underdraw.panel import bed_fit, largest_faces, reach, require_on_bed
from underdraw.panel.bed import fits

INCH = 25.4
BED = (24 * INCH, 48 * INCH)


def panel(**sizes: object) -> Panel:
    said = {"face": (16 * INCH, 20 * INCH), "depth": 2.5 * INCH, "bleed": 0.5 * INCH, "staple": INCH, "bed": BED}
    return Panel(**{**said, **sizes})  # type: ignore[arg-type]


def test_a_24_by_48_bed_takes_a_16_by_40_face_with_the_whole_canvas_on_it() -> None:
    """Common practice, no source."""
    upright, level = largest_faces(panel(), BED)
    assert upright == pytest.approx((16 * INCH, 40 * INCH), abs=1e-3)
    assert level == pytest.approx((40 * INCH, 16 * INCH), abs=1e-3)


def test_with_the_strip_folded_down_the_same_bed_takes_18_by_42() -> None:
    """Only the board has to lie in reach: 2 in more each way than with the strip lying flat."""
    upright, level = largest_faces(panel(strip="down"), BED)
    assert upright == pytest.approx((18 * INCH, 42 * INCH), abs=1e-3)
    assert level == pytest.approx((42 * INCH, 18 * INCH), abs=1e-3)
    most = panel(strip="down", face=(18 * INCH, 42 * INCH))
    assert bed_fit(most, BED).corner == pytest.approx((0, 0, 0, 0), abs=1e-3)
    assert most.canvas == pytest.approx((26 * INCH, 50 * INCH))  # what is cut stays as it was
    assert most.lying_box == pytest.approx((0, 0, 24 * INCH, 48 * INCH))


def test_folding_the_strip_down_is_offered_where_it_makes_the_panel_fit() -> None:
    with pytest.raises(CannotDo) as error:
        require_on_bed(panel(face=(18 * INCH, 20 * INCH)))
    assert 'try: fold the staple strip down and staple it to the board\'s edge: [canvas] strip = "down"' in str(
        error.value
    )
    require_on_bed(panel(face=(18 * INCH, 20 * INCH), strip="down"))
    with pytest.raises(CannotDo) as error:
        require_on_bed(panel(face=(19 * INCH, 20 * INCH), strip="down"))
    assert "the board is 635 mm wide and the bed 609.6 mm: 25.4 mm too wide" in str(error.value)
    assert "strip" not in str(error.value).replace("strip = ", "")
    assert "staple" not in str(error.value)


def test_an_offset_takes_its_whole_size_from_a_board_that_lies_alone() -> None:
    flat, down = panel(), panel(strip="down")
    assert largest_faces(flat, BED, (20.0, 0.0))[0][0] == pytest.approx(16 * INCH)  # the strip lies there anyway
    assert largest_faces(down, BED, (20.0, 0.0))[0][0] == pytest.approx(18 * INCH - 20, abs=1e-3)


def test_what_a_panel_needs_and_lacks_is_known_along_each_way() -> None:
    """24 x 28 in of canvas: 4 in too wide for a bed of 20 x 48 in, 8 in too tall for one of 24 x 20."""
    for bed, over in (((20, 48), (4, 0)), ((24, 20), (0, 8)), ((20, 20), (4, 8)), ((24, 48), (0, 0))):
        fit = bed_fit(panel(), (bed[0] * INCH, bed[1] * INCH))
        assert fit.need == pytest.approx((24 * INCH, 28 * INCH))
        assert fit.over == pytest.approx((over[0] * INCH, over[1] * INCH)) and fit.fits is (over == (0, 0))


@pytest.mark.parametrize(("offset", "reached"), [(609, True), (610, False), (-762, False)])
def test_an_offset_as_long_as_the_bed_leaves_no_reach_and_no_sum_below_zero_is_named(offset, reached) -> None:
    (reason,) = bed_fit(panel(face=(16 * INCH, 20 * INCH)), BED, (offset, 0.0)).reasons
    assert ("leaves a reach of 0.6 mm" in reason) is reached
    assert ("the marker reaches nothing of it" in reason) is not reached and "-" not in reason.replace(f"{offset}", "")


@settings(max_examples=80, deadline=None)
@given(
    strip=st.sampled_from(["flat", "down"]),
    bed=st.tuples(st.floats(400, 2000), st.floats(400, 2000)),
    offset=st.tuples(st.floats(-80, 80), st.floats(-80, 80)),
    staple=st.floats(0, 40),
    stretch=st.tuples(st.floats(0, 0.1), st.floats(0, 0.1)),
)
def test_the_largest_face_fits_and_one_a_millimetre_larger_does_not(
    strip: str, bed: tuple[float, float], offset: tuple[float, float], staple: float, stretch: tuple[float, float]
) -> None:
    some = panel(bed=None, depth=40.0, bleed=10.0, staple=staple, stretch=stretch, strip=strip)
    w, h = largest_faces(some, bed, offset)[0]
    assert fits(some.with_sizes(face=(w, h)), bed, offset)
    assert not fits(some.with_sizes(face=(w + 1.0, h)), bed, offset)
    assert not fits(some.with_sizes(face=(w, h + 1.0)), bed, offset)


def test_a_job_that_misses_the_bed_by_a_millimetre_is_refused_and_each_remedy_works() -> None:
    over = panel(face=(16 * INCH + 1.0, 20 * INCH), unit="in")
    with pytest.raises(CannotDo) as refused:
        require_on_bed(over)
    assert "0.039 in too wide" in str(refused.value)
    lying = bed_fit(over, BED)
    assert {remedy.text.split(":")[0] for remedy in lying.remedies} >= {
        "less bleed",
        "a shallower frame",
        "a narrower staple strip",
        "a smaller face",
    }
    for remedy in lying.remedies:
        assert remedy.panel is not None
        require_on_bed(remedy.panel)
        assert remedy.text in str(refused.value)


def test_a_panel_that_fits_only_lying_is_told_to_turn() -> None:
    lying = bed_fit(panel(face=(40 * INCH, 16 * INCH), unit="in"), BED)
    assert not lying.fits
    assert lying.remedies[0].text == 'turn it 90°: [canvas] face = "16 in x 40 in"'
    assert lying.remedies[0].panel == panel(face=(16 * INCH, 40 * INCH), unit="in")


@settings(max_examples=100, deadline=None)
@given(
    face=st.tuples(st.floats(100, 700), st.floats(100, 1300)),
    depth=st.floats(5, 80),
    bleed=st.floats(0, 25),
    staple=st.floats(0, 40),
    offset=st.tuples(st.floats(-60, 60), st.floats(-60, 60)),
    unit=st.sampled_from(["mm", "in"]),
)
def test_every_remedy_that_is_named_makes_the_panel_fit(
    face: tuple[float, float], depth: float, bleed: float, staple: float, offset: tuple[float, float], unit: str
) -> None:
    lying = bed_fit(panel(face=face, depth=depth, bleed=bleed, staple=staple, unit=unit), BED, offset)
    assert lying.fits is not bool(lying.reasons)
    for remedy in lying.remedies:
        if remedy.panel is None:
            assert fits(panel(face=face, depth=depth, bleed=bleed, staple=staple), BED)
        else:
            assert bed_fit(remedy.panel, BED, offset).fits


def test_the_reach_is_the_bed_less_the_offset_on_one_side() -> None:
    assert reach((600.0, 1200.0), (0.0, -60.0)) == (0.0, 0.0, 600.0, 1140.0)
    assert reach((600.0, 1200.0), (25.0, 0.0)) == (25.0, 0.0, 600.0, 1200.0)


@settings(max_examples=100, deadline=None)
@given(
    face=st.tuples(st.floats(100, 500), st.floats(100, 900)),
    offset=st.tuples(st.floats(-60, 60), st.floats(-60, 60)),
    staple=st.floats(0, 40),
)
def test_wherever_the_board_may_lie_the_canvas_is_on_the_bed_and_the_image_in_reach(
    face: tuple[float, float], offset: tuple[float, float], staple: float
) -> None:
    some = panel(face=face, depth=40.0, bleed=10.0, staple=staple)
    lying = bed_fit(some, BED, offset)
    if lying.corner is None:
        return
    x0, y0, x1, y1 = reach(BED, offset)
    for x, y in (lying.corner[:2], lying.corner[2:]):
        assert x >= staple - 1e-3 and y >= staple - 1e-3
        assert x + some.image[0] + staple <= BED[0] + 1e-3 and y + some.image[1] + staple <= BED[1] + 1e-3
        assert x >= x0 - 1e-3 and y >= y0 - 1e-3
        assert x + some.image[0] <= x1 + 1e-3 and y + some.image[1] <= y1 + 1e-3


def test_a_holder_beside_the_spindle_takes_from_the_reach_and_says_so() -> None:
    tall = panel(face=(16 * INCH, 40 * INCH), unit="in")
    assert fits(tall, BED) and fits(tall, BED, (0.0, -INCH))  # the staple strip makes up for an inch
    lying = bed_fit(tall, BED, (0.0, -60.0))
    assert not lying.fits
    assert "holder's offset of -2.362 in" in lying.reasons[0]
    assert "a holder with a smaller offset" in [remedy.text for remedy in lying.remedies]


def test_a_remedy_leaves_an_inch_behind_the_frame_to_stretch_by() -> None:
    """At least 1 in must reach behind the frame: common practice, no source."""
    tight = panel(face=(16 * INCH + 30.0, 20 * INCH), bleed=0.25 * INCH, staple=0.75 * INCH)
    for remedy in bed_fit(tight, BED).remedies:
        assert remedy.panel is None or remedy.panel.return_mm >= INCH
