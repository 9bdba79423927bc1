"""Whatever is typed at a pause, what is drawn after it stays the same; stops that a switch switches on; stroke numbers.

Modes stay in force until another word of their group: NISTIR 6556 (2000), section 3.4. M0, M1: section 3.6.1; N words:
section 3.3.1.
"""

import re

import numpy as np
import pytest
from plain_machine import run

from underdraw.errors import CannotDo
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.expected import Expected
from underdraw.testing.trial import TrialContext

TYPED = ["G91", "G20", "G21", "F500"]
PROGRAMS = [
    ("rs274", "mm", {"gold": 3}),
    ("rs274", "in", {"gold": 3}),
    ("rs274", "mm", {"loads": [1, 1, 2, 2, 3, 3, 3, 3]}),
    ("rs274", "mm", {"gold": 2, "holder": {"lift": "12 mm", "swap_lift": "30 mm"}, "rehearse": True}),
    ("rs274", "in", {"gold": 5, "machine": {"zero": "centre", "park": "30 x 50 mm"}, "optional-stops": True}),
    ("iso6983", "mm", {"gold": 3, "rehearse": True}),
    ("iso6983", "in", {"loads": [1, 1, 1, 2, 2, 2, 3, 3], "optional-stops": True}),
    ("lines", "mm", {"gold": 3}),
    ("lines", "in", {"gold": 3, "rehearse": True}),
    ("servo-lift", "mm", {"gold": 3, "loads": [1, 1, 2, 2, 2, 1, 1, 1]}),
]
PAUSE = r"^(N\d+ )?M0?[01]\b"


@pytest.mark.slow
@pytest.mark.parametrize(("controller", "units", "asked"), PROGRAMS)
def test_words_typed_at_a_pause_change_nothing_that_is_drawn(garden, write, shop, controller, units, asked):
    job = {key: value for key, value in asked.items() if key in ("gold", "loads", "holder", "machine")}
    drawing = garden(**job)
    settings = {key: value for key, value in asked.items() if key not in job}
    data = write(drawing, TrialContext(shop), controller=controller, units=units, **settings).files[0].data
    expected = Expected.of(drawing.job, Lying.of(drawing, shop), shop, controller).drawing(drawing)
    assert check_program(data, expected).ok
    pause = r"^M90\b" if controller == "servo-lift" else PAUSE
    assert re.search(pause, data.decode(), re.MULTILINE)
    lines = expected.dialect.in_standard_words(data).decode()
    whole = run(lines)
    for typed in TYPED:
        text = re.sub(rf"(?m){pause}.*$", lambda found, typed=typed: f"{found[0]}\n{typed}", data.decode())
        report = check_program(text.encode(), expected)
        assert report.comparison.missing_mm == report.comparison.extra_mm == 0
        assert report.comparison.deviation <= 0.02
        assert {problem.code for problem in report.problems} <= {"dialect"}  # a word that this controller never writes
        after = run(expected.dialect.in_standard_words(text.encode()).decode())
        assert len(after.lines) == len(whole.lines)
        for line, same in zip(after.lines, whole.lines, strict=True):
            assert np.abs(np.array(line.points) - np.array(same.points)).max() <= 0.001
            assert sorted(line.feeds) == pytest.approx(sorted(same.feeds))
            assert sorted(line.depths) == pytest.approx(sorted(same.depths))


@pytest.mark.slow
@pytest.mark.parametrize("mode", ["G21", "G17", "G90", "G54", "G61"])
def test_a_mode_that_is_not_stated_after_a_pause_is_a_fault(garden, write, read_back, mode):
    drawing = garden(gold=3)
    before, pause, after = write(drawing).files[0].data.decode().partition("\nM0\n")
    forgot = re.sub(rf"\b{mode} ?", "", after, count=1)
    problems = read_back(f"{before}{pause}{forgot}".encode(), drawing).problems
    assert any(problem.code == "pause" and mode in problem.text for problem in problems)


