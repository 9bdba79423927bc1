"""Ctrl-C ends the command without a traceback, whenever it comes: also while modules are still being imported."""

import signal
import subprocess
import sys

import pytest

from underdraw import Drawing, Job
from underdraw.drawing.wire import write_drawing

# Interrupts the process when the module named first is about to be imported, then goes on as the console script does.
SCRIPT = """
import os, signal, sys
where = sys.argv.pop(1)
class Hand:
    def find_spec(self, name, path=None, target=None):
        if name == where:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Hand())
from underdraw.__main__ import process
process()
"""


def interrupted_at(module: str, *words: str, drawing: bytes = b"") -> "subprocess.CompletedProcess[bytes]":
    """Run a command that is interrupted where it imports a module."""
    command = [sys.executable, "-c", SCRIPT, module, *words]
    return subprocess.run(command, input=drawing, capture_output=True, check=False, timeout=60)


@pytest.fixture(scope="module")
def drawing() -> bytes:
    return write_drawing(Drawing.build([[[(0, 0), (10, 10)]]], (20, 20), Job(), stroke="#1b1b3a", stroke_width=1.0))


@pytest.mark.parametrize("module", ["underdraw.cli.command_line", "click", "underdraw.plugins.registry", "pluggy"])
@pytest.mark.parametrize("words", [("--help",), ("run", "panel.toml"), ("fit",)])
def test_an_interrupt_while_the_command_starts_ends_it_without_a_word(module, words):
    done = interrupted_at(module, *words)
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"")


@pytest.mark.parametrize("module", ["underdraw.plugins.chain", "numpy", "underdraw_stages.fit.stage", "shapely"])
def test_an_interrupt_while_a_stage_is_loaded_is_told_in_one_line(module, drawing):
    done = interrupted_at(module, "fit", drawing=drawing)
    assert (done.returncode, done.stdout) == (130, b"")
    assert done.stderr.strip() == b"underdraw: interrupted; nothing was written"


def test_who_started_the_command_with_interrupts_ignored_is_obeyed():
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)  # as a shell does for what runs in the background
    try:
        done = interrupted_at("click", "--help")
    finally:
        signal.signal(signal.SIGINT, before)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Usage" in done.stdout
