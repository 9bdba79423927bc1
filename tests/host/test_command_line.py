"""The command line: what a newcomer types, and what comes back when it is wrong."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from commands import process, underdraw

STAGES = """\
from underdraw import Drawing, File, Job, Result, Stage, hookimpl

def garden(drawing, settings, context):
    job = context.job or Job()
    return Result(Drawing.build([[[(0, 0), (5, 0)]]], (10, 10), job, marker="outline"), {"moths": 1}, "one moth")

def moonrise(drawing, settings, context):
    return Result(drawing.replace(coords=drawing.coords + 1.0), {}, "the moon rose")

def moth(drawing, settings, context):
    return Result(drawing, files=(File(".txt", b"a moth"),))

def eclipse(drawing, settings, context):
    raise ValueError("no light\\non the canvas")

def nothing(drawing, settings, context):
    return None

@hookimpl
def underdraw_stages():
    return [
        Stage("garden", "A drawing of one line.", garden, kind="source"),
        Stage("moonrise", "Move everything.", moonrise),
        Stage("moth", "Write of a moth.", moth, kind="writer"),
        Stage("eclipse", "Fail.", eclipse),
        Stage("nothing", "Give nothing back.", nothing),
    ]
"""

ARTWORK = """\
<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path stroke="#123456" fill="none" d="M1 1L9 9"/></svg>
"""


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    path = tmp_path / "mine.py"
    path.write_text(STAGES)
    return path


def one_line(done: subprocess.CompletedProcess[bytes]) -> str:
    text = done.stderr.decode()
    assert "Traceback" not in text
    assert len(text.splitlines()) == 1, text
    return text.strip()


def test_stages_chain_through_pipes_and_record_what_they_did(mine: Path) -> None:
    first = process("--plugin", mine, "garden")
    assert first.returncode == 0
    assert b"one moth" in first.stderr
    second = process("--plugin", mine, "moonrise", stdin=first.stdout)
    assert b'd="M1 1L6 1"' in second.stdout
    assert b'"stage":"garden","settings":{},"figures":{"moths":1}' in second.stdout
    assert b'"stage":"moonrise"' in second.stdout


def test_a_process_starts_no_thread_a_processor_for_linear_algebra_unless_it_is_asked_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """numpy's OpenBLAS starts them as it is imported: half of what a stage of a pipe takes to start."""
    (tmp_path / "threads.py").write_text(
        "import os, sys\nfrom underdraw import hookimpl\n"
        "print('threads:', os.environ.get('OPENBLAS_NUM_THREADS'), 'numpy' in sys.modules, file=sys.stderr)\n"
        "@hookimpl\ndef underdraw_inks():\n    return []\n"
    )
    asked = ("--plugin", tmp_path / "threads.py", "plugins")
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    assert b"threads: 1 False" in process(*asked).stderr  # before numpy is imported
    assert b"threads: 2 " in process(*asked, OPENBLAS_NUM_THREADS="2").stderr


def test_files_serve_where_a_pipe_will_not_do(mine: Path, tmp_path: Path) -> None:
    underdraw("--plugin", mine, "garden", "-o", tmp_path / "a.svg")
    done = underdraw("--plugin", mine, "moonrise", "-i", tmp_path / "a.svg", "-o", tmp_path / "b.svg")
    assert (done.returncode, done.stdout) == (0, b"")
    assert b"M1 1" in (tmp_path / "b.svg").read_bytes()


@pytest.mark.parametrize("stage", ["moonrise", "moth"])
def test_the_drawing_that_is_read_is_never_written_over(mine: Path, tmp_path: Path, stage: str) -> None:
    underdraw("--plugin", mine, "garden", "-o", tmp_path / "a.svg")
    before = (tmp_path / "a.svg").read_bytes()
    done = underdraw("--plugin", mine, stage, "-i", tmp_path / "a.svg", "-o", f"{tmp_path}/../{tmp_path.name}/a.svg")
    assert done.returncode == 2
    assert "is read here, and would be lost; choose another name or folder" in one_line(done)
    assert (tmp_path / "a.svg").read_bytes() == before


def test_artwork_is_never_written_over_by_the_drawing_made_of_it(tmp_path: Path) -> None:
    artwork = tmp_path / "moth.svg"
    artwork.write_text(ARTWORK)
    (tmp_path / "symbolic.svg").symlink_to(artwork)
    (tmp_path / "hard.svg").hardlink_to(artwork)
    for target in (artwork, tmp_path / "symbolic.svg", tmp_path / "hard.svg"):
        done = underdraw("import", artwork, "-o", target)
        assert done.returncode == 2
        assert "would be lost" in one_line(done)
        assert artwork.read_text() == ARTWORK


