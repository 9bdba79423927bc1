"""Bars and sheets that give the face and the depth exactly, and resin by the gallon."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underdraw import CannotDo, Panel
from underdraw.panel.materials import ML_PER_GALLON, CutList, cut_list, resin
from underdraw.panel.report import area

INCH = 25.4


def panel(face: tuple[float, float] = (16 * INCH, 20 * INCH), depth: float = 2.5 * INCH) -> Panel:
    return Panel(face=face, depth=depth, bleed=0.5 * INCH, staple=INCH, unit="in")


def piece(cuts: CutList, word: str) -> tuple[int, tuple[float, float], float]:
    found = next(item for item in cuts.pieces if word in item.name)
    return found.count, found.size, found.thickness


@settings(max_examples=60, deadline=None)
@given(
    face=st.tuples(st.floats(150, 1500), st.floats(150, 1500)),
    depth=st.floats(20, 90),
    thick=st.floats(10, 40),
    sheet=st.floats(0, 10),
    corners=st.sampled_from(["butt", "mitred"]),
)
def test_sawn_pieces_put_together_give_the_face_and_the_depth(
    face: tuple[float, float], depth: float, thick: float, sheet: float, corners: str
) -> None:
    made = panel(face, depth)
    cuts = cut_list(made, (thick, depth), sheet, corners)  # type: ignore[arg-type]
    (_, (long, height), _), (_, (short, _), _) = piece(cuts, "long"), piece(cuts, "short")
    assert height + sheet == pytest.approx(made.depth, abs=1e-3)
    assert long == pytest.approx(max(made.face), abs=1e-3)
    outside = short if corners == "mitred" else short + 2 * thick
    assert outside == pytest.approx(min(made.face), abs=1e-3)
    if sheet:
        assert piece(cuts, "sheet")[1] == made.face
    assert piece(cuts, "board")[1] == made.board


def test_mitred_bars_are_shorter_inside_by_twice_their_thickness() -> None:
    cuts = cut_list(panel(), (0.75 * INCH, 2.5 * INCH), corners="mitred")
    for item in cuts.pieces[:2]:
        assert item.ends == (45.0, 45.0)
        assert item.inside == pytest.approx(item.size[0] - 1.5 * INCH)


def test_a_long_span_gets_braces_between_its_bars() -> None:
    """A brace each 24 in: common practice, no source."""
    assert "brace" not in [item.name for item in cut_list(panel(), (0.75 * INCH, 2.5 * INCH)).pieces]
    count, (length, _), _ = piece(cut_list(panel((16 * INCH, 40 * INCH)), (0.75 * INCH, 2.5 * INCH)), "brace")
    assert (count, length) == (1, pytest.approx(14.5 * INCH))


def test_no_bar_is_asked_for_more_than_it_has() -> None:
    cuts = cut_list(panel((24 * INCH, 36 * INCH)), (0.75 * INCH, 2.5 * INCH), bar_length=48 * INCH, kerf=3.0)
    sawn = [length for bar in cuts.bars for length in bar]
    assert sorted(sawn) == sorted(
        item.size[0] for item in cuts.pieces if "b" in item.name[:9] for _ in range(item.count) if item.thickness
    )
    for bar in cuts.bars:
        assert sum(bar) + 3.0 * (len(bar) - 1) <= 48 * INCH + 1e-6


def test_a_mitre_takes_the_saws_width_times_the_root_of_two_of_a_bar() -> None:
    """Common practice, no source: a cut at 45 degrees is so much longer along the bar than across it."""
    face = panel((10 * INCH, 20 * INCH))
    bar, kerf = (0.75 * INCH, 2.5 * INCH), 3.0
    for corners, taken in (("butt", kerf), ("mitred", kerf * 2**0.5)):
        pieces = [piece.size[0] for piece in cut_list(face, bar, corners=corners).pieces if "bar" in piece.name]
        just = sum(sorted(pieces)) + taken
        assert len(cut_list(face, bar, corners=corners, bar_length=just + 0.01, kerf=kerf).bars) == 2
        assert len(cut_list(face, bar, corners=corners, bar_length=just - 0.01, kerf=kerf).bars) == 3


@pytest.mark.parametrize(
    ("bar", "sheet", "bar_length", "words"),
    [
        ((19.0, 38.0), 6.0, None, "use bars at least 2.264 in high"),
        ((19.0, 38.1), 0.0, None, "^bars 1.5 in high, and the depth is 2.5 in; use bars at least 2.5 in high"),
        ((19.0, 64.0), 64.0, None, "thinner sheet"),
        ((210.0, 64.0), 0.0, None, "thinner than 8 in"),
        ((19.0, 64.0), 0.0, 400.0, "use stock of 20 in or more"),
    ],
)
def test_stock_that_cannot_give_the_panel_is_refused(
    bar: tuple[float, float], sheet: float, bar_length: float | None, words: str
) -> None:
    with pytest.raises(CannotDo, match=words):
        cut_list(panel(), bar, sheet, bar_length=bar_length)


def test_a_gallon_coats_almost_thirteen_square_feet_at_an_eighth_of_an_inch() -> None:
    """1 US gallon = 231 cubic inches: NIST Handbook 44, appendix C; 12.83 square feet by arithmetic."""
    side = (12.8333333 * 144) ** 0.5 * INCH
    made = Panel(face=(side, side), depth=40, bleed=10, staple=25)
    assert resin(made, INCH / 8).face_gallons == pytest.approx(1.0, rel=1e-6)
    assert pytest.approx(3785.411784) == ML_PER_GALLON


def test_areas_are_given_in_square_metres_and_square_feet() -> None:
    """NIST Handbook 44, appendix C: a square foot is 0.092 903 04 m²."""
    assert area((1000.0, 2000.0)) == ("2.0000 m2", "21.528 ft2")


def test_sides_take_resin_too() -> None:
    coat = resin(panel(), 3.0)
    sides = 2 * (16 + 20) * INCH * 2.5 * INCH * 3.0 / 1000
    assert coat.with_sides_ml - coat.face_ml == pytest.approx(sides)
