"""What each controller writes, by the standard it speaks."""

import subprocess
import sys
from dataclasses import replace

import pytest

from underdraw.plugins.controller import Controller, number
from underdraw_studio.iso6983 import HIGHEST_NUMBER, ISO6983
from underdraw_studio.lines import LINES
from underdraw_studio.rs274 import RS274

ALL = [RS274, ISO6983, LINES]


@pytest.mark.parametrize("controller", ALL, ids=lambda held: held.name)
def test_the_first_block_stops_the_spindle_and_the_modes_say_their_units(controller):
    for units, word in controller.unit_words.items():
        blocks = controller.begin(units)
        assert blocks[0] in ("M5", "M05")
        assert word in blocks
        assert any("G90" in block for block in blocks)


def test_only_the_standard_one_is_the_default():
    assert [controller.name for controller in ALL if controller.default] == ["rs274"]


def test_units_are_those_of_each_standard():
    # NISTIR 6556, section 3.5.7: G20 inches, G21 mm. ISO 6983-1 and RS-274-D: G70 inches, G71 mm (from memory).
    assert dict(RS274.unit_words) == dict(LINES.unit_words) == {"mm": "G21", "in": "G20"}
    assert dict(ISO6983.unit_words) == {"mm": "G71", "in": "G70"}


def test_path_control_visits_the_path_exactly_or_may_round_it():
    # NISTIR 6556, section 3.5.14: G61 visits the programmed path exactly, slowing down where it must; G64 need not.
    assert (RS274.path("exact"), RS274.path("blend")) == (["G61"], ["G64"])
    assert ISO6983.path("exact") == LINES.path("blend") == []


def test_straight_moves_state_feeds_per_minute_and_the_work_offset():
    assert {"G94", "G54"} <= set(" ".join(LINES.begin("in")).split())


def test_a_wait_is_written_in_the_machines_unit():
    # NISTIR 6556, section 3.5.4: G4 P is in seconds; many others count milliseconds (common practice, no source).
    assert RS274.dwell(0.25) == "G4 P0.25"
    assert replace(RS274, dwell_unit="ms").dwell(0.25) == "G4 P250"


def test_messages_are_comments_that_the_operator_sees():
    # NISTIR 6556, section 3.3.5: (MSG, …) is shown; comments do not nest; a line has at most 256 characters.
    long = "swap (now) " * 60
    for block in RS274.message(long):
        assert block.startswith("(MSG, ")
        assert block.count("(") == block.count(")") == 1
        assert len(block) <= 256
    assert ISO6983.message(long) == LINES.message(long) == []


def test_pauses_follow_their_message():
    assert RS274.pause("swap")[-1] == "M0"
    assert ISO6983.pause("swap") == ["M00"]


def test_block_numbers_start_again_after_four_digits():
    blocks = list(ISO6983.finish(["G00 X1"] * (HIGHEST_NUMBER + 2)))
    assert blocks[1].startswith("N1 ")
    assert blocks[HIGHEST_NUMBER] == f"N{HIGHEST_NUMBER} G00 X1"
    assert blocks[HIGHEST_NUMBER + 1] == "N1 G00 X1"


def test_numbers_have_neither_exponent_nor_sign_of_zero():
    assert [number(value, 4) for value in (1e-5, -1e-9, 100.0, 1234.5, -0.5)] == ["0", "0", "100", "1234.5", "-0.5"]
    assert number(762.0, 0) == "762"
    assert number(100.0, 0) == "100"


def test_texts_become_printable_ascii_without_parentheses():
    assert RS274.folded("12 × 16 (½) naïve\n\tЖ; %!?~$& x", 2) == ["12 x 16 [1/2] naive   ,        x"]


def test_a_controllers_module_costs_next_to_nothing_to_import():
    code = "import sys, underdraw_studio.rs274, underdraw.plugins.controller\n"
    code += "print([m for m in ('numpy','shapely','lxml') if m in sys.modules])"
    assert (
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == "[]"
    )


def test_a_dialect_replaces_only_what_differs():
    class Terse(Controller):
        def rapid(self, words: str) -> str:
            return "G0" + words.replace(" ", "")

    terse = Terse(name="terse", help="no blanks")
    assert terse.rapid(terse.coordinates("mm", x=1.5, y=-2.0)) == "G0X1.5Y-2"
    assert terse.begin("mm") == RS274.begin("mm")
