"""The rehearsal of a board that was put back: over each mark in turn, lifted, with a wait to look."""

from pathlib import Path

import numpy as np
import pytest
from put_back import Shove, from_corner, marked, marks_of, program_of, put_back

from underdraw import Drawing
from underdraw.job.file import job_from_data
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.expected import Expected

SHOVE = Shove(1.3, (5.0, -3.0))


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def problems(drawing: Drawing, data: bytes, registry: Registry, controller: str = "rs274") -> list[str]:
    expected = Expected.of(drawing.job, Lying.of(drawing, registry), registry, controller).drawing(drawing)
    return [problem.text for problem in check_program(data, expected).problems]


def with_holder(drawing: Drawing, **holder: str) -> Drawing:
    return drawing.replace(job=job_from_data({**drawing.job.data, "holder": holder}, "moths"))


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("controller", ["rs274", "iso6983", "lines"])
@pytest.mark.parametrize("holder", [{}, {"swap_lift": "60 mm", "lift": "4 mm"}], ids=["low swaps", "high swaps"])
def test_it_waits_over_each_mark_where_that_is_now(tmp_path: Path, registry, controller, units, holder) -> None:
    drawing = put_back(with_holder(marked(), **holder), SHOVE, tmp_path / "read.toml")
    data = program_of(drawing, controller=controller, units=units, rehearse=True)
    assert problems(drawing, data, registry, controller) == []
    moves = check_program(data).drawn.moves  # as any machine would read it, knowing nothing of the drawing
    first = int(np.flatnonzero(moves.down_at_end)[0])
    waits = moves.pauses[moves.pauses < moves.line[first]]
    assert len(waits) == 5  # four marks, and the end of the rehearsal
    where = moves.end[np.searchsorted(moves.line, waits, side="right") - 1]
    due = SHOVE.of(from_corner(drawing, marks_of(drawing)))
    assert where[:4, :2] == pytest.approx(due, abs=0.003)
    assert (where[:, 2] > 3.9).all() and not moves.down_at_end[:first].any()


def test_each_wait_asks_for_the_mark_by_its_number(tmp_path: Path) -> None:
    data = program_of(put_back(marked(), SHOVE, tmp_path / "read.toml"), rehearse=True).decode()
    asked = [line for line in data.splitlines() if "the tip is over" in line]
    assert [line.split("over ")[1].split(",")[0] for line in asked] == ["mark 1", "mark 2", "mark 3", "mark 4"]


def test_a_board_that_was_not_measured_is_rehearsed_as_before() -> None:
    assert b"the tip is over" not in program_of(marked(), rehearse=True)


def test_a_wait_that_is_over_no_mark_or_after_a_stroke_is_a_problem(tmp_path: Path, registry) -> None:
    drawing = put_back(marked(), SHOVE, tmp_path / "read.toml")
    lines = program_of(drawing, rehearse=True).decode().splitlines()
    at = next(index for index, line in enumerate(lines) if "rehearsal, marker lifted: mark 2" in line) + 1
    beside = [*lines[:at], "G0 X100 Y100", *lines[at + 1 :]]
    assert any("away from park" in text for text in problems(drawing, "\n".join(beside).encode(), registry))
    last = max(index for index, line in enumerate(lines) if line.startswith("N"))
    late = [*lines[:last], lines[at], "M0", "G21", "G90 G94", "G17", "G54", *lines[last:]]
    assert any("away from park" in text for text in problems(drawing, "\n".join(late).encode(), registry))
