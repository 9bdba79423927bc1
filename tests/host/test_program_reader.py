"""The reader of programs against NISTIR 6556 (Kramer, Proctor, Messina: RS274/NGC version 3, 2000), rule by rule."""

import contextlib
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from underdraw.errors import InputError
from underdraw.program import check_program
from underdraw.program.codes import KNOWN_LETTERS
from underdraw.program.problems import CODES, MOST_OF_A_KIND

HEAD = "M5\nG21 G90 G94 G17\nG0 Z5\nG0 X0 Y0\n"
TAIL = "\nG0 Z5\nM2\n"
DOWN = HEAD + "G1 Z-1 F600\n"  # the marker is down at X0 Y0


def check(text: str):
    return check_program(text.encode("utf-8", "surrogateescape"))


def codes(text: str) -> set[str]:
    return {problem.code for problem in check(text).problems}


@pytest.mark.parametrize(
    ("rule", "block"),
    [
        ("3.3.1 a line may be blank", ""),
        ("3.3.2 a line may have a number", "N100 X5"),
        ("3.3.3 a word is a letter and a number", "X5.5"),
        ("3.3.3.1 a number may have a sign, and no digit before or after the point", "X+.5 Y-5."),
        ("3.3.3.1 leading zeros carry no meaning", "X005 Y0000.50"),
        ("3.3.4 blanks and tabs carry no meaning outside comments", "X 1 2 . 5\tY 3"),
        ("3.3.4 nor does the case of letters", "g01 x5 y5"),
        ("3.3.5 comments stand in parentheses", "X5 (from here (MSG"[:-5] + ") Y5"),
        ("3.3.5 comments may be empty, and several", "() X5 () Y5 (end)"),
        ("3.3.5 a message is a comment", "(MSG, put the gold marker in)"),
        ("3.3.7 words may stand in any order", "Y5 F600 X5 G1"),
        ("3.4 words of different groups may share a block", "G1 G90 G94 G17 X5 F600 M48"),
        ("3.5.1 a rapid", "G0 Z5"),
        ("3.5.3.1 an arc by radius", "G2 X10 Y0 R8"),
        ("3.5.3.1 a negative radius is the long way round", "G2 X10 Y0 R-8"),
        ("3.5.3.2 an arc by centre", "G3 X10 Y0 I5 J0"),
        ("3.5.3.2 I or J alone will do", "G3 X10 Y0 I5"),
        ("3.5.3.2 a full circle ends where it starts", "G2 X0 Y0 I5"),
        ("3.5.4 a dwell", "G4 P0.5"),
        ("3.5.7 units may change", "G20 X0.5"),
        ("3.5.14 path control", "G61 X5"),
        ("3.5.17 increments", "G91 X5"),
        ("3.5.18 axis offsets", "G92 X5\nX10"),
        ("3.5.19 moves a minute", "G93 X5 F10"),
        ("3.6.1 optional stop", "G0 Z5\nM1\nG1 Z-1"),
    ],
)
def test_what_the_standard_allows_is_no_problem(rule: str, block: str) -> None:
    report = check(DOWN + block + TAIL)
    assert report.ok, (rule, report.problems)