@pytest.mark.parametrize("words", [["moth"], ["moonrise"]], ids=["writer", "between"])
def test_artwork_is_not_lost_to_a_stage_far_behind_the_one_that_read_it(mine: Path, tmp_path: Path, words) -> None:
    """In a pipe no later stage is given the artwork's name; what its bytes were travels with the drawing."""
    artwork, other = tmp_path / "moth.svg", tmp_path / "moths.svg"
    artwork.write_text(ARTWORK)
    other.write_text(ARTWORK.replace("123456", "654321"))
    drawing = underdraw("import", artwork, "--quiet").stdout
    done = underdraw("--plugin", mine, *words, "-o", artwork, stdin=drawing)
    assert done.returncode == 2
    assert "moth.svg: this is the artwork of the drawing, and would be lost; choose another name" in one_line(done)
    assert artwork.read_text() == ARTWORK
    assert underdraw("--plugin", mine, *words, "-o", other, "--quiet", stdin=drawing).returncode == 0
    assert other.read_text() != ARTWORK.replace("123456", "654321")


def test_whoever_gives_a_stage_artwork_is_told_what_makes_a_drawing_of_it(tmp_path: Path) -> None:
    (tmp_path / "moth.svg").write_text(ARTWORK)
    told = one_line(underdraw("tidy", "-i", tmp_path / "moth.svg"))
    assert told.endswith(
        "moth.svg: is artwork or another file, not a drawing that a stage wrote; "
        "underdraw import FILE makes one, before `tidy`"
    )


@pytest.mark.skipif(not Path("/dev/full").is_char_device(), reason="no /dev/full here")
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_disk_behind_standard_output_is_told(mine: Path, unbuffered: str) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "underdraw", "--quiet", "--plugin", str(mine), "garden"],
            stdout=full, stderr=subprocess.PIPE, env={**os.environ, "PYTHONUNBUFFERED": unbuffered}, check=False,
        )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.decode().splitlines() == [
        "underdraw: standard output: cannot be written: No space left on device"
    ]


def test_quiet_says_nothing_before_or_after_the_command(mine: Path) -> None:
    assert underdraw("--quiet", "--plugin", mine, "garden").stderr == b""
    assert underdraw("--plugin", mine, "garden", "--quiet").stderr == b""


def test_a_studios_plugin_files_can_stand_in_the_environment(mine: Path) -> None:
    assert process("garden", UNDERDRAW_PLUGINS=str(mine)).returncode == 0


def test_a_plugin_that_raises_is_named_with_its_stage_and_no_traceback(mine: Path) -> None:
    drawing = underdraw("--plugin", mine, "garden", "--quiet").stdout
    done = process("--plugin", mine, "eclipse", stdin=drawing)
    assert done.returncode == 1
    line = one_line(done)
    assert "stage 'eclipse' (plugin mine.py" in line
    assert "ValueError: no light on the canvas" in line
    shown = underdraw("--plugin", mine, "--debug", "eclipse", stdin=drawing).stderr.decode()
    assert "Traceback" in shown
    assert done.stdout == b""


def test_a_plugin_that_gives_nothing_back_is_named(mine: Path) -> None:
    drawing = underdraw("--plugin", mine, "garden", "--quiet").stdout
    assert "gave back NoneType, not a Result" in one_line(underdraw("--plugin", mine, "nothing", stdin=drawing))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["moonrize"], "there is no command 'moonrize' (did you mean 'moonrise'?)"),
        (["moonrise", "--bright"], "--bright"),
        (["moonrise"], "standard input: is empty"),
        (["moonrise", "-i", "no.svg"], "no.svg: cannot be read: No such file"),
        (["garden", "--job", "no.toml"], "no.toml: cannot be read: No such file"),
        (["run"], "Missing argument 'JOB'"),
        (["scaffold"], "Missing argument 'controller|stage|holder'. Choose from: controller, stage, holder; see"),
        (
            ["check", "x.nc", "--holder", "foo"],
            "--holder is for a job: name it with --job, or its drawing with --against",
        ),
        (["canvas", "--depth", "4", "cm"], 'extra argument (cm); a value with spaces stands in quotes: --depth "4 cm"'),
    ],
)
def test_a_mistake_of_the_command_line_is_one_line_and_exit_2(mine: Path, words: list[str], told: str) -> None:
    done = underdraw("--plugin", mine, *words)
    assert done.returncode == 2
    assert told in one_line(done)
    assert done.stdout == b""