def test_a_feed_that_is_not_stated_after_a_pause_is_a_fault(garden, write, read_back):
    drawing = garden(gold=3)
    before, pause, after = write(drawing).files[0].data.decode().partition("\nM0\n")
    forgot = re.sub(r" F[\d.]+", "", after, count=1)
    problems = read_back(f"{before}{pause}{forgot}".encode(), drawing).problems
    assert any("not stated again (F)" in problem.text for problem in problems)


@pytest.mark.parametrize("controller", ["rs274", "iso6983", "lines"])
def test_every_stroke_states_its_feed_where_it_touches_and_where_it_begins_to_draw(garden, write, controller):
    text = re.sub(r"(?m)^N\d+ ", "", write(garden(), controller=controller).files[0].data.decode())
    blocks = [block for block in text.splitlines() if block.startswith("G")]
    touches = [at for at, block in enumerate(blocks) if re.match(r"G0?1 Z-", block)]
    assert len(touches) == 8
    for at in touches:
        assert " F" in blocks[at]
        cut = blocks[at + 1]
        assert " F" in cut or re.match(r"G0?0 Z", cut)  # a dot is lifted at once


def test_optional_stops_stand_after_each_stroke_but_the_last_of_a_load(garden, write, read_back):
    drawing = garden(gold=3)
    data = write(drawing, **{"optional-stops": True}).files[0].data
    report = read_back(data, drawing)
    assert report.ok, report.problems
    assert len(re.findall(r"(?m)^M1$", data.decode())) == len(drawing) - 2
    assert len(report.drawn.moves.pauses) == 1  # the swap alone waits without the switch
    drawn = run(data.decode())
    assert not drawn.wrong
    down = re.sub(r"(?m)^(N4 .*\n.*\n.*)$", r"\1\nM1", write(drawing).files[0].data.decode())
    problems = read_back(down.encode(), drawing).problems
    assert any("optional stop with the marker down" in problem.text for problem in problems)
    alone = check_program(down.encode()).problems  # read without its job, too
    assert [problem.text for problem in alone] == ["an optional stop with the marker down"]
    assert check_program(data).ok and check_program(b"M1\n" + write(drawing).files[0].data).ok


def test_a_controller_without_optional_stops_is_refused_them(garden, write):
    with pytest.raises(CannotDo, match="has no optional stop"):
        write(garden(), controller="lines", **{"optional-stops": True})


@pytest.mark.parametrize(("controller", "most"), [("rs274", 99_999), ("lines", 9_999)])
def test_the_first_block_of_a_stroke_has_its_number_and_no_other_block_has_one(garden, write, controller, most):
    drawing = garden(gold=3)
    for first in (1, 4):
        blocks = write(drawing, controller=controller, **{"from": first}).files[0].data.decode().splitlines()
        numbered = [block for block in blocks if block.startswith("N")]
        assert [int(re.match(r"N(\d+) G0 X", block)[1]) for block in numbered] == list(range(first, len(drawing) + 1))
        for at, block in enumerate(blocks):
            if block.startswith("N"):
                assert re.match(r"G0 Z", blocks[at + 1])  # down to where the slow approach begins
    held = Registry.installed().controller(controller)
    assert held.numbered("G0 X1", most) == f"N{most} G0 X1"
    assert held.numbered("G0 X1", most + 1) == "G0 X1"


def test_the_first_move_raises_alone_and_the_header_says_where_to_stand(garden, write, read_back):
    drawing = garden(holder={"swap_lift": "20 mm"})
    data = write(drawing).files[0].data.decode()
    assert "before the start: the tip between the canvas and 20 mm above it" in data.replace("\n", " ").replace(
        ") (", " "
    )
    at_once = data.replace("G0 Z20\nG0 X0 Y0\n", "G0 X0 Y0 Z20\n", 1)
    assert at_once != data
    problems = read_back(at_once.encode(), drawing).problems
    assert any("raises the marker and travels at once" in problem.text for problem in problems)
