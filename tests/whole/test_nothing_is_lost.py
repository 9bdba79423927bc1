"""Nothing of the user's is written over, and nothing old is left among the new without a word."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from commands import process, underdraw

ARTWORK = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<path d="M10 10H50V50" fill="none" stroke="#1b1b3a"/><path d="M10 20H40" fill="none" stroke="#c9a13b"/>
<path d="M10 30H40" fill="none" stroke="#8a2b5b"/></svg>"""
JOB = """[artwork]
file = "{artwork}"
[canvas]
face = "60 x 60 mm"
depth = "0 mm"
mount = "stretched"
{markers}
[stages]
chain = ["import", "fit", "tidy", "order", "gcode"]
order = {{ seconds = 0 }}
gcode = {{ split = "{split}" }}
"""
COLOURS = ("#1b1b3a", "#c9a13b", "#8a2b5b")


def job(folder: Path, *names: str, artwork: str = "moth.svg", split: str = "marker") -> Path:
    """A job beside its artwork, a marker for each name."""
    (folder / artwork).write_text(ARTWORK)
    tables = [
        f"[[marker]]\nname = '{name}'\ncolours = ['{colour}']" for name, colour in zip(names, COLOURS, strict=False)
    ]
    path = folder / "moth.toml"
    path.write_text(JOB.format(artwork=artwork, markers="\n".join(tables), split=split))
    return path


def test_artwork_with_the_name_of_the_drawing_is_kept(tmp_path: Path) -> None:
    job(tmp_path, "outline", artwork="moth-drawing.svg")
    done = underdraw("run", "moth.toml", "--into", ".", where=tmp_path)
    assert done.returncode == 2
    assert b"moth-drawing.svg: this file is read here, and would be lost" in done.stderr
    assert b"import:" not in done.stderr  # before work begins
    assert (tmp_path / "moth-drawing.svg").read_text() == ARTWORK


def test_artwork_whose_name_differs_by_case_alone_is_kept(tmp_path: Path) -> None:
    """Disks that are blind to case are common."""
    job(tmp_path, "outline", artwork="Moth-Drawing.svg")
    assert underdraw("run", "moth.toml", "--into", ".", where=tmp_path).returncode == 2


def test_artwork_by_a_link_is_kept(tmp_path: Path) -> None:
    job(tmp_path, "outline", artwork="moth-drawing.svg")
    (tmp_path / "there").symlink_to(tmp_path, target_is_directory=True)
    assert underdraw("run", "moth.toml", "--into", "there", where=tmp_path).returncode == 2
    assert (tmp_path / "moth-drawing.svg").read_text() == ARTWORK


def test_a_preview_does_not_write_over_the_drawing_it_shows(tmp_path: Path) -> None:
    job(tmp_path, "outline")
    assert underdraw("run", "moth.toml", where=tmp_path).returncode == 0
    shutil.copy(tmp_path / "moth" / "moth-drawing.svg", tmp_path / "moth-flat.svg")
    before = (tmp_path / "moth-flat.svg").read_bytes()
    done = underdraw("preview", "-i", "moth-flat.svg", "-o", "moth.svg", where=tmp_path)
    assert done.returncode == 2
    assert b"moth-flat.svg: this file is read here, and would be lost" in done.stderr
    assert (tmp_path / "moth-flat.svg").read_bytes() == before
    assert not (tmp_path / "moth-folded.svg").exists()


def test_programs_of_an_earlier_run_are_named(tmp_path: Path) -> None:
    job(tmp_path, "outline", "gold", "rose")
    assert b"earlier run" not in underdraw("run", "moth.toml", where=tmp_path).stderr
    assert b"earlier run" not in underdraw("run", "moth.toml", where=tmp_path).stderr  # the same names again
    job(tmp_path, "outline", split="none")
    done = underdraw("run", "moth.toml", where=tmp_path)
    assert done.returncode == 0
    told = next(line for line in done.stderr.decode().splitlines() if "earlier run" in line)
    assert "moth-gold.nc, moth-outline.nc, moth-rose.nc" in told
    assert "moth.nc" not in told


