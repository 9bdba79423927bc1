"""A machine's own words are read as what they mean, and no declaration can hide what must not be hidden.

Meanings of the standard's words: NISTIR 6556 (2000), sections 3.5 and 3.6.
"""

import pytest

from underdraw.errors import CannotDo
from underdraw.program import check_program
from underdraw.program.dialect import in_standard_words

OWN = {"M90": "M0", "M91": "G0 Z5", "M92": "G1 Z0", "M62 P2": "G0 Z3"}


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
    ],
)
def test_a_word_is_taken_whole_and_never_from_a_comment(written: str, meant: str) -> None:
    assert read(written) == meant


def test_after_g91_a_height_is_a_step_from_the_height_before() -> None:
    assert read("G90 M91\nG91\nM92\nM92\nM91\nG90\nM92").splitlines() == [
        "G90 G0 Z5", "G91", "G1 Z-5", "G1 Z0", "G0 Z5", "G90", "G1 Z0",
    ]  # fmt: skip


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