@pytest.mark.parametrize(
    ("rule", "text", "code"),
    [
        ("3.3 a line has at most 256 characters", DOWN + "X5 (" + "a" * 252 + ")" + TAIL, "long-line"),
        ("3.3.5 comments do not nest", DOWN + "X5 (one (two) three)" + TAIL, "comment"),
        ("3.3.5 comments are closed", DOWN + "X5 (one" + TAIL, "comment"),
        ("3.3.5 nothing closes that was not opened", DOWN + "X5 one)" + TAIL, "comment"),
        ("3.3.3 a word has a number", DOWN + "X Y5" + TAIL, "unknown"),
        ("3.3.3.1 a number has one point", DOWN + "X1.2.3" + TAIL, "unknown"),
        ("3.3.3.1 a sign comes first", DOWN + "X1-2" + TAIL, "unknown"),
        ("3.3.3 a number has a letter", DOWN + "5 X5" + TAIL, "unknown"),
        ("3.3.2.2 parameters are not followed", DOWN + "#3=5" + TAIL, "unknown"),
        ("3.3.2.3 expressions are not followed", DOWN + "X[1+2]" + TAIL, "unknown"),
        ("a semicolon is no word", DOWN + "X5 ; five" + TAIL, "unknown"),
        ("a letter outside the language", DOWN + "X5 E3" + TAIL, "unknown"),
        ("a turning axis is not followed", DOWN + "X5 A30" + TAIL, "unknown"),
        ("a code outside the language", DOWN + "G5.1 X5" + TAIL, "unknown"),
        ("an M code outside the language", DOWN + "M77" + TAIL, "unknown"),
        ("3.4 two codes of one group", DOWN + "G0 G1 X5" + TAIL, "same-group"),
        ("3.4 two stops", DOWN + "M0 M1" + TAIL, "same-group"),
        ("3.4 two modes of units", DOWN + "G20 G21" + TAIL, "same-group"),
        ("3.3.6 a word twice", DOWN + "X5 X6" + TAIL, "same-group"),
        ("block delete", DOWN + "/X5" + TAIL, "optional-block"),
        ("units before motion", "G0 Z5\nG21\nM2\n", "units"),
        ("height before sideways motion", "G21\nG0 X5 Y5\nG0 Z5\nM2\n", "height"),
        ("a place before drawing", "G21\nG0 Z5\nG1 X5 F600\nM2\n", "start"),
        ("3.5.2 a feed before a straight move", HEAD + "G1 Z-1\nX5" + TAIL, "feed"),
        ("3.5.2 feed 0", DOWN + "X5 F0" + TAIL, "feed"),
        ("3.7.1 a feed below 0", DOWN + "X5 F-10" + TAIL, "feed"),
        ("3.5.19 G93 wants a feed in each block", DOWN + "G93 X5 F10\nX8" + TAIL, "feed"),
        ("3.5.4 a dwell has a time", DOWN + "G4" + TAIL, "feed"),
        ("3.5.4 of 0 or more", DOWN + "G4 P-1" + TAIL, "feed"),
        ("3.7.2 P belongs to a dwell", DOWN + "X5 P3" + TAIL, "unknown"),
        ("3.5.1 a rapid has axis words", DOWN + "G0" + TAIL, "mode"),
        ("axis words need a move", "G21\nZ5\nM2\n", "mode"),
        ("3.5.3 an arc has X or Y", DOWN + "G2 I5 Z-1" + TAIL, "arc"),
        ("3.5.3 an arc has a centre or a radius", DOWN + "G2 X5 Y5" + TAIL, "arc"),
        ("3.5.3 not both", DOWN + "G2 X10 Y0 I5 R5" + TAIL, "arc"),
        ("3.5.3.1 an arc by radius does not end where it starts", DOWN + "G2 X0 Y0 R5" + TAIL, "arc"),
        ("3.5.3.1 a radius spans its chord", DOWN + "G2 X10 Y0 R4.9" + TAIL, "arc"),
        ("3.5.3.2 radii agree to 0.002 mm", DOWN + "G2 X10 Y0 I5.0015 J0" + TAIL, "arc"),
        (
            "3.5.3.2 radii agree to 0.0002 in",
            "G20\nG0 Z1\nG0 X0 Y0\nG1 Z-.1 F10\nG2 X1 Y0 I.50015 J0\nG0 Z1\nM2\n",
            "arc",
        ),
        ("K belongs to other planes", DOWN + "G2 X10 Y0 I5 K1" + TAIL, "arc"),
        ("arcs of other planes", DOWN + "G18 G2 X10 Y0 I5" + TAIL, "arc"),
        ("I outside an arc", DOWN + "G1 X5 I3" + TAIL, "unknown"),
        ("3.5.8 G28 goes to a stored place", HEAD + "G28 X0" + TAIL, "mode"),
        ("3.5.9 cutter compensation", DOWN + "G41 X5" + TAIL, "mode"),
        ("3.5.10 tool length offsets", HEAD + "G43 H1" + TAIL, "mode"),
        ("3.5.12 the machine's own coordinates", HEAD + "G53 X5" + TAIL, "mode"),
        ("3.5.13 other coordinate systems", HEAD + "G55 X5" + TAIL, "mode"),
        ("3.5.16 canned cycles", HEAD + "G81 X5 Y5 Z-2 R1 F100" + TAIL, "mode"),
        ("3.5.6 stored offsets are changed", HEAD + "G10 L2 P1 X5" + TAIL, "mode"),
        ("probing", HEAD + "G38.2 Z-5 F50" + TAIL, "mode"),
        ("3.6.3 a tool change", HEAD + "M6 T1" + TAIL, "mode"),
        ("3.6.2 the spindle", HEAD + "M3 S1000" + TAIL, "spindle"),
        ("3.6.2 either way round", HEAD + "M04" + TAIL, "spindle"),
        ("3.6.2 blanks and case do not hide it", HEAD + "s 1000 m 0 3" + TAIL, "spindle"),
        ("3.6.4 mist coolant", HEAD + "M7" + TAIL, "coolant"),
        ("3.6.4 flood coolant", HEAD + "M8" + TAIL, "coolant"),
        ("outputs", HEAD + "M64 P0" + TAIL, "output"),
        ("a rapid with the marker down", DOWN + "G0 X5" + TAIL, "rapid-down"),
        ("a rapid puts the marker down", HEAD + "G0 Z-1" + TAIL, "rapid-down"),
        ("lowering while moving", HEAD + "G1 X5 Z-1 F100" + TAIL, "slanted"),
        ("raising while moving", DOWN + "G1 X5 Z5" + TAIL, "slanted"),
        ("lowering along an arc", HEAD + "G2 X10 Y0 I5 Z-1 F100" + TAIL, "slanted"),
        ("3.6.1 nothing after the end", DOWN + "X5" + TAIL + "G0 X3\n", "after-end"),
        ("% is the end", "%\nG21\nG0 Z5\n%\nG0 X3\n", "after-end"),
        ("an end", DOWN + "X5\nG0 Z5\n", "no-end"),
        ("the marker is lifted in the end", DOWN + "X5\nM2\n", "ends-down"),
    ],
)
def test_what_the_standard_or_the_marker_forbids_is_a_problem(rule: str, text: str, code: str) -> None:
    found = check(text).problems
    assert code in {problem.code for problem in found}, (rule, found)
    place = next(problem.line for problem in found if problem.code == code)
    assert 1 <= place <= text.count("\n") + 1


