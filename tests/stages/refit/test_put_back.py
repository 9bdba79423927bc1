"""A board that is back on the bed is drawn where its lines are, and a reading that cannot be is named."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from put_back import (
    PANEL,
    Shove,
    file_of,
    from_corner,
    marked,
    marks_of,
    program_of,
    put_back,
    refitted,
    without_marks,
)
from scipy.spatial.transform import Rotation

from underdraw import CannotDo, InputError
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.comparison import drawn_strokes
from underdraw.program.expected import Expected
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode
from underdraw_stages.refit import RefitSettings
from underdraw_stages.refit.best_motion import best_motion
from underdraw_stages.refit.stage import refit

NOISE_MM = 0.05


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def test_the_best_motion_is_that_of_another_library_and_of_the_formula_written_out() -> None:
    """scipy.spatial.transform.Rotation.align_vectors; Kabsch 1976 and Umeyama 1991 with numpy's SVD."""
    rng = np.random.default_rng(11)
    for _ in range(1000):
        count = int(rng.integers(2, 8))
        here = rng.uniform(0, 1000, (count, 2))
        shove = Shove(float(rng.uniform(-180, 180)), (float(rng.uniform(-50, 50)), float(rng.uniform(-50, 50))))
        there = shove.of(here) + rng.normal(0, 0.05, here.shape)
        found = best_motion(here, there)
        a, b = here - here.mean(axis=0), there - there.mean(axis=0)
        flat = [np.column_stack([points, np.zeros(count)]) for points in (a, b)]
        if count > 2:  # of two points a library may turn one line onto the other out of the plane
            turn, _ = Rotation.align_vectors(flat[1], flat[0])
            assert turn.as_matrix()[:2, :2] @ [1, 0] == pytest.approx(
                [np.cos(np.radians(found.angle_deg)), np.sin(np.radians(found.angle_deg))], abs=1e-9
            )
        u, d, vt = np.linalg.svd(b.T @ a)
        s = np.diag([1.0, np.linalg.det(u) * np.linalg.det(vt)])
        r = u @ s @ vt
        assert r[:, 0] == pytest.approx(
            [np.cos(np.radians(found.angle_deg)), np.sin(np.radians(found.angle_deg))], abs=1e-9
        )
        assert found.shift == pytest.approx(there.mean(axis=0) - r @ here.mean(axis=0), abs=1e-9)
        assert found.scale == pytest.approx(np.trace(np.diag(d) @ s) / (a**2).sum(), abs=1e-12)


def test_readings_in_a_mirrored_order_give_a_turn_and_no_mirror_image() -> None:
    here = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0)])
    found = best_motion(here, here[[1, 0, 3, 2]])
    assert np.hypot(*found.residuals.T).max() > 50
    (sigma, tau), square = (4 * 50.0**2, 4 * 100.0**2), 4 * (50.0**2 + 100.0**2)
    assert found.scale == pytest.approx(
        (tau - sigma) / square
    )  # Umeyama 1991: the mirrored direction counts against it


def test_with_exact_readings_every_point_is_drawn_within_a_micrometre(tmp_path: Path) -> None:
    drawing, rng = marked(), np.random.default_rng(3)
    for _ in range(20):
        shove = Shove.random(rng)
        lying = Lying.of(put_back(drawing, shove, tmp_path / "read.toml"), Registry.installed())
        off = lying.to_program(drawing.coords) - shove.of(from_corner(drawing, drawing.coords))
        assert np.hypot(*off.T).max() < 0.001


def test_noise_in_the_readings_moves_no_point_farther_than_it_can(tmp_path: Path) -> None:
    """Least squares of marks on a rectangle, all r from its middle: a point at d from it is off by at most 1 + d / r
    of the greatest error of a reading (the mean's share, and the turn's)."""
    drawing, rng = marked(), np.random.default_rng(4)
    spots = from_corner(drawing, drawing.coords)
    corners = from_corner(drawing, marks_of(drawing))
    r = np.hypot(*(corners - corners.mean(axis=0)).T)
    assert r == pytest.approx(r[0])
    most = NOISE_MM * np.sqrt(2) * (1 + np.hypot(*(spots - corners.mean(axis=0)).T) / r[0])
    for _ in range(20):
        shove, noise = Shove.random(rng), rng.uniform(-NOISE_MM, NOISE_MM, corners.shape)
        lying = Lying.of(put_back(drawing, shove, tmp_path / "read.toml", noise), Registry.installed())
        off = np.hypot(*(lying.to_program(drawing.coords) - shove.of(spots)).T)
        assert (off <= most + 1e-3).all() and off.max() > 0.005


