"""After the board was put back: zero stays where it was, and going on takes the drawing that was measured."""

from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from put_back import Shove, marked, program_of, put_back

from underdraw.cli.command_line import main
from underdraw.drawing.wire import write_drawing
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


@pytest.mark.parametrize("controller", ["iso6983", "lines"])
def test_nor_does_a_program_without_notes_stand_in_the_way(tmp_path: Path, registry, controller) -> None:  # type: ignore[no-untyped-def]
    """Nothing in it says how the board lay: its strokes show whose it is."""
    before = marked()
    after = put_back(before, SHOVE, tmp_path / "read.toml")
    program = program_of(after, controller=controller)
    assert b"(" not in program
    line = program.count(b"\n") - 20
    assert stroke_of_line(program, line, after, registry)[0] > 1
    with pytest.raises(CannotDo, match="is no stroke of this drawing|what it draws lies .* from stroke"):
        stroke_of_line(program, line, before, registry)


def checked(*words: object) -> tuple[int, str]:
    with pytest.raises(SystemExit) as stop, redirect_stdout(StringIO()) as out, redirect_stderr(out):
        main(["check", *map(str, words)])
    return int(stop.value.code or 0), out.getvalue()


def test_a_check_against_a_drawing_of_another_board_is_one_line(tmp_path: Path) -> None:
    before = marked()
    after = put_back(before, SHOVE, tmp_path / "read.toml")
    for name, drawing in (("before", before), ("after", after)):
        (tmp_path / f"{name}.svg").write_bytes(write_drawing(drawing))
        (tmp_path / f"{name}.nc").write_bytes(program_of(drawing))
    for name in ("before", "after"):
        assert checked(tmp_path / f"{name}.nc", "--against", tmp_path / f"{name}.svg")[0] == 0
    code, told = checked(tmp_path / "after.nc", "--against", tmp_path / "before.svg")
    assert code == 1 and "board that was put back and measured, and the drawing is not of that" in told
    code, told = checked(tmp_path / "before.nc", "--against", tmp_path / "after.svg")
    assert code == 1 and told.count("\n") == 2 and "for the board as it lay first" in told


def test_a_check_against_another_drawing_begins_with_that(tmp_path: Path) -> None:
    """An old program beside a drawing that was changed since: the digests in its head and in the drawing differ."""
    drawing = marked()
    changed = drawing.replace(coords=np.add(drawing.coords, (3.0, 0.0)))
    (tmp_path / "old.nc").write_bytes(program_of(drawing))
    (tmp_path / "new.svg").write_bytes(write_drawing(changed))
    code, told = checked(tmp_path / "old.nc", "--against", tmp_path / "new.svg")
    assert code == 1
    assert told.splitlines()[0].endswith(
        f"old.nc: was made of another drawing: its head reads “drawing sha256 {drawing.digest}”, and that of "
        f"{tmp_path / 'new.svg'} is {changed.digest}"
    )
    (tmp_path / "own.svg").write_bytes(write_drawing(drawing))
    assert "another drawing" not in checked(tmp_path / "old.nc", "--against", tmp_path / "own.svg")[1]


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
