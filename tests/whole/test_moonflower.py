"""The sample job end to end, as a person types it: run, the chain in a shell, and the check of what came out."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import process
from lxml import html

from underdraw.drawing.wire import read_drawing

JOB = Path(__file__).parents[2] / "fixtures" / "moonflower" / "moonflower.toml"
README = Path(__file__).parents[2] / "README.md"
UNDERDRAW = f"{shlex.quote(sys.executable)} -m underdraw --quiet"


def shell(command: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        ["bash", "-o", "pipefail", "-c", command], cwd=folder, capture_output=True, check=False, env=dict(os.environ)
    )


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The folder that `run` filled."""
    folder = tmp_path_factory.mktemp("run")
    done = shell(f"{UNDERDRAW} run {JOB} --into {folder}/panel", folder)
    assert done.returncode == 0, done.stderr.decode()
    yield folder / "panel"


def check(program: Path, *more: str) -> tuple[int, dict[str, object]]:
    done = shell(f"{UNDERDRAW} check {program} --json {' '.join(more)}", program.parent)
    assert b"Traceback" not in done.stderr
    return done.returncode, json.loads(done.stdout)


def test_run_leaves_a_program_previews_a_sheet_and_the_drawing(made: Path) -> None:
    names = {path.name for path in made.iterdir()}
    expected = {
        "moonflower.nc",
        "moonflower-flat.svg",
        "moonflower-folded.svg",
        "moonflower-inspect.svg",
        "moonflower-paint.svg",
        "moonflower-sheet.html",
        "moonflower-drawing.svg",
    }
    assert expected <= names
    assert all(path.stat().st_size > 1000 for path in made.iterdir())


@pytest.mark.slow
def test_the_pipe_of_the_readme_writes_the_same_bytes_as_run_and_again(made: Path, tmp_path: Path) -> None:
    blocks = re.findall(r"^```sh\n(.*?)^```$", README.read_text(), flags=re.M | re.S)
    (pipe,) = (block for block in blocks if "underdraw import" in block)
    chain = pipe.replace("underdraw ", f"{UNDERDRAW} ").replace("--job moonflower.toml", f"--job {JOB}")
    for _ in range(2):
        done = shell(chain, tmp_path)
        assert done.returncode == 0, done.stderr.decode()
        for name in (".nc", "-flat.svg", "-folded.svg", "-inspect.svg", "-paint.svg", "-sheet.html", "-drawing.svg"):
            assert (tmp_path / f"moonflower{name}").read_bytes() == (made / f"moonflower{name}").read_bytes(), name


@pytest.mark.slow
def test_another_processors_arithmetic_gives_the_same_program(made: Path, tmp_path: Path) -> None:
    """The library that multiplies numpy's matrices chooses its code by the processor; here, by an old one's name."""
    written = set()
    for chosen in ({}, {"OPENBLAS_CORETYPE": "Nehalem"}):
        program = tmp_path / f"{len(chosen)}.nc"
        done = process("gcode", "-i", made / "moonflower-drawing.svg", "-o", program, **chosen)
        assert done.returncode == 0, done.stderr
        written.add(program.read_bytes())
    assert len(written) == 1


def test_the_programs_check_finds_nothing_against_job_and_drawing(made: Path) -> None:
    code, found = check(made / "moonflower.nc", f"--job {JOB}", f"--against {made / 'moonflower-drawing.svg'}")
    assert (code, found["ok"], found["problems"]) == (0, True, [])
    assert found["deviation_mm"] < 0.025  # type: ignore[operator]
    assert (found["missing_mm"], found["extra_mm"]) == (0, 0)


def damaged(made: Path, tmp_path: Path, *, find: str, change: str, occurrence: int = 3) -> tuple[Path, int]:
    """A copy of the program with one line changed, and that line's number from 1."""
    lines = (made / "moonflower.nc").read_text().splitlines()
    number = [index for index, line in enumerate(lines) if line.replace(" ", "").startswith(find)][occurrence]
    lines[number] = change
    (tmp_path / "damaged.nc").write_text("\n".join(lines) + "\n")
    return tmp_path / "damaged.nc", number + 1


