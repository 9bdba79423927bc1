"""Readings of a card become lines of a job: the truth within what the readings' scatter allows, wrong ones named."""

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

from underdraw import InputError
from underdraw.calibration.least_squares import mean, student
from underdraw.calibration.lines import job_lines
from underdraw.calibration.machine import SQUARE, backlash_of, runout_of, square_of
from underdraw.calibration.readings import MachineReadings, read_readings
from underdraw.job.file import job_from_data

MACHINES = 500
CARD = """\
[marker]
name = "outline"
solid = "30 in/min"
faint = "45 in/min"
press = ["1 mm", "0.5 mm"]
settle = "0.1 s"
line = ["0.9 mm", "0.95 mm", "0.9 mm", "0.92 mm", "1.9 mm"]
faded = ["52 m", "47.34 m"]
sealed_with = "gloss medium"
sealed_ran = false
[machine]
bottom = ["200.2 mm", "200.3 mm", "200.2 mm"]
left = ["199.9 mm", "200 mm", "199.9 mm"]
step_x = ["0.2 mm", "0.15 mm", "0.2 mm"]
turned = ["0.4 x -0.2 mm", "0.44 x -0.2 mm"]
wheel = "300 mm/s2"
holder_offset = "38.5 x -2 mm"
"""


@pytest.mark.parametrize(
    ("section", "key", "typed", "slip"),
    [
        ("marker", "line", ["0.9 in", "0.95 mm", "0.9 mm"], "0.9 mm and 0.9 in"),
        ("marker", "line", ["0.6 mm", "4.9 mm"], "0.6 mm and 4.9 mm"),
        ("marker", "line", ["0.6 mm", "4.7 mm"], ""),
        ("marker", "faded", ["52 m", "47 mm"], "47 mm and 52 m"),
        ("marker", "faded", ["52 m", "9 m"], ""),  # one of them was all but dry
        ("machine", "left", ["200.1 mm", "7.88 mm"], "7.88 mm and 200.1 mm"),
        ("marker", "press", ["0 mm", "0.5 mm", "3 mm"], ""),  # the most of them counts
    ],
)
def test_readings_that_cannot_be_of_one_thing_are_refused_before_they_are_averaged(
    tmp_path: Path, section: str, key: str, typed: list[str], slip: str
) -> None:
    file = tmp_path / "readings.toml"
    file.write_text(f"[{section}]\n{key} = {json.dumps(typed)}\n")
    if not slip:
        assert read_readings(file)
        return
    with pytest.raises(InputError, match=f"{key}: {slip} cannot be readings of one thing; is the unit") as error:
        read_readings(file)
    assert str(error.value).startswith(f"{file}:2: ")


def drawn_square(scale_x: float, scale_y: float, lean: float) -> dict[str, float]:
    """What a machine draws for a square of 200 mm: corners by an affine map, distances between them."""
    axes = np.array([[1 + scale_x, (1 + scale_y) * np.sin(lean)], [0.0, (1 + scale_y) * np.cos(lean)]])
    near_left, near_right, far_left, far_right = (axes @ (200 * np.array(c)) for c in ((0, 0), (1, 0), (0, 1), (1, 1)))
    return {
        "bottom": float(np.linalg.norm(near_right - near_left)), "top": float(np.linalg.norm(far_right - far_left)),
        "left": float(np.linalg.norm(far_left - near_left)), "right": float(np.linalg.norm(far_right - near_right)),
        "rising": float(np.linalg.norm(far_right - near_left)), "falling": float(np.linalg.norm(near_right - far_left)),
    }  # fmt: skip


def machine(seed: int) -> tuple[np.ndarray, float, dict[str, list[float]]]:
    """A machine's scales and lean, the scatter of one reading, and three readings of each length."""
    random = np.random.default_rng(seed)
    truth = np.array([*random.normal(0, 0.004, 2), random.normal(0, 0.003)])
    scatter = float(random.uniform(0.03, 0.15))
    lengths = drawn_square(*truth)
    return truth, scatter, {key: list(lengths[key] + random.normal(0, scatter, 3)) for key in SQUARE}


