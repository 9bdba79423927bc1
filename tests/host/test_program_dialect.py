"""A machine's own words are read as what they mean, and no declaration can hide what must not be hidden.

Meanings of the standard's words: NISTIR 6556 (2000), sections 3.5 and 3.6.
"""

from dataclasses import dataclass, replace

import pytest

from underdraw import Controller
from underdraw.errors import CannotDo
from underdraw.program import check_program
from underdraw.program.dialect import Dialect, in_standard_words
from underdraw.program.expected import Expected
from underdraw.testing.trial_program import WAIT_S, read_back, trial

OWN = {"M90": "M0", "M91": "G0 Z5", "M92": "G1 Z0", "M62 P2": "G0 Z3", "M280 P0 S40": "G0 Z5", "M280 P0 S90": "G1 Z0"}


def read(text: str, meanings: dict[str, str] | None = None) -> str:
    return in_standard_words(text.encode(), OWN if meanings is None else meanings, "servo").decode()


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("M90", "M0"),
        ("N20 m092 F300", "N20 G1 Z0 F300"),
        ("G90 M91", "G90 G0 Z5"),
        ("M62P2", "G0 Z3"),
        ("M62 P02", "G0 Z3"),
        ("M920", "M920"),
        ("M9", "M9"),
        ("M91.5", "M91.5"),
        ("M62 P21", "M62 P21"),
        ("(M90 waits)", "(M90 waits)"),
        ("M90 (M91)", "M0 (M91)"),
        ("M280 P0 S40", "G0 Z5"),
        ("m280p0s40", "G0 Z5"),
        ("M280 P0 S040", "G0 Z5"),
        ("M280 P0 S90 F300", "G1 Z0 F300"),
        ("M280 P0 S400", "M280 P0 S400"),
    ],
)
def test_a_word_is_taken_whole_and_never_from_a_comment(written: str, meant: str) -> None:
    assert read(written) == meant


def test_after_g91_a_height_is_a_step_from_the_height_before() -> None:
    assert read("G90 M91\nG91\nM92\nM92\nM91\nG90\nM92").splitlines() == [
        "G90 G0 Z5", "G91", "G1 Z-5", "G1 Z0", "G0 Z5", "G90", "G1 Z0",
    ]  # fmt: skip


def test_a_mode_may_have_blanks_within_as_any_word() -> None:
    assert read("G 90 M91\nG 91\nM92\nG 090\nM91").splitlines() == ["G 90 G0 Z5", "G 91", "G1 Z-5", "G 090", "G0 Z5"]


def test_a_height_that_no_place_came_before_is_refused() -> None:
    with pytest.raises(CannotDo, match="controller 'servo': M92 comes after G91, and no height was set before it"):
        read("G91\nM92")


def test_lines_keep_their_numbers() -> None:
    text = "%\nG21\n\nM90\n(note)\nM91\n%\n"
    assert read(text).count("\n") == text.count("\n")
    assert [line for line in read(text).split("\n") if "M0" in line] == [read(text).split("\n")[3]]


@pytest.mark.parametrize(
    "word", ["M3", "M03", "M4", "M5", "M7", "M8", "M9", "M0", "M2", "G0", "G1", "G20", "G91", "G92"]
)
def test_no_word_of_the_standard_gets_another_meaning(word: str) -> None:
    with pytest.raises(CannotDo, match=f"controller 'servo' gives '{word}' a meaning of its own"):
        read("G21", {word: "M0"})


@pytest.mark.parametrize("meaning", ["M3", "M3 S500", "G1 X5", "G0 Z5 X1", "M0 M3", "", "G2 X1", "G0 Z5\nM3", "S500"])
def test_nothing_but_a_pause_a_wait_or_a_height_can_be_declared(meaning: str) -> None:
    with pytest.raises(CannotDo, match="may mean a pause"):
        read("G21", {"M90": meaning})


