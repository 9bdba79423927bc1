"""Speed, memory and growth of `order`, and how near its travel comes to the best. Printed, not asserted.

pytest tests/bench/test_order_speed.py --benchmark-enable -s
"""

import math
import os
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.wire import write_drawing
from underdraw.job.sections import Job

SIZES = (1_000, 10_000, 100_000)
WANTED = {1_000: "1.5 s with start-up", 100_000: "40 s and 1.5 GB on two cores"}  # what was set out to be reached
BOARD = (1000.0, 1000.0)
measured: dict[int, float] = {}


def vines(count: int) -> Drawing:
    """Open strokes and, one in five, closed ones, spread over a board and as long as there is room for."""
    random = np.random.default_rng(count)
    room = BOARD[0] / math.sqrt(count)
    angles = np.linspace(0, 2 * np.pi, 13)
    ring = 0.2 * room * np.column_stack([np.cos(angles), np.sin(angles)])
    ring[-1] = ring[0]
    at = random.uniform(0, BOARD[0], (count, 2))
    lines = [
        place + ring if k % 5 == 0 else np.stack([place, place + random.normal(0, 0.6 * room, 2)])
        for k, place in enumerate(at)
    ]
    return Drawing.build([[line] for line in lines], BOARD, Job(), marker="outline")


@pytest.mark.parametrize("count", SIZES)
def test_order_of_many_strokes(benchmark, count: int, tmp_path: Path) -> None:
    given, taken = tmp_path / "vines.svg", tmp_path / "ordered.svg"
    given.write_bytes(write_drawing(vines(count)))
    command = [sys.executable, "-m", "underdraw", "order", "-i", str(given), "-o", str(taken)]
    if not measured:
        subprocess.run(command, check=True, capture_output=True)  # builds the compiled search, if it is not yet
    used: list[tuple[float, float, int]] = []

    def run() -> None:
        begun = time.perf_counter()
        process = subprocess.Popen(command, stderr=subprocess.PIPE)
        assert process.stderr is not None
        told = process.stderr.read().decode()
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        assert process.returncode == 0, told
        used.append((time.perf_counter() - begun, usage.ru_utime + usage.ru_stime, usage.ru_maxrss))
        print("\n  " + told.splitlines()[0])

    benchmark.pedantic(run, rounds=1 if count > 10_000 else 3)
    wall, cpu, kib = min(used)
    measured[count] = cpu
    print(f"  {count:7,} strokes: {wall:6.2f} s, {cpu:6.2f} s of processor, {kib / 1024:6.0f} MB", end="")
    print(f" (wanted: at most {WANTED[count]})" if count in WANTED else "")
    for less, more in pairwise(SIZES):
        if count == more and less in measured:
            growth = measured[more] / measured[less]
            even = more * math.log(more) / (less * math.log(less))
            print(
                f"  {growth:.1f} times the time for {more // less} times the strokes; n·log n would be {even:.1f} times"
            )