def test_scale_and_squareness_are_found_within_what_the_scatter_allows() -> None:
    off = []
    for seed in range(MACHINES):
        truth, _, readings = machine(seed)
        found = square_of(MachineReadings(**{key: tuple(values) for key, values in readings.items()}))
        assert found is not None
        values = np.array([*found.scale, found.lean])
        off.append((values - truth) / np.array([*found.scale_errors, found.lean_error]))
    beside = np.abs(np.array(off))
    print(f"\n{MACHINES} machines: within one error {np.mean(beside < 1):.3f}, two {np.mean(beside < 2):.3f}")
    assert np.mean(beside < 2) > 0.9  # of normal scatter 0.954 lie within two errors; three unknowns, 15 free readings
    assert np.sqrt(np.mean(beside**2)) == pytest.approx(1.0, abs=0.2)  # of a t of 15: 1.07


def test_it_agrees_with_the_linear_equations_of_a_reference_library() -> None:
    """numpy's own least squares on the equations to the first order, for a machine that is all but true."""
    truth = np.array([2e-4, -1e-4, 3e-4])
    lengths = drawn_square(*truth)
    half = 200 / np.sqrt(2)
    rows = {"bottom": (200, 0, 0), "top": (200, 0, 0), "left": (0, 200, 0), "right": (0, 200, 0),
            "rising": (half, half, half), "falling": (half, half, -half)}  # fmt: skip
    flat = {key: 200.0 if key in ("bottom", "top", "left", "right") else 200 * np.sqrt(2) for key in SQUARE}
    wanted = np.linalg.lstsq(
        np.array([rows[key] for key in SQUARE]), np.array([lengths[key] - flat[key] for key in SQUARE]), rcond=None
    )[0]
    found = square_of(MachineReadings(**{key: (lengths[key],) for key in SQUARE}))
    assert found is not None
    assert np.array([*found.scale, found.lean]) == pytest.approx(wanted, abs=1e-6)


def test_one_wrong_reading_is_named() -> None:
    named = wrongly = 0
    for seed in range(MACHINES):
        _, scatter, readings = machine(seed)
        random = np.random.default_rng(10_000 + seed)
        sound = square_of(MachineReadings(**{key: tuple(values) for key, values in readings.items()}))
        wrongly += bool(sound is not None and sound.left_out)
        key, number = SQUARE[random.integers(6)], int(random.integers(3))
        readings[key][number] += random.choice([-1, 1]) * random.uniform(8, 30) * scatter
        found = square_of(MachineReadings(**{key: tuple(values) for key, values in readings.items()}))
        named += bool(found is not None and (key, number + 1) in found.left_out)
    print(f"\none wrong reading: named in {named} of {MACHINES}; a sound one named in {wrongly} of {MACHINES}")
    assert named >= 0.95 * MACHINES
    assert wrongly <= 0.05 * MACHINES


def test_one_axis_is_as_sure_as_its_own_readings_make_it() -> None:
    """The standard error of a mean, s / sqrt(n), and the wrong one of five left out: only one unknown is looked for."""
    readings = np.array([200.4, 200.5, 200.6])
    found = square_of(MachineReadings(bottom=tuple(readings)))
    assert found is not None and np.isnan(found.scale[1]) and np.isnan(found.lean)
    assert found.scale[0] == pytest.approx(readings.mean() / 200 - 1)
    assert found.scale_errors[0] == pytest.approx(readings.std(ddof=1) / np.sqrt(3) / 200)
    found = square_of(MachineReadings(left=(200.4, 200.5, 200.6, 200.5, 204.0)))
    assert found is not None and found.scale[1] == pytest.approx(0.0025) and np.isnan(found.scale[0])
    assert list(found.left_out) == [("left", 5)]


@pytest.mark.parametrize(
    ("readings", "note"),
    [
        ('rising = ["282.8 mm"]', "# diagonals show nothing without a side along X and one along Y"),
        ('bottom = ["200 mm"]\nfalling = ["282.8 mm"]', "# diagonals show nothing without a side along X and"),
        ('bottom = ["200.2 mm"]', "# there are as many unknowns as readings: nothing checks these"),
    ],
)
def test_what_readings_do_not_show_is_noted(tmp_path: Path, readings: str, note: str) -> None:
    (tmp_path / "card.toml").write_text(f"[machine]\n{readings}\n")
    assert sum(line.startswith(note) for line in job_lines(read_readings(tmp_path / "card.toml"))) == 1
    (tmp_path / "card.toml").write_text('[machine]\nbottom = ["200.2 mm", "200.3 mm", "200.2 mm"]\n')
    assert not any(
        "nothing checks" in line or "diagonals" in line for line in job_lines(read_readings(tmp_path / "card.toml"))
    )


