"""How long `underdraw import` takes against svgelements alone, and what bombs take. Run: pytest tests/bench -s.

The yardstick: `SVG.parse(…, reify=True)`, `abs(Path)` and eight points a curve with svgelements, in a process of its
own as the import is, in the same run. The ratio is printed, not asserted: machines are noisy.
"""

import os
import random
import resource
import subprocess
import sys
import time
from pathlib import Path

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


def seconds(*command: str) -> tuple[float, float]:
    """(seconds, MB at most) of a process with this Python."""
    begun = time.perf_counter()
    process = subprocess.Popen([sys.executable, *command], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = status
    assert status == 0, command
    return time.perf_counter() - begun, used.ru_maxrss / 1024


@pytest.fixture(scope="module")
def five_megabytes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("wings") / "wings.svg"
    path.write_text(wings(PATHS, CURVES_EACH))
    return path


def test_import_against_svgelements(five_megabytes: Path) -> None:
    ours = min(seconds("-m", "underdraw", "import", str(five_megabytes)) for _ in range(3))
    theirs = min(seconds("-c", YARDSTICK, str(five_megabytes)) for _ in range(2))
    at_once = min(seconds("-c", ALL_AT_ONCE, str(five_megabytes)) for _ in range(2))
    size = five_megabytes.stat().st_size / 1e6
    print(f"\n{PATHS:,} paths, {PATHS * CURVES_EACH:,} curves, {size:.1f} MB")
    print(f"underdraw import           {ours[0]:6.2f} s  {ours[1]:6.0f} MB")
    print(f"svgelements, point by point{theirs[0]:6.2f} s  {theirs[1]:6.0f} MB  ratio {ours[0] / theirs[0]:.2f}")
    print(f"svgelements, npoint        {at_once[0]:6.2f} s  {at_once[1]:6.0f} MB  ratio {ours[0] / at_once[0]:.2f}")


def test_import_of_fifty_megabytes(tmp_path: Path) -> None:
    path = tmp_path / "wings.svg"
    path.write_text(wings(PATHS * 10, CURVES_EACH))
    took, megabytes = seconds("-m", "underdraw", "import", str(path))
    print(f"\n{path.stat().st_size / 1e6:.0f} MB of artwork: {took:.1f} s, {megabytes:.0f} MB")


def test_bombs(tmp_path: Path) -> None:
    sys.path.insert(0, str(Path(__file__).parents[1] / "stages" / "import_"))
    from test_bombs import BOMBS

    print()
    for what, (text, _) in BOMBS.items():
        path = tmp_path / "bomb.svg"
        path.write_text(text)
        begun = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, "-m", "underdraw", "import", str(path)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        _, _, used = os.wait4(process.pid, 0)
        process.returncode = 0
        print(f"{what:40} {time.perf_counter() - begun:5.1f} s {used.ru_maxrss / 1024:6.0f} MB")


def test_reading_path_data(five_megabytes: Path, benchmark) -> None:  # type: ignore[no-untyped-def]
    """Our reading of path data against svgelements': the reason for having one is correctness; this is the other."""
    import re

    from svgelements import Path as TheirPath

    from underdraw_stages.import_.path_data import read_path_data

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


def test_memory_of_this_process() -> None:
    print(f"\nlargest child: {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024:.0f} MB")
