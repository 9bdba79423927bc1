"""Where a marker is changed higher than it travels: at the start, at each swap and at the end, and nowhere else."""

import re

import numpy as np
import pytest

from underdraw.cli.command_line import main
from underdraw.errors import CannotDo
from underdraw.machine.clock import Schedule

TALL = {"swap_lift": "60 mm", "lift": "4 mm"}


def heights(data: bytes) -> list[str]:
    """What each block with a Z word, and each pause, says: `60` lifted to there, `M0`."""
    found = re.findall(r"^(?:G0 Z([\d.]+)|(M0)\b)", data.decode(), re.MULTILINE)
    return [z or pause for z, pause in found]


def test_unsaid_or_as_high_as_the_lift_the_program_is_the_same_to_the_byte(garden, write):
    plain = write(garden(gold=2, holder={"lift": "4 mm"})).files[0].data
    assert write(garden(gold=2, holder={"lift": "4 mm", "swap_lift": "4 mm"})).files[0].data == plain


@pytest.mark.slow
@pytest.mark.parametrize("controller", ["rs274", "iso6983"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_marker_is_up_there_at_the_start_at_each_swap_and_at_the_end(garden, write, read_back, controller, units):
    drawing = garden(gold=2, holder=TALL)
    data = write(drawing, controller=controller, units=units).files[0].data
    report = read_back(data, drawing, controller=controller)
    assert report.ok, report.problems
    moves = report.drawn.moves
    up = moves.end[:, 2]
    assert (up[0], up[-1]) == (pytest.approx(60, abs=1e-3), pytest.approx(60, abs=1e-3))
    at_swap = np.flatnonzero(moves.pause)
    assert len(at_swap) == 1
    assert moves.start[at_swap, 2] == pytest.approx(60, abs=1e-3)
    assert moves.end[at_swap, 2] == pytest.approx(60, abs=1e-3)  # again: the tip's height was set anew
    travel = moves.sideways & ~moves.drawing
    high = travel & (up > 5)
    assert high.sum() == 3  # to park at the start, and from park to the first stroke of each load
    assert up[travel & ~high] == pytest.approx(4, abs=1e-3)


def test_the_lines_are_the_same_whatever_the_height_of_a_swap(garden, write, read_back):
    drawn = [read_back(write(made).files[0].data, made).drawn for made in (garden(gold=2), garden(gold=2, holder=TALL))]
    assert np.array_equal(drawn[0].lines[0], drawn[1].lines[0])
    assert drawn[0].drawn_mm == drawn[1].drawn_mm


def test_a_rehearsal_is_traced_low_where_it_can_be_seen(garden, write, read_back):
    drawing = garden(gold=2, holder=TALL)
    data = write(drawing, rehearse=True).files[0].data
    assert read_back(data, drawing).ok
    assert heights(data)[:5] == ["60", "4", "60", "M0", "60"]


def test_header_and_clock_count_it(garden, write, read_back, registry):
    drawing = garden(gold=2, holder=TALL)
    data = write(drawing).files[0].data
    assert b"lift 4 mm, swaps at 60 mm" in data
    program = read_back(data, drawing).drawn.total_seconds
    low = garden(gold=2, holder={"lift": "4 mm"})
    low_program = read_back(write(low).files[0].data, low).drawn.total_seconds
    more = Schedule.of(drawing, registry).total - Schedule.of(low, registry).total
    assert more == pytest.approx(program - low_program, abs=0.05)
    assert more > 2


def test_lower_than_the_lift_is_refused_with_what_would_do(garden, write):
    with pytest.raises(CannotDo, match=r"\[holder\] swap_lift: 3 mm is less than the lift of 4 mm; use 4 mm or more"):
        write(garden(holder={"swap_lift": "3 mm", "lift": "4 mm"}))


def test_the_job_is_told_which_line_says_it(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "moth.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">'
        '<path d="M10 10L70 50" fill="none" stroke="#1b1b3a"/></svg>'
    )
    job = '[artwork]\nfile = "moth.svg"\n[canvas]\nmount = "stretched"\n[holder]\nswap_lift = "1 mm"\n'
    (tmp_path / "moth.toml").write_text(job)
    with pytest.raises(SystemExit) as stop:
        main(["--quiet", "run", "moth.toml"])
    assert stop.value.code == 1
    assert "underdraw: moth.toml:6: [holder] swap_lift: 1 mm is less than" in capsys.readouterr().err