def test_a_wrong_reading_of_the_square_is_quoted_as_it_was_typed(tmp_path: Path) -> None:
    readings = ["200.4 mm", "200.5 mm", "20.4 cm", "200.6 mm", "200.5 mm"]
    (tmp_path / "card.toml").write_text(f"[machine]\nbottom = {json.dumps(readings)}\n")
    assert "# reading 3 of bottom, 20.4 cm, is 3.50 mm more than the others give: left out; measure it again" in (
        job_lines(read_readings(tmp_path / "card.toml"))
    )


@pytest.mark.parametrize("sign", [1, -1])
def test_the_notes_name_the_side_and_the_factor_that_mend_it(tmp_path: Path, sign: int) -> None:
    """A machine that draws 1 % long (short) takes fewer (more) steps; y leans to where the rising diagonal is longer;
    a tip that is 0.3 mm right of the middle draws, turned half round, 0.6 mm to the left.
    """
    square = drawn_square(sign * 0.01, 0.0, sign * 0.005)
    lines = [f'{key} = ["{value:.4f} mm"]' for key, value in square.items()]
    file = tmp_path / "readings.toml"
    file.write_text("\n".join(["[machine]", *lines, f'turned = ["{-sign * 0.6} x {sign * 0.2} mm"]']) + "\n")
    notes = "\n".join(job_lines(read_readings(file)))
    assert f"# X draws 1.00 % {'long' if sign > 0 else 'short'}" in notes
    assert f"its steps per millimetre times {1 / (1 + sign * 0.01):.5f}" in notes
    assert f"° to the {'right' if sign > 0 else 'left'}: 1.00 mm in 200 mm" in notes
    sides = "0.30 mm right and 0.10 mm near" if sign > 0 else "0.30 mm left and 0.10 mm away"
    assert f"# the tip is {sides} of the holder's middle" in notes


def test_backlash_and_runout_are_found_within_what_the_scatter_allows() -> None:
    off = []
    for seed in range(MACHINES):
        random = np.random.default_rng(seed)
        backlash, (x, y) = random.uniform(0, 0.4), random.normal(0, 0.3, 2)
        steps = tuple(backlash + random.normal(0, 0.05, 5))
        turned = tuple(map(tuple, np.array([-2 * x, -2 * y]) + random.normal(0, 0.05, (5, 2))))
        readings = MachineReadings(step_x=steps, turned=turned)
        found, runout = backlash_of(readings)["x"], runout_of(readings)
        assert runout is not None
        off += [(found.values[0] - backlash) / found.errors[0]]
        off += [(a - b) / error for a, b, error in zip(runout[0], (x, y), runout[1], strict=True)]
    assert np.mean(np.abs(off) < 3) > 0.95


def test_the_table_of_student_is_read_right() -> None:
    """Handbook table, two-sided 0.1 % (from memory)."""
    assert student(1) == pytest.approx(636.6) and student(10) == pytest.approx(4.587)
    assert 4.318 < student(11) < 4.587
    assert student(100_000) < 3.4


def test_what_agrees_to_the_last_digit_is_no_wrong_reading() -> None:
    assert not mean(np.array([0.9, 0.9, 0.9, 0.91])).left_out
    assert set(mean(np.array([0.9, 0.9, 0.9, 0.92, 1.9])).left_out) == {4}


def test_only_what_was_typed_in_is_printed(tmp_path: Path) -> None:
    (tmp_path / "card.toml").write_text(CARD)
    lines = job_lines(read_readings(tmp_path / "card.toml"))
    text = "\n".join(lines)
    assert 'offset = "38.29 x -1.9 mm"' in text  # half of the way between the crosses, against it
    assert 'speed = "30 in/min"' in text and "45 in/min is not" in text
    assert 'ink_length = "47.3 m"' in text and 'press = "1 mm"' in text
    assert "X draws 0.12 % long" in text and "Y draws 0.03 % short" in text
    assert "backlash of X: 0.18 mm" in text
    assert 'line = "0.92 mm"' in text and "reading 5 of line, 1.9 mm, is 0.98 mm more than the others give" in text
    assert "leans" not in text and "backlash of Y" not in text
    (tmp_path / "card.toml").write_text('[marker]\nsettle = "0.1 s"\n')
    assert len(job_lines(read_readings(tmp_path / "card.toml"))) == 4