@pytest.mark.slow
@pytest.mark.parametrize(
    "machine",
    [{}, {"zero": "centre"}, {"zero": "pin", "pin": "20 x 25 mm"}, {"units": "in", "zero": "face"}],
    ids=["board", "centre", "pin", "face"],
)
@pytest.mark.parametrize("controller", ["rs274", "lines"])
def test_the_program_follows_the_board_wherever_zero_is(tmp_path: Path, registry, machine, controller) -> None:
    """Read by the independent reader as a machine would, and brought back to the board by hand."""
    drawing = marked(**machine)
    plain = Lying.of(drawing, registry)
    shove = Shove(1.7, (6.0, -4.0))
    read = shove.of(from_corner(drawing, marks_of(drawing)) - plain.zero)
    made, *_ = refitted(drawing, file_of(tmp_path / "read.toml", read))
    data = program_of(made, controller=controller, units=machine.get("units", "mm"))
    strokes = drawn_strokes(check_program(data).drawn)
    assert len(strokes) == len(drawing)
    on_board = shove.undone(strokes.coords) + plain.zero
    asked = from_corner(drawing, drawing.coords)
    assert on_board[strokes.parts[:-1]] == pytest.approx(asked[drawing.parts[:-1]], abs=0.003)
    report = check_program(data, Expected.of(made.job, Lying.of(made, registry), registry, controller).drawing(made))
    assert report.ok, report.problems[:3]
    before = Expected.of(drawing.job, plain, registry, controller).drawing(drawing)
    assert not check_program(data, before).ok  # the board where it was is not where this program draws


@pytest.mark.parametrize("zero_with", ["tip", "axis"])
def test_a_marker_beside_the_axis_is_found_whatever_zero_is_set_with(tmp_path: Path, zero_with: str) -> None:
    """The board turns about where it turns, and the machine shows the tip's position or the axis's, 60 mm beside it."""
    drawing = marked()
    holder = {"offset": "60 x -35 mm", "zero_with": zero_with}
    drawing = drawing.replace(job=job_from_data({**drawing.job.data, "holder": holder}, "moths"))
    taken_off = np.array((60.0, -35.0)) if zero_with == "axis" else np.zeros(2)
    shove = Shove(1.4, (3.0, 5.0))
    read = shove.of(from_corner(drawing, marks_of(drawing))) - taken_off
    made, *_ = refitted(drawing, file_of(tmp_path / "read.toml", read))
    shown = Lying.of(made, Registry.installed()).to_program(drawing.coords)
    assert shown == pytest.approx(shove.of(from_corner(drawing, drawing.coords)) - taken_off, abs=1e-3)


def test_programs_of_the_board_where_it_was_are_no_longer_those_of_the_drawing(tmp_path: Path) -> None:
    drawing = marked()
    written = gcode(drawing, GcodeSettings(), TrialContext(Registry.installed())).drawing
    assert len(written.programs) == 1
    assert put_back(written, Shove(1.0, (2.0, 3.0)), tmp_path / "read.toml").programs == ()


def test_strokes_drawn_again_follow_the_board_too(tmp_path: Path) -> None:
    drawing, shove = marked(), Shove(-1.0, (3.0, 2.0))
    made = put_back(drawing, shove, tmp_path / "read.toml")
    strokes = drawn_strokes(check_program(program_of(made, again="3-4")).drawn)
    asked = shove.of(from_corner(drawing, np.array([drawing.part_coords(2)[0], drawing.part_coords(3)[0]])))
    assert strokes.coords[strokes.parts[:-1]] == pytest.approx(asked, abs=0.003)


@pytest.mark.parametrize("which", range(4))
def test_a_mark_that_was_misread_is_named(tmp_path: Path, which: int) -> None:
    drawing, rng = marked(), np.random.default_rng(which)
    for _ in range(10):
        angle = rng.uniform(0, 2 * np.pi)
        noise = rng.uniform(-NOISE_MM, NOISE_MM, (4, 2))
        noise[which] += (np.cos(angle), np.sin(angle))
        with pytest.raises(CannotDo, match=rf"^mark {which + 1} is .* more than half a tip"):
            put_back(drawing, Shove.random(rng), tmp_path / "read.toml", noise)
        assert put_back(drawing, Shove.random(rng), tmp_path / "read.toml", noise, accept=True).lying.motion