@pytest.mark.slow
@pytest.mark.parametrize(
    ("find", "change", "what"),
    [
        ("G1X", "M3", "a started spindle"),
        ("G1X", "G1 X900 Y1", "a move off the bed"),
        ("G1X", "G0 X1 Y1", "a rapid with the marker down"),
    ],
)
def test_one_changed_line_is_named(made: Path, tmp_path: Path, find: str, change: str, what: str) -> None:
    program, line = damaged(made, tmp_path, find=find, change=change)
    code, found = check(program, f"--job {JOB}")
    assert code == 1, what
    assert found["ok"] is False
    assert line in [problem["line"] for problem in found["problems"]], what  # type: ignore[attr-defined]


def test_no_program_of_the_sample_starts_a_spindle(made: Path) -> None:
    words = (made / "moonflower.nc").read_text().replace(" ", "").upper()
    body = [line.split("(")[0] for line in words.splitlines()]
    assert not [line for line in body if "M3" in line.split("M30")[0] or "M4" in line]
    assert "M5" in body[next(i for i, line in enumerate(body) if line and line != "%")] or "M5" in "".join(body[:12])


@pytest.mark.slow
def test_demo_writes_a_job_that_runs(tmp_path: Path) -> None:
    assert shell(f"{UNDERDRAW} demo garden", tmp_path).returncode == 0
    done = shell(f"{UNDERDRAW} run garden/moonflower.toml", tmp_path)
    assert done.returncode == 0, done.stderr.decode()
    assert (tmp_path / "garden" / "moonflower" / "moonflower.nc").exists()
    again = shell(f"{UNDERDRAW} demo garden", tmp_path)
    assert again.returncode == 2
    assert b"is there already" in again.stderr


@pytest.mark.slow
def test_what_the_sheet_says_to_type_after_a_fade_works_as_typed(made: Path, tmp_path: Path) -> None:
    """Every command of 'When a line fades', N replaced by a stroke; each rest is part of the drawing."""
    root = html.fromstring((made / "moonflower-sheet.html").read_text())
    typed = [line for code in root.iter("code") for line in code.text_content().splitlines()]
    assert [line.split()[1] for line in typed] == ["strokes", "strokes", "strokes", "gcode", "gcode", "gcode"]
    shutil.copytree(made, tmp_path / "panel")
    for line in typed:
        own = re.sub(r"\bN\b", "412", line.replace("underdraw", UNDERDRAW, 1))
        done = shell(f"{own} --quiet", tmp_path / "panel")
        assert done.returncode == 0, (line, done.stderr.decode())
        if line.split()[1] == "strokes":
            assert len(done.stdout.splitlines()) >= 2, line  # a heading, and a stroke at least
            continue
        rest = tmp_path / "panel" / "moonflower-rest.nc"
        code, found = check(rest, f"--against {made / 'moonflower-drawing.svg'}")
        assert (code, found["ok"], found["problems"]) == (0, True, []), line
        rest.unlink()


def test_the_sheet_repeats_what_will_not_read_and_names_its_picture(made: Path) -> None:
    history = read_drawing((made / "moonflower-drawing.svg").read_bytes()).history
    (record,) = [record for record in history if record.stage == "inspect"]
    merging = sum(spot["kind"] == "merge" for spot in record.figures["spots"])
    assert merging > 0
    sheet = (made / "moonflower-sheet.html").read_text(encoding="utf-8")
    assert re.search(
        rf"What will not read: lines merge \([\d.]+ in\): {merging} spots[^<]*“moonflower-inspect.svg”", sheet
    )


def test_the_sheet_repeats_the_palette_and_names_the_map(made: Path) -> None:
    drawing = read_drawing((made / "moonflower-drawing.svg").read_bytes())
    palette = drawing.palette
    assert palette is not None and palette.file == "moonflower-paint.svg"
    (record,) = [record for record in drawing.history if record.stage == "paint"]
    assert len(palette.colours) == len(record.figures["colours"]) > 20
    root = html.fromstring((made / "moonflower-sheet.html").read_text(encoding="utf-8"))
    rows = [" ".join(" ".join(row.itertext()).split()) for row in root.xpath("//div[@class='paints']//tr[td]")]
    assert len(rows) == 10 and re.fullmatch(
        rf"{len(palette.colours) - 9} more, on the map [\d.]+ sq in [\d.]+ ml", rows[-1]
    )
    most = max(palette.colours, key=lambda each: each.millilitres)
    assert any(row.startswith(f"{most.number} {most.name} ") for row in rows)
    assert f"in {len(palette.colours)} colours by the map “moonflower-paint.svg”" in root.text_content()
