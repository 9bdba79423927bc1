"""Names and texts from outside steer neither a machine nor a terminal, and come back from the wire as they went."""

import io

import numpy as np
import pytest

from underdraw.cli.console import Console
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.errors import InputError
from underdraw.job.file import job_from_data
from underdraw.job.sections import Job
from underdraw.words.plain_text import LONGEST_MESSAGE, isolated, plain_name, plain_text

STEERING = "\x00\x07\x1b\x7f\x85\x9b\u2028\u2029\u061c\u200e\u200f\u202a\u202e\u2066\u2069"
READ_BY_SOME = ";%$!?~()&{}<>@^`|\\\t\n\r"


def test_a_name_in_a_program_is_letters_digits_blanks_and_hyphens() -> None:
    name = plain_name("gold" + READ_BY_SOME + STEERING + "ä-7жZ")
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 -")
    assert name.startswith("gold") and name.endswith("Z")
    assert plain_name("жук") != plain_name("мак")  # markers named in another script stay apart


def test_a_comment_has_nothing_that_some_readers_act_on() -> None:
    assert not set(plain_text("moth" + READ_BY_SOME + STEERING)) & set(READ_BY_SOME + STEERING)


def test_no_text_steers_the_terminal() -> None:
    shown = io.StringIO()
    console = Console(shown)
    console.warn("moth" + STEERING, f"layer {STEERING} and \r more")
    console.summary("import", f"{STEERING}\nand")
    assert not set(shown.getvalue()) & set(STEERING + "\r")
    assert "\\x1b" in shown.getvalue()


def test_a_long_text_is_cut_in_the_middle() -> None:
    shown = io.StringIO()
    Console(shown).line("job.toml:3: depth: expected a length, got '" + "4" * 5_000_000 + "'; try 40 mm")
    line = shown.getvalue().rstrip("\n")
    assert len(line) == LONGEST_MESSAGE
    assert line.startswith("job.toml:3: depth: expected a length")
    assert line.endswith("'; try 40 mm")


@pytest.mark.parametrize("name", ["a\tb", "a\nb", "a\rb", "a\x00b", "a\x85b", "a\u2028b"])
def test_a_marker_or_job_named_over_several_lines_is_refused(name: str) -> None:
    with pytest.raises(InputError, match=r"\[\[marker\]\] 1 name: expected a name in one line"):
        job_from_data({"marker": [{"name": name}]}, "moth")
    with pytest.raises(InputError, match="'name': expected a name in one line"):
        job_from_data({"name": name}, "moth")


def test_a_job_without_letters_in_its_name_is_refused() -> None:
    with pytest.raises(InputError, match="'name': expected a text"):
        job_from_data({"name": " "}, "moth")


@pytest.mark.parametrize("layer", ["a\tb", "a\nb\r\nc", " a  b ", "\x85\u2028"])
def test_a_layers_name_comes_back_from_the_wire_as_it_went(layer: str) -> None:
    made = Drawing.build([[[(0, 0), (5, 5)]]], (9, 9), Job(name=layer + "\x00\x7f"), layer=layer, marker="outline")
    again = read_drawing(write_drawing(made))
    assert again.layer.tolist() == [layer]
    assert again.job.name == layer + "\x00\x7f"


def test_a_marker_that_the_job_does_not_have_is_an_error_and_not_the_first_marker() -> None:
    data = write_drawing(Drawing.build([[[(0, 0), (5, 5)]]], (9, 9), Job(), marker="outline"))
    with pytest.raises(InputError, match="its job has no marker 'out line'"):
        read_drawing(data.replace(b'ud:marker="outline"', b'ud:marker="out\nline"'))


@pytest.mark.parametrize("side", ["nan", "inf", "1e308", "-1"])
def test_a_sheet_out_of_all_measure_is_a_damaged_drawing(side: str) -> None:
    data = write_drawing(Drawing.build([], (9, 9), Job()))
    with pytest.raises(InputError, match="damaged drawing"):
        read_drawing(data.replace(b'viewBox="0 0 9 9"', f'viewBox="0 0 {side} 9"'.encode()))


@pytest.mark.parametrize("width", ["nan", "1e999", "-3"])
def test_a_width_out_of_all_measure_is_a_damaged_drawing(width: str) -> None:
    data = write_drawing(Drawing.build([[[(0, 0), (5, 5)]]], (9, 9), Job(), marker="outline", stroke_width=0.7))
    with pytest.raises(InputError, match="is not a number from 0"):
        read_drawing(data.replace(b'stroke-width="0.7"', f'stroke-width="{width}"'.encode()))


def test_a_move_without_a_point_is_a_damaged_drawing() -> None:
    data = write_drawing(Drawing.build([[[(0, 0), (5, 5)]]], (9, 9), Job(), marker="outline"))
    with pytest.raises(InputError, match="an M without a point"):
        read_drawing(data.replace(b'd="M0 0L5 5"', b'd="M0 0L5 5M"'))


def test_a_stroke_without_points_is_none() -> None:
    empty = Drawing(np.empty((0, 2)), np.array([0, 0]), np.array([0, 1]), (9, 9), Job(), marker=np.array(["outline"]))
    assert not empty.is_strokes


def test_a_name_from_right_to_left_turns_nothing_beside_it() -> None:
    """UAX #9: an isolate ends at its own end, so none may be closed inside the name."""
    for name in ("\u202emoth", "\u2069\u2069\u202emoth", "\u2066\u2067moth", "עש"):
        whole = isolated(name)
        assert whole[0] == "\u2068" and whole[-1] == "\u2069"
        depth = 0
        for place, letter in enumerate(whole):
            depth += (letter in "\u2066\u2067\u2068") - (letter == "\u2069")
            assert depth > 0 or place == len(whole) - 1
        assert depth == 0