def test_two_marks_leave_nothing_to_check_by_and_three_do(tmp_path: Path) -> None:
    drawing, shove = marked(), Shove(0.5, (1.0, 2.0))
    read = shove.of(from_corner(drawing, marks_of(drawing)))
    _, _, warned = refitted(drawing, file_of(tmp_path / "two.toml", read[[0, 2]], [1, 3]))
    assert len(warned) == 1 and "nothing checks the readings" in warned[0]
    assert refitted(drawing, file_of(tmp_path / "three.toml", read[[0, 2, 3]], [1, 3, 4]))[2] == []


@pytest.mark.parametrize(
    ("numbers", "turn"), [([3, 1], 179.5), ([3, 4, 1, 2], 179.5), ([2, 3, 4, 1], 90.5)], ids=["two", "four", "quarter"]
)
def test_marks_that_were_read_in_another_order_are_not_taken_for_a_turned_board(tmp_path: Path, numbers, turn) -> None:
    """All of them fit: the marks of a rectangle lie alike after half a turn, those of a square after a quarter."""
    drawing = marked(face="12 x 12 in" if turn == 90.5 else "12 x 16 in")
    where = Shove(0.5, (1.0, 2.0)).of(from_corner(drawing, marks_of(drawing)))
    right = [1, 3] if len(numbers) == 2 else [1, 2, 3, 4]
    read = where[[number - 1 for number in right]]
    assert refitted(drawing, file_of(tmp_path / "right.toml", read, right))[1]["angle_deg"] == pytest.approx(0.5)
    file = file_of(tmp_path / "read.toml", read, numbers)
    with pytest.raises(CannotDo, match=rf"^the readings turn the board by {turn}°; .* another order"):
        refitted(drawing, file)
    _, _, warned = refitted(drawing, file, accept=True)
    assert f"the readings turn the board by {turn}°; accepted" in warned


@pytest.mark.parametrize(("turn", "refused"), [(44, False), (-44, False), (46, True), (-46, True)])
def test_a_board_may_lie_turned_by_less_than_half_of_a_quarter(tmp_path: Path, turn: int, refused: bool) -> None:
    drawing = marked(bed="5 x 5 m")
    read = Shove(turn, (1000.0, 1000.0)).of(from_corner(drawing, marks_of(drawing)))
    if not refused:
        assert refitted(drawing, file_of(tmp_path / "read.toml", read))[1]["angle_deg"] == pytest.approx(turn)
    else:
        with pytest.raises(CannotDo, match="another order"):
            refitted(drawing, file_of(tmp_path / "read.toml", read))


@pytest.mark.parametrize("marks", [3, 4])
def test_of_four_marks_one_that_the_others_do_not_bear_out_is_named_though_all_are_within_half_a_tip(
    tmp_path: Path, marks: int
) -> None:
    """0.6 of a tip off at one of four is spread over all by the best motion; three leave nothing to tell it by."""
    drawing = marked()
    tip = min(drawing.job.marker(str(name)).tip for name in set(drawing.marker.tolist()))
    read = from_corner(drawing, marks_of(drawing))
    read[1] += (0.42 * tip, 0.42 * tip)
    _, told, warned = refitted(drawing, file_of(tmp_path / "read.toml", read[:marks], list(range(1, marks + 1))))
    assert max(told["residuals_mm"]) < tip / 2
    assert [text[:6] for text in warned] == (["mark 2"] if marks == 4 else [])


@pytest.mark.parametrize(("scale", "said"), [(1.0003, True), (0.9997, True), (1.0001, False)])
def test_a_scale_that_would_fit_better_is_in_the_summary(tmp_path: Path, scale: float, said: bool) -> None:
    drawing = marked()
    read = from_corner(drawing, marks_of(drawing)) * scale
    settings = read_settings(RefitSettings, {"measured": str(file_of(tmp_path / "read.toml", read))})
    text = refit(drawing, settings, TrialContext(Registry.installed())).summary
    assert (f"a scale of {scale:.5f} would fit better; it is not applied" in text) is said