@pytest.mark.parametrize("word", ["M90 X1", "T1", "X", "M", "M90|M3", "M90 P", "M9 M0"])
def test_only_one_word_can_be_declared(word: str) -> None:
    with pytest.raises(CannotDo, match="controller 'servo' declares"):
        read("G21", {word: "M0"})


def test_a_program_in_own_words_reads_as_the_one_in_plain_words() -> None:
    own = "M5\nG21 G90 G94\nM91\nG0 X0 Y0\nG0 X10 Y10\nG91\nM92 F300\nG4 P0.3\nG1 X5 F600\nM91\nM90\nG0 X-15 Y-10\nM2\n"
    plain = "M5\nG21 G90 G94\nG0 Z5\nG0 X0 Y0\nG0 X10 Y10\nG1 Z0 F300\nG4 P0.3\nG1 X15 F600\nG0 Z5\nM0\nG0 X0 Y0\nM2\n"
    one, other = check_program(read(own).encode()), check_program(plain.encode())
    assert one.problems == other.problems == []
    assert (one.drawn.drawn_mm, one.drawn.lifts, len(one.drawn.moves.pauses)) == (5.0, 1, 1)
    assert one.drawn.bounds == other.drawn.bounds
    assert one.drawn.total_seconds == pytest.approx(other.drawn.total_seconds)


def test_a_spindle_among_own_words_is_still_found() -> None:
    report = check_program(read("M5 G21 G90\nM91\nM90\nM3 S500\nM2\n").encode())
    assert [(problem.line, problem.code) for problem in report.problems] == [(4, "spindle")]


UNLIKE = {"name": "unlike", "help": "a machine that waits in milliseconds and knows no G90"}


@dataclass(frozen=True)
class Unlike(Controller):
    """Milliseconds, no G90, blocks numbered up to 99."""


def test_a_machine_without_g90_that_waits_in_milliseconds_keeps_the_contract() -> None:
    controller = Unlike(**UNLIKE, absolute_only=True, dwell_unit="ms", longest_number=99, highest_number=9)
    assert not any("G90" in block for block in controller.begin("mm"))
    for units in controller.decimals:
        report = read_back(controller, units, trial(controller, units))
        assert report.problems == []
        assert report.drawn.moves.wait.max() == pytest.approx(WAIT_S)
    heard = read_back(Unlike(**UNLIKE, dwell_unit="ms"), "mm", trial(Unlike(**UNLIKE), "mm"))
    assert {problem.code for problem in heard.problems} == {"wait"}  # seconds where there should be milliseconds


def test_a_number_of_a_block_that_is_longer_than_a_machine_reads_is_found() -> None:
    text = "N99 M5\nN100 G17 G21 G40 G49 G54 G80 G90 G94\nG61\nG0 Z5\nM2\n"
    expected = replace(Expected.unknown(), dialect=Dialect.of(Unlike(**UNLIKE, longest_number=99)))
    found = [
        (item.line, item.text) for item in check_program(text.encode(), expected).problems if item.code == "dialect"
    ]
    assert found == [(2, "an N above 99, the highest that controller 'unlike' reads")]


def test_a_wait_of_an_own_word_is_in_seconds_whatever_the_machines_dwells_count() -> None:
    assert in_standard_words(b"M95", {"M95": "G4 P0.3"}, "servo", 0.001) == b"G4 P300"


def test_units_of_either_standard_are_read() -> None:
    """G70, G71: ISO 6983-1 and RS-274-D, from memory."""
    for words, mm in (("G20", 25.4), ("G70", 25.4), ("G21", 1.0), ("G71", 1.0)):
        text = f"M5\n{words} G90 G94\nG0 Z5\nG0 X0 Y0\nG1 Z-1 F100\nX1\nG0 Z5\nM2\n"
        report = check_program(text.encode())
        assert report.problems == []
        assert report.drawn.drawn_mm == pytest.approx(mm)