@pytest.mark.parametrize(
    "names", [("a/b", "a:b", "a-b-1"), ("Gold", "gold", "GOLD"), ("moth " * 40, "moth " * 40 + "x", "y")]
)
def test_markers_whose_names_meet_in_file_names_are_told_apart(names: tuple[str, ...], tmp_path: Path) -> None:
    job(tmp_path, *names)
    done = underdraw("run", "moth.toml", where=tmp_path)
    assert done.returncode == 0, done.stderr
    programs = [path.name for path in (tmp_path / "moth").glob("*.nc")]
    assert len(programs) == len({name.casefold() for name in programs}) == 3


def test_what_a_killed_run_left_is_cleaned_up_and_what_a_living_one_writes_is_not(tmp_path: Path) -> None:
    job(tmp_path, "outline")
    (tmp_path / "moth").mkdir()
    ended = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True)
    left = tmp_path / "moth" / f".moth.nc.underdraw-{int(ended.stdout)}-abc.part"
    living = tmp_path / "moth" / f".moth.nc.underdraw-{os.getpid()}-abc.part"
    for path in (left, living):
        path.write_bytes(b"M5")
    assert process("run", "moth.toml", where=tmp_path).returncode == 0
    assert not left.exists()
    assert living.exists()


@pytest.mark.parametrize(
    "words",
    [
        ("run", "/dev/zero"),
        pytest.param(("check", "/dev/zero"), marks=pytest.mark.slow),  # a program may be hundreds of megabytes
        ("tidy", "-i", "/dev/zero"),
    ],
)
def test_a_file_without_end_stops_at_a_limit(words: tuple[str, ...], tmp_path: Path) -> None:
    done = process(*words, where=tmp_path)
    assert done.returncode == 2
    assert b"larger than" in done.stderr or b"is not a drawing" in done.stderr
    assert b"fault" not in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize("words", ["import moth.svg >&-", "run moth.toml --json >&-", "tidy <&- >&-", "import - <&-"])
def test_closed_streams_are_told_in_one_line(words: str, tmp_path: Path) -> None:
    job(tmp_path, "outline")
    done = subprocess.run(
        ["bash", "-c", f"{sys.executable} -m underdraw {words}"], cwd=tmp_path, capture_output=True, check=False
    )
    ours = [line for line in done.stderr.decode().splitlines() if line.startswith("underdraw: ")]
    assert done.returncode in (1, 2)
    assert len(ours) == 1
    assert "closed" in ours[0] or "no drawing came in" in ours[0]
    assert "fault" not in ours[0]


@pytest.mark.parametrize(
    "key", [".".join(["a"] * 20_000), "[" + ".".join(["a"] * 300_000) + "]\nb"], ids=("key", "table")
)
def test_a_key_of_thousands_of_names_is_told_at_once(key: str, tmp_path: Path) -> None:
    (tmp_path / "moth.toml").write_text(f"[canvas]\n{key} = 1\n")
    done = process("run", "moth.toml", where=tmp_path)
    assert done.stderr == b"underdraw: moth.toml:2: a key of more than 50 names; a job has [section] and key\n"


def test_a_job_whose_name_is_not_utf_8_is_told_in_one_line(tmp_path: Path) -> None:
    job(tmp_path, "outline")
    os.rename(tmp_path / "moth.toml", os.fsencode(tmp_path) + b"/m\xff.toml")
    done = subprocess.run(
        [sys.executable.encode(), b"-m", b"underdraw", b"run", b"m\xff.toml"],
        cwd=tmp_path,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.decode().splitlines() == [
        "underdraw: m\\udcff.toml: its name is not UTF-8, and the files made from it are named after it; rename it"
    ]


def test_an_umlaut_under_an_ascii_locale_is_told_in_one_line(tmp_path: Path) -> None:
    job(tmp_path, "Blüte", artwork="Blüte.svg")
    plain = {**os.environ, "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}
    done = subprocess.run(
        [sys.executable, "-m", "underdraw", "run", "moth.toml"],
        cwd=tmp_path,
        env=plain,
        capture_output=True,
        check=False,
    )
    assert b"fault" not in done.stderr and b"raised" not in done.stderr
    assert done.returncode == 0 or b"set a UTF-8 locale" in done.stderr