@pytest.mark.parametrize(("apart", "refused"), [(9.9, True), (10.1, False)])
def test_points_that_are_near_to_one_another_are_refused(tmp_path: Path, apart: float, refused: bool) -> None:
    file = tmp_path / "read.toml"
    points = [(50.0, 60.0), (50.0 + apart * 0.6, 60.0 + apart * 0.8)]
    drawing = marked()
    here = from_corner(drawing, np.array(points))
    file.write_text(
        "".join(
            f'[[mark]]\nat = "{x} x {y} mm"\nread = "{u} x {v} mm"\n'
            for (x, y), (u, v) in zip(points, here.tolist(), strict=True)
        )
    )
    if refused:
        with pytest.raises(InputError, match="or within 0.4 in of one another"):
            refitted(drawing, file)
    else:
        assert refitted(drawing, file)[1]["angle_deg"] == pytest.approx(0, abs=1e-6)


def test_a_scale_is_reported_and_not_applied(tmp_path: Path) -> None:
    drawing = marked()
    marks = from_corner(drawing, marks_of(drawing))
    made, told, _ = refitted(drawing, file_of(tmp_path / "read.toml", marks * 1.0005))
    assert told["scale"] == pytest.approx(1.0005, abs=1e-6)
    drawn = Lying.of(made, Registry.installed()).to_program(np.array([(0.0, 0.0), (400.0, 0.0)]))
    assert np.hypot(*(drawn[1] - drawn[0])) == pytest.approx(400.0)
    assert max(told["residuals_mm"]) == pytest.approx(0.0005 * np.hypot(*(marks[0] - marks.mean(axis=0))), abs=1e-3)


def test_a_stretched_canvas_is_found_by_any_points_that_can_be_recognised(tmp_path: Path) -> None:
    drawing = without_marks(marked("stretched 8 x 8 in"))
    shove = Shove(1.2, (4.0, 5.0))
    points = np.array([(10.0, 20.0), (180.0, 30.0), (100.0, 190.0)])
    read = shove.of(from_corner(drawing, points))
    file = tmp_path / "read.toml"
    file.write_text(
        "".join(
            f'[[mark]]\nat = "{x} x {y} mm"\nread = "{a:.9f} x {b:.9f} mm"\n'
            for (x, y), (a, b) in zip(points.tolist(), read.tolist(), strict=True)
        )
    )
    made, *_ = refitted(drawing, file)
    off = Lying.of(made, Registry.installed()).to_program(drawing.coords) - shove.of(
        from_corner(drawing, drawing.coords)
    )
    assert np.hypot(*off.T).max() < 0.001


def test_a_second_measurement_takes_the_place_of_the_first(tmp_path: Path) -> None:
    drawing, one, two = marked(), Shove(1.0, (2.0, 3.0)), Shove(-0.5, (-4.0, 1.0))
    twice = put_back(put_back(drawing, one, tmp_path / "a.toml"), two, tmp_path / "b.toml")
    assert twice.lying == put_back(drawing, two, tmp_path / "b.toml").lying


def test_the_motion_travels_on_the_wire_and_the_picture_stays_on_the_board(tmp_path: Path) -> None:
    drawing = marked()
    made = put_back(drawing, Shove(1.0, (2.0, 3.0)), tmp_path / "read.toml")
    assert read_drawing(write_drawing(made)).lying == made.lying
    assert (made.coords == drawing.coords).all()


def test_a_board_that_the_bed_does_not_reach_any_more_is_refused(tmp_path: Path) -> None:
    drawing = marked(bed="470 x 620 mm")
    with pytest.raises(CannotDo, match=r"the line at .* is .* beyond the reach\n  try: move the board"):
        put_back(drawing, Shove(0.0, (100.0, 0.0)), tmp_path / "read.toml")


