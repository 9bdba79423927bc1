"""How long `underdraw import` takes against svgelements alone, and what bombs take. Run: pytest tests/bench -s.

The yardstick: `SVG.parse(…, reify=True)`, `abs(Path)` and eight points a curve with svgelements, in a process of its
own as the import is, in the same run. The ratio is printed, not asserted: machines are noisy.
"""

import os
import random
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

import pytest

PATHS, CURVES_EACH = 5_000, 20

YARDSTICK = """
import sys
from svgelements import SVG, Path, Shape
for shape in SVG.parse(sys.argv[1], reify=True).elements():
    if isinstance(shape, Shape):
        for segment in abs(Path(shape)):
            points = [segment.point(at / 7) for at in range(8)]
"""
ALL_AT_ONCE = YARDSTICK.replace(
    "points = [segment.point(at / 7) for at in range(8)]", "points = segment.npoint([at / 7 for at in range(8)])"
)


def wings(paths: int, curves_each: int) -> str:
    """Artwork of many cubic curves, each about a wing's size."""
    dice = random.Random("moth")
    lines = ['<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="400mm" viewBox="0 0 300 400">']
    for _ in range(paths):
        x, y = dice.uniform(0, 300), dice.uniform(0, 400)
        data = [f"M{x:.3f},{y:.3f}"]
        for _ in range(curves_each):
            data.append(
                "C" + " ".join(f"{x + dice.uniform(-5, 5):.3f},{y + dice.uniform(-5, 5):.3f}" for _ in range(3))
            )
        lines.append(f'<path d="{"".join(data)}" fill="none" stroke="#1b1b3a" stroke-width="0.5"/>')
    return "\n".join([*lines, "</svg>"])


class Used(NamedTuple):
    """What a process took; a busy machine stretches `wall`, hardly `cpu`."""

    cpu: float
    wall: float
    megabytes: float


# Runs the command (`-m`) or a text, and says at its end how much memory it held at most.
MEASURED = """
import sys
try:
    if sys.argv[1] == "-m":
        from underdraw.cli.command_line import main
        main(sys.argv[3:])
    else:
        exec(sys.argv.pop(1), {"__name__": "__main__"})
finally:
    peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM"))
    sys.__stderr__.write("\\npeak " + peak.split()[1])
"""


def used(*words: str) -> Used:
    """What a process of this Python took for a module (`-m`, name, words) or a text (text, words)."""
    begun = time.perf_counter()
    command = [sys.executable, "-c", MEASURED, *words]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    assert process.stderr is not None
    said = process.stderr.read()
    _, process.returncode, took = os.wait4(process.pid, 0)
    wall = time.perf_counter() - begun
    return Used(took.ru_utime + took.ru_stime, wall, float(said.rpartition("peak ")[2]) / 1024)


@pytest.fixture(scope="module")
def five_megabytes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("wings") / "wings.svg"
    path.write_text(wings(PATHS, CURVES_EACH))
    return path


def test_import_against_svgelements(five_megabytes: Path) -> None:
    ours = min(used("-m", "underdraw", "import", str(five_megabytes)) for _ in range(3))
    size = five_megabytes.stat().st_size / 1e6
    print(f"\n{PATHS:,} paths, {PATHS * CURVES_EACH:,} curves, {size:.1f} MB; processor time (and by the clock)")
    print(f"underdraw import             {ours.cpu:6.2f} s ({ours.wall:6.2f} s)  {ours.megabytes:5.0f} MB")
    for name, text in (("point by point", YARDSTICK), ("eight at once", ALL_AT_ONCE)):
        theirs = min(used(text, str(five_megabytes)) for _ in range(2))
        print(
            f"svgelements, {name:15} {theirs.cpu:6.2f} s ({theirs.wall:6.2f} s)  {theirs.megabytes:5.0f} MB  "
            f"ratio {ours.cpu / theirs.cpu:.2f}"
        )


def test_import_of_fifty_megabytes(tmp_path: Path) -> None:
    path = tmp_path / "wings.svg"
    path.write_text(wings(PATHS * 10, CURVES_EACH))
    took = used("-m", "underdraw", "import", str(path))
    size = path.stat().st_size / 1e6
    print(f"\n{size:.0f} MB of artwork: {took.cpu:.1f} s of processor time, {took.megabytes:.0f} MB")


def test_bombs(tmp_path: Path) -> None:
    tests = Path(__file__).parents[1] / "stages" / "import_"
    sys.path[:0] = [str(tests), str(tests / "file")]
    from test_bombs import BOMBS

    print()
    for what, (text, _) in BOMBS.items():
        path = tmp_path / "bomb.svg"
        path.write_text(text)
        took = used("-m", "underdraw", "import", str(path))
        print(f"{what:40} {took.cpu:5.1f} s {took.megabytes:6.0f} MB")


def test_reading_path_data(five_megabytes: Path, benchmark) -> None:  # type: ignore[no-untyped-def]
    """Our reading of path data against svgelements': the reason for having one is correctness; this is the other."""
    import re

    from svgelements import Path as TheirPath

    from underdraw_stages.import_.outlines.path_data import read_path_data

    data = re.findall(r' d="([^"]+)"', five_megabytes.read_text())[:500]
    begun = time.perf_counter()
    for one in data:
        TheirPath(one)
    theirs = time.perf_counter() - begun
    begun = time.perf_counter()
    for one in data:
        read_path_data(one)
    ours = time.perf_counter() - begun
    print(f"\n{len(data)} paths: read here {ours:.3f} s, by svgelements {theirs:.3f} s, ratio {ours / theirs:.2f}")
    benchmark(read_path_data, data[0])
