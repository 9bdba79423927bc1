"""Ctrl-C in `run` ends the search and keeps its best; a second one stops the run. Nobody reading loses no work."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

ARTWORK = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"><path d="{}"/></svg>'
)
WAITING = """\
import time
from underdraw import Result, Stage, hookimpl
def wait(drawing, settings, context):
    context.notice("waiting")
    time.sleep(SECONDS)
    return Result(drawing)
@hookimpl
def underdraw_stages():
    return [Stage(name="waiting", help="take a while", run=wait)]
"""
JOB = """\
[artwork]
file = "moths.svg"
[canvas]
mount = "stretched"
[stages]
plugins = ["waiting.py"]
chain = ["import", "fit", "tidy", "order", "waiting", "gcode", "sheet"]
tidy = { drop-hatching = false }
order = { seconds = 40 }
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A folder with a job whose search would take long."""
    lines = "".join(f"M{7 * i % 97} {11 * i % 89}l3 {1 + i % 4}" for i in range(60))
    (tmp_path / "moths.svg").write_text(ARTWORK.format(lines).replace("<path", '<path fill="none" stroke="#1b1b3a"'))
    (tmp_path / "waiting.py").write_text(WAITING.replace("SECONDS", "0"))
    (tmp_path / "moths.toml").write_text(JOB)
    return tmp_path


def started(shop: Path) -> "subprocess.Popen[str]":
    """`run`, just after the stage before the search has told what it did."""
    command = [sys.executable, "-m", "underdraw", "run", "moths.toml", "--into", "panel"]
    process = subprocess.Popen(command, cwd=shop, stderr=subprocess.PIPE, text=True)
    until(process, "tidy ")
    return process


def until(process: "subprocess.Popen[str]", words: str) -> str:
    """What is told up to a line with these words."""
    assert process.stderr is not None
    told = ""
    for line in process.stderr:
        told += line
        if words in line:
            return told
    raise AssertionError(told)


def interrupt_the_search(process: "subprocess.Popen[str]") -> str:
    """Ctrl-C once the search is sure to have begun: it tells of itself on a terminal only."""
    time.sleep(3.0)
    process.send_signal(signal.SIGINT)
    return until(process, "Ctrl-C again")


@pytest.mark.slow
def test_an_interrupt_of_the_search_tells_what_it_does_and_everything_is_written(shop):
    process = started(shop)
    told = interrupt_the_search(process)
    assert "interrupted: the search for a shorter way stops" in told
    rest = process.communicate(timeout=60)[1]
    assert process.returncode == 0, rest
    assert rest.count("Ctrl-C again") == 0  # told once
    assert {path.suffix for path in (shop / "panel").iterdir()} == {".nc", ".html", ".svg"}


@pytest.mark.slow
def test_a_second_interrupt_stops_the_run_and_nothing_is_written(shop):
    (shop / "waiting.py").write_text(WAITING.replace("SECONDS", "30"))
    process = started(shop)
    interrupt_the_search(process)
    until(process, "waiting  waiting")
    process.send_signal(signal.SIGINT)
    assert "interrupted; nothing was written" in process.communicate(timeout=20)[1]
    assert process.returncode == 130
    assert not (shop / "panel").exists()


def test_the_help_of_run_tells_what_an_interrupt_does():
    command = [sys.executable, "-m", "underdraw", "run", "--help"]
    told = " ".join(subprocess.run(command, capture_output=True, text=True, check=True).stdout.split())
    assert "Ctrl-C" in told and "best found so far" in told and "A second Ctrl-C stops the run" in told


def ended_with(shop: Path, redirect: str) -> int:
    """The exit code of a run whose messages go where a shell sends them."""
    (shop / "moths.toml").write_text(JOB.replace("seconds = 40", "seconds = 0"))
    command = f'exec "$0" -m underdraw run moths.toml --into panel {redirect}'
    return subprocess.run(["sh", "-c", command, sys.executable], cwd=shop, check=False, timeout=60).returncode


@pytest.mark.slow
@pytest.mark.parametrize(
    "redirect",
    [
        "2>&-",
        ">&- 2>&-",
        pytest.param("2>/dev/full", marks=pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no such device")),
    ],
)
def test_messages_that_cannot_be_written_lose_no_work(shop, redirect):
    assert ended_with(shop, redirect) == 0
    assert {path.suffix for path in (shop / "panel").iterdir()} == {".nc", ".html", ".svg"}
    assert (shop / "panel" / "moths.nc").read_text().startswith("(underdraw")


@pytest.mark.slow
def test_whoever_stops_reading_the_messages_loses_no_work(shop):
    (shop / "moths.toml").write_text(JOB.replace("seconds = 40", "seconds = 0"))
    (shop / "waiting.py").write_text(WAITING.replace("SECONDS", "2"))
    process = started(shop)
    assert process.stderr is not None
    process.stderr.close()
    assert process.wait(timeout=60) == 0
    assert (shop / "panel" / "moths.nc").exists()


def test_a_drawing_on_standard_output_comes_whole_where_messages_are_closed(shop):
    command = 'exec "$0" -m underdraw import --job moths.toml 2>&-'
    done = subprocess.run(["sh", "-c", command, sys.executable], cwd=shop, capture_output=True, check=False)
    assert done.returncode == 0
    assert done.stdout.startswith(b"<") and b"import: " not in done.stdout