def test_help_lists_the_commands_that_plugins_bring(mine: Path) -> None:
    shown = underdraw("--plugin", mine, "--help").stdout.decode()
    assert "moonrise" in shown
    assert "Move everything." in shown


def test_help_imports_no_heavy_library() -> None:
    code = (
        "import sys\nfrom underdraw.cli.command_line import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'shapely', 'lxml', 'svgelements', 'numba', 'jinja2', 'scipy'} & set(sys.modules)\n"
        "print('HEAVY', sorted(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert b"HEAVY []" in done.stdout


def test_a_file_that_cannot_be_written_leaves_nothing(mine: Path, tmp_path: Path) -> None:
    done = underdraw("--plugin", mine, "garden", "-o", tmp_path / "no" / "a.svg")
    assert done.returncode == 1
    assert "a.svg: cannot be written: there is no folder" in one_line(done)


def test_where_a_file_stands_in_the_place_of_the_folder_another_can_be_named(mine: Path, tmp_path: Path) -> None:
    (tmp_path / "panel.toml").write_text('[stages]\nplugins = ["mine.py"]\nchain = ["garden", "moonrise"]\n')
    (tmp_path / "panel").write_text("mine")
    done = process("run", tmp_path / "panel.toml")
    assert done.returncode == 2
    assert "is a file; what is made goes into a folder: name another with --into" in one_line(done)
    done = process("run", tmp_path / "panel.toml", "--into", tmp_path / "other")
    assert done.returncode == 0 and "wrote 1 file into" in done.stderr.decode()
    assert (tmp_path / "panel").read_text() == "mine"


def test_run_does_a_whole_job_with_stages_of_ones_own(mine: Path, tmp_path: Path) -> None:
    job = tmp_path / "panel.toml"
    job.write_text('[stages]\nplugins = ["mine.py"]\nchain = ["garden", "moonrise"]\n')
    done = process("run", job)
    assert done.returncode == 0, done.stderr
    assert b"M1 1L6 1" in (tmp_path / "panel" / "panel-drawing.svg").read_bytes()


@pytest.mark.parametrize(
    ("chain", "told", "code"),
    [
        ('["moonrise"]', "a chain begins with a stage that makes a drawing, but 'moonrise' reads one", 2),
        ("[]", "it is empty", 2),
        ('["garden", "garden"]', "stage 'garden' starts a chain", 2),
        ('["garden", "moonset"]', "panel.toml:3: [stages] there is no stage 'moonset'", 2),
        ('["garden", "eclipse"]', "stage 'eclipse'", 1),
    ],
)
def test_a_chain_that_cannot_be_is_told_and_nothing_is_written(
    mine: Path, tmp_path: Path, chain: str, told: str, code: int
) -> None:
    job = tmp_path / "panel.toml"
    job.write_text(f'[stages]\nplugins = ["mine.py"]\nchain = {chain}\n')
    done = underdraw("--quiet", "run", job)
    assert done.returncode == code
    assert told in one_line(done)
    there = {path.name for path in tmp_path.iterdir()} - {"__pycache__"}  # Python keeps what it compiled of mine.py
    assert there == {"mine.py", "panel.toml"}


def test_a_refusal_has_its_reason_and_each_remedy_on_a_line_of_its_own(tmp_path: Path) -> None:
    (tmp_path / "moth.svg").write_text(ARTWORK)
    (tmp_path / "moth.toml").write_text(
        '[artwork]\nfile = "moth.svg"\n[canvas]\nface = "60 x 60 in"\ndepth = "1.5 in"\n'
        'bleed = "0.5 in"\nstaple = "1 in"\n'
        '[machine]\nbed = "24 x 48 in"\n[stages]\nchain = ["import", "fit"]\n'
    )
    done = underdraw("--quiet", "run", tmp_path / "moth.toml")
    reason, *remedies = done.stderr.decode().splitlines()
    assert done.returncode == 1 and reason.startswith("underdraw: ") and "try:" not in reason
    assert remedies and all(line.startswith("  try: ") for line in remedies)
