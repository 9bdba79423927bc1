"""After the board was put back: zero stays where it was, and going on takes the drawing that was measured."""

from pathlib import Path

import numpy as np
import pytest
from put_back import Shove, marked, program_of, put_back

from underdraw.errors import CannotDo
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program.comparison.stroke_of_line import stroke_of_line

SHOVE = Shove(1.3, (5.0, -3.0))


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_line_of_a_program_is_looked_up_in_the_drawing_it_was_made_of(tmp_path: Path, registry, units) -> None:  # type: ignore[no-untyped-def]
    before = marked()
    after = put_back(before, SHOVE, tmp_path / "read.toml")
    other = put_back(before, Shove(1.3, (5.0, -3.5)), tmp_path / "other.toml")
    first, second = program_of(before, units=units), program_of(after, units=units)
    line = second.count(b"\n") - 20
    assert stroke_of_line(second, line, after, registry)[0] > 1
    assert stroke_of_line(first, line, before, registry)[0] > 1
    with pytest.raises(CannotDo, match="board that was put back and measured, and the drawing is not of that"):
        stroke_of_line(second, line, before, registry)
    with pytest.raises(CannotDo, match="board that was put back and measured, and the drawing is not of that"):
        stroke_of_line(second, line, other, registry)
    with pytest.raises(CannotDo, match="for the board as it lay first, and the drawing for a board that was put back"):
        stroke_of_line(first, line, after, registry)


def test_nobody_is_sent_to_a_corner_that_moved(tmp_path: Path) -> None:
    assert b"X0 Y0 is the board's lower left corner" in program_of(marked())
    head = program_of(put_back(marked(), SHOVE, tmp_path / "read.toml"))
    assert b"lower left corner" not in head
    assert b"X0 Y0 is where it was set before the board was moved, and stays there" in head


def test_zero_is_shown_where_the_machine_has_it(tmp_path: Path, registry: Registry) -> None:
    """The point of the board that program zero is over: moved by the shove, it is where zero was."""
    drawing = put_back(marked(), SHOVE, tmp_path / "read.toml")
    lying = Lying.of(drawing, registry)
    assert lying.to_program(np.array([lying.zero_on_board])) == pytest.approx(np.zeros((1, 2)), abs=1e-9)
    assert lying.zero_on_board != pytest.approx(Lying.of(marked(), registry).zero_on_board, abs=1.0)