def test_every_kind_of_fault_has_a_name() -> None:
    assert all(text for text in CODES.values())


def test_the_line_of_a_fault_is_the_editors_line() -> None:
    text = "(one)\r\n\r\nM5\r\nG21 G90\r\nG0 Z5 (two)\r\nM3 S100\r\nM2\r\n"
    assert [(item.line, item.code) for item in check(text).problems] == [(6, "spindle")]


def test_lengths_of_lines_arcs_and_circles_by_closed_form() -> None:
    report = check(DOWN + "X30 Y40\nG2 X30 Y40 I10 J0\nG3 X50 Y40 I10 J0\nG2 X70 Y40 R20" + TAIL)
    assert report.ok
    exact = 50 + 2 * math.pi * 10 + math.pi * 10 + 2 * 20 * math.asin(10 / 20)
    assert report.drawn.drawn_mm == pytest.approx(exact, abs=1e-6)
    assert report.drawn.arcs == 3


def test_the_long_way_round_by_radius_is_the_rest_of_the_circle() -> None:
    short, long = (check(DOWN + f"G2 X10 Y0 R{r}" + TAIL).drawn.drawn_mm for r in (8, -8))
    assert short == pytest.approx(2 * 8 * math.asin(5 / 8))
    assert short + long == pytest.approx(2 * math.pi * 8)


def test_clockwise_is_as_seen_from_above() -> None:
    # From (0, 0) to (10, 0) round (5, 0): clockwise passes over the top.
    assert check(DOWN + "G2 X10 Y0 I5" + TAIL).drawn.bounds == pytest.approx((0, 0, 10, 5))
    assert check(DOWN + "G3 X10 Y0 I5" + TAIL).drawn.bounds == pytest.approx((0, -5, 10, 0))


def test_inches_are_25_4_mm_and_feeds_follow() -> None:
    report = check("M5\nG20 G90 G94\nG0 Z1\nG0 X1 Y0\nG1 Z-0.1 F60\nX3\nG21\nX101.6 F600\nG0 Z25\nM2\n")
    drawn = report.drawn
    assert report.ok
    assert drawn.drawn_mm == pytest.approx(76.2)
    assert drawn.moves.feed[drawn.moves.drawing].tolist() == pytest.approx([25.4, 10.0])


def test_increments_and_renamed_places_end_where_absolute_words_do() -> None:
    absolute = check(DOWN + "X10 Y5\nX13 Y5\nX13 Y-2" + TAIL).drawn
    steps = check(DOWN + "G91\nX10 Y5\nX3\nY-7\nG90" + TAIL).drawn
    renamed = check(DOWN + "X10 Y5\nG92 X0 Y100\nX3 Y100\nG92 X50\nX50 Y93\nG92.1" + TAIL).drawn
    for other in (steps, renamed):
        drawing = absolute.moves.drawing
        assert np.allclose(absolute.moves.end[drawing, :2], other.moves.end[other.moves.drawing][: drawing.sum(), :2])
    assert not check(HEAD + "G91\nG1 Z-6 F100\nX5\nG92 Z0\nG0 Z6\nG90\nM2\n").problems