@pytest.mark.parametrize(
    ("readings", "lines"),
    [
        ('sealed_with = "gloss medium"\nsealed_ran = true', ['sealed_with = "gloss medium"', "runs = true"]),
        ('sealed_with = "gloss medium"\nplain_ran = false', ["runs = false"]),  # not tried under a coat
        ("sealed_ran = false\nplain_ran = true", ["runs = true"]),  # with what, nobody knows
        ('sealed_with = "gloss medium"', []),
        ("sealed_ran = true", []),
    ],
)
def test_a_sealer_goes_into_the_job_with_how_it_did_and_not_without(
    tmp_path: Path, readings: str, lines: list[str]
) -> None:
    (tmp_path / "card.toml").write_text(f"[marker]\n{readings}\n")
    written = [line.partition("#")[0].strip() for line in job_lines(read_readings(tmp_path / "card.toml"))]
    assert [line for line in written if line.startswith(("sealed_with", "runs"))] == lines
    asked = [line for line in job_lines(read_readings(tmp_path / "card.toml")) if "type in sealed_" in line]
    assert len(asked) == (not lines)


def test_inches_short_runs_and_odd_names_are_written_as_a_job_reads_them(tmp_path: Path) -> None:
    (tmp_path / "card.toml").write_text(
        '[marker]\nline = ["0.028 in", "0.030 in"]\nfaded = ["5 cm"]\nsealed_with = """gloss\n"medium""""\n'
        "sealed_ran = false\n"
    )
    text = "\n".join(job_lines(read_readings(tmp_path / "card.toml")))
    assert "± 0.002 in" in text
    [marker] = job_from_data(tomllib.loads(text), "from the card").markers
    assert marker.ink_length == 50.0 and marker.sealed_with == 'gloss\n"medium"'


def test_the_lines_are_a_job(tmp_path: Path) -> None:
    (tmp_path / "card.toml").write_text(CARD)
    job = job_from_data(tomllib.loads("\n".join(job_lines(read_readings(tmp_path / "card.toml")))), "from the card")
    [marker] = job.markers
    assert (marker.speed, marker.settle, marker.ink_length) == (pytest.approx(12.7), 0.1, 47_300.0)
    assert marker.line == 0.92
    assert (marker.sealed_with, marker.runs) == ("gloss medium", False)
    assert job.machine.acceleration == 300.0 and job.holder.offset == pytest.approx((38.29, -1.9))


@pytest.mark.parametrize(
    ("text", "line", "told"),
    [
        ('[marker]\nsolid = "30"\n', 2, "solid"),
        ("[marker]\nlines = []\n", 2, "did you mean 'line'"),
        ("[pen]\n", 1, r"expected \[marker\] or \[machine\], got 'pen'"),
        ('[machine]\nbottom = "200 mm"\n', 2, "expected a list in brackets"),
        ("[machine\n", 1, "is not TOML"),
        ('[machine]\nleft = ["200 mm"]\nbottom = ["7.87 mm"]\n', 3, "7.87 mm is far from the 200.0 mm of the card"),
        ('[machine]\nrising = ["282 mm", "900 mm"]\n', 2, "rising: 900 mm is far from the 282.8 mm of the card"),
        ('[marker]\nsolid = "30 in/min"\nfaint = "20 in/min"\n', 3, "faint: 20 in/min is no faster than solid, 30 in"),
        ("", None, "holds no readings"),
        ("[marker]\n", None, "holds no readings"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_line(tmp_path: Path, text: str, line: int | None, told: str) -> None:
    path = tmp_path / "card.toml"
    path.write_text(text)
    with pytest.raises(InputError, match=told) as error:
        read_readings(path)
    assert (error.value.file, error.value.line) == (path, line)


def test_the_command_prints_them(tmp_path: Path) -> None:
    (tmp_path / "card.toml").write_text(CARD)
    command = [sys.executable, "-m", "underdraw", "calibrate", "--readings", str(tmp_path / "card.toml")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0 and not done.stderr
    assert json.loads(json.dumps(tomllib.loads(done.stdout)))["marker"][0]["name"] == "outline"
    gone = subprocess.run([*command[:-1], str(tmp_path / "none.toml")], capture_output=True, text=True, check=False)
    assert gone.returncode == 2 and gone.stderr.count("\n") == 1 and "cannot be read" in gone.stderr