@pytest.mark.parametrize(
    ("text", "line", "told"),
    [
        ("", None, "expected at least two marks, got 0"),
        ('[[mark]]\nnumber = 1\nread = "1 x 2 mm"', None, "expected at least two marks, got 1"),
        ('[[mark]]\nnumber = 1\nread = "1 x 2 mm"\n' * 1001, None, "expected 1,000 marks at most, got 1,001"),
        ('[[mark]]\nnumber = 1\nread = "1 x 2 mm"\n[[mark]]\nnumber = 2', 4, "read is missing"),
        ('[[mark]]\nnumber = 1\nread = "1 x 2 mm"\n[[mark]]\nread = "1 x 2 mm"', 4, "either number or at"),
        ('[[mark]]\nnumber = 1\nread = "1 x 2 mm"\n[[mark]]\nnumber = 5\nread = "1 x 2 mm"', 5, "there is no mark 5"),
        (
            '[[mark]]\nnumber = 1\nread = "1 x 2 mm"\n[[mark]]\nnumber = 1\nread = "1 x 2 mm"',
            4,
            "mark 1 stands there twice",
        ),
        ('[[mark]]\nnumber = 1\nread = "1 x 2"\n[[mark]]\nnumber = 2\nread = "1 x 2 mm"', 3, "with its unit"),
        ('[[mark]]\nnumber = 1\nreed = "1 x 2 mm"\n[[mark]]\nnumber = 2\nread = "1 x 2 mm"', 3, "did you mean 'read'"),
        ("[[mark]\n", 1, "is not TOML"),
        ("marks = 3", 1, "unknown key 'marks'"),
        ("mark = 3", 1, "no list of tables"),
    ],
)
def test_a_file_that_cannot_be_read_gets_one_line_with_its_place(tmp_path: Path, text, line, told) -> None:
    file = tmp_path / "read.toml"
    file.write_text(text)
    with pytest.raises(InputError) as caught:
        refitted(marked(), file)
    where = f"{file}: " if line is None else f"{file}:{line}: "
    assert str(caught.value).startswith(where) and told in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(("panel", "written"), [(PANEL, "0.485 x 0.983 in"), ("deep square", "12.31 x 24.97 mm")])
def test_an_example_of_a_reading_is_in_the_drawing_s_own_unit(tmp_path: Path, panel: str, written: str) -> None:
    file = tmp_path / "read.toml"
    for text in ("", "mark = 3", "marks = 3", "[[mark]]\nnumber = 1\n[[mark]]\nnumber = 2"):
        file.write_text(text)
        with pytest.raises(InputError, match=f'read = "{written}"'):
            refitted(marked(panel), file)
    with pytest.raises(InputError, match=f'read = "{written}"'):
        refit(marked(panel), RefitSettings(), TrialContext(Registry.installed()))


@pytest.mark.parametrize(("scale", "guessed"), [(1 / 25.4, "0.0394"), (25.4, "25.4"), (1.05, ""), (0.9, "")])
def test_a_unit_taken_for_another_is_guessed_at_and_a_slip_of_the_hand_is_not(tmp_path: Path, scale, guessed) -> None:
    drawing = marked()
    with pytest.raises(CannotDo) as error:
        refitted(drawing, file_of(tmp_path / "read.toml", from_corner(drawing, marks_of(drawing)) * scale))
    assert ("is their unit right?" in str(error.value)) is bool(guessed)
    assert not guessed or f"{guessed} times as far apart as the marks" in str(error.value)


def test_without_marks_the_message_says_what_to_write_instead(tmp_path: Path) -> None:
    drawing = marked()
    file = file_of(tmp_path / "read.toml", from_corner(drawing, marks_of(drawing)))
    with pytest.raises(InputError, match='no registration marks; use at = "3 x 2 in"'):
        refitted(without_marks(drawing), file)


@pytest.mark.slow
def test_refit_stands_in_a_pipe_before_the_program(tmp_path: Path) -> None:
    drawing = marked()
    read = file_of(tmp_path / "read.toml", Shove(1.0, (5.0, 5.0)).of(from_corner(drawing, marks_of(drawing))))
    (tmp_path / "moths.svg").write_bytes(write_drawing(drawing))
    words = [sys.executable, "-m", "underdraw"]
    done = subprocess.run(
        [*words, "refit", "--measured", str(read), "-i", "moths.svg", "-o", "back.svg"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0 and "board turned 1.000° counter-clockwise" in done.stderr
    done = subprocess.run(
        [*words, "gcode", "-i", "back.svg", "-o", "back.nc"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0
    done = subprocess.run(
        [*words, "check", "back.nc", "--against", "back.svg"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    done = subprocess.run(
        [*words, "check", "back.nc", "--against", "moths.svg"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1


def test_refit_changes_nothing_that_it_was_given(tmp_path: Path) -> None:
    drawing = marked()
    before = replace(drawing)
    put_back(drawing, Shove(1.0, (2.0, 3.0)), tmp_path / "read.toml")
    assert write_drawing(before) == write_drawing(drawing)