def test_a_drawing_move_of_g93_takes_its_share_of_a_minute() -> None:
    drawn = check(DOWN + "G93 X50 F6" + TAIL).drawn
    assert drawn.moves.feed[drawn.moves.drawing].tolist() == pytest.approx([5.0])  # 50 mm in a sixth of a minute


def test_dots_are_strokes_without_length() -> None:
    drawn = check(DOWN + "G0 Z5\nG0 X3\nG1 Z-1\nX9" + TAIL).drawn
    assert drawn.strokes == 2
    assert drawn.lifts == 2
    assert drawn.dots[0].tolist() == [[0, 0]]
    assert drawn.bounds == (0, 0, 9, 0)


@pytest.mark.parametrize(
    "block",
    ["X99999999999999", "G2 X10 Y0 I99999999999", "G2 X1 R999999999999999", "G91 X900000000 Y9\nX900000000", "F1e9"],
)
def test_wild_numbers_are_named_and_cost_no_more_than_others(block: str) -> None:
    report = check(DOWN + block + TAIL)
    assert report.problems
    assert report.figures()["strokes"] == 1


def test_what_is_no_program_is_refused() -> None:
    for text in ("", "\n\n", "(only a comment)\n", "<svg/>", "hello"):
        with pytest.raises(InputError):
            check(text)


def test_many_faults_of_a_kind_are_counted_not_listed() -> None:
    report = check(DOWN + "G0 X1\nX2\n" * 250 + TAIL)
    assert len(report.problems) == MOST_OF_A_KIND + 1
    assert "500 in all" in report.problems[-1].text


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings_make_no_difference(ending: str) -> None:
    text = DOWN + "X5 Y5\nG2 X10 Y0 I2.5 J-2.5" + TAIL
    one, two = check(text), check(text.replace("\n", ending))
    assert one.figures() == two.figures()


def test_programs_longer_than_one_chunk_read_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    text = DOWN + "".join(f"X{k % 90} Y{k % 70} (at {k})\n" for k in range(300)) + "G0 X1\n(open\n" + TAIL
    whole = check(text)
    monkeypatch.setattr("underdraw.program.tokens.CHUNK_BYTES", 100)
    assert check(text).figures() == whole.figures()


NUMBERS = st.one_of(
    st.integers(-(10**6), 10**6).map(str),
    st.decimals(-(10**4), 10**4, places=5).map(lambda value: f"{value:f}"),
    st.sampled_from([".5", "-.25", "+7", "3.", "00012.50"]),
)


@given(st.lists(st.tuples(st.sampled_from("XYZIJKRFNST"), NUMBERS), min_size=1, max_size=30))
@settings(max_examples=100, deadline=None)
def test_numbers_are_read_to_the_last_digit(held: list[tuple[str, str]]) -> None:
    from underdraw.program.problems import Faults
    from underdraw.program.tokens import read_words

    text = "\n".join(f"{letter} {number}" for letter, number in held)
    words = read_words(text.encode(), Faults())
    assert [chr(letter) for letter in words.letter] == [letter for letter, _ in held]
    assert words.value.tolist() == [float(number) for _, number in held]
    assert words.line.tolist() == list(range(1, len(held) + 1))


@given(st.text(st.sampled_from("GXYZMIJRFPN0123456789.-+ ()%/;#\n\t\r"), max_size=200))
@example("G92\nG92 X1\nG1 X2 F3\nG2 X1 I3")
@example("%\n%\n%")
@example("G21G0Z0X1\nG2I1X0\nG2R1X0")
@settings(max_examples=300, deadline=None)
def test_no_text_makes_the_reader_fall_over(text: str) -> None:
    for whole in (text, DOWN + text + TAIL):
        with contextlib.suppress(InputError):
            check(whole).figures()


@given(st.binary(max_size=120))
@settings(max_examples=100, deadline=None)
def test_nor_do_any_bytes(data: bytes) -> None:
    try:
        report = check_program(DOWN.encode() + data + TAIL.encode())
    except InputError:
        return
    odd = set(data.decode("latin-1").upper()) - set(KNOWN_LETTERS + "0123456789.+-%/() \t\r\n")
    if odd and b"(" not in data:
        assert not report.ok
