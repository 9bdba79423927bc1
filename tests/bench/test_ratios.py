"""The ratios that underdraw sets out to keep, all in one run, so that a busy machine counts for both sides. Printed.

pytest tests/bench/test_ratios.py --benchmark-enable -s

Processor time, the least of some rounds; `cpu` counts what commands start. A fresh environment is made beforehand, as
`python -m venv` and `pip install .` make it, and named in UNDERDRAW_FRESH; without it this environment's own is taken.
"""

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from underdraw.drawing.wire import write_drawing

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "stages" / "order")]  # the drawings and yardsticks of other tests
JOB = HERE.parents[1] / "fixtures" / "moonflower" / "moonflower.toml"
FRESH = os.environ.get("UNDERDRAW_FRESH", sys.prefix)
PYTHON = str(Path(FRESH) / "bin" / "python")
LEFT_OUT = (
    ("PYTHONDONTWRITEBYTECODE", "PYTHONPATH") if "UNDERDRAW_FRESH" in os.environ else ("PYTHONDONTWRITEBYTECODE",)
)
YARDSTICK = (PYTHON, "-c", "import numpy, shapely, lxml.etree")
MOST_RUN, MOST_CHAIN, MOST_IMPORT, MOST_AGAIN = 8.0, 20.0, 0.25, 1.2  # times the yardstick; the first run, the second
MOST_TRAVEL = {False: 1.03, True: 1.01}  # times an independent solver's, by whether the extra is used
MOST_SECONDS = {1_000: 1.5, 10_000: 15.0}  # of `order` without the extra
INSTANCES = np.geomspace(60, 500, 20).round().astype(int).tolist()


def cpu(words: Sequence[str], rounds: int = 3, **variables: str) -> float:
    """Least seconds of processor that a command and all it starts take."""
    kept = {name: value for name, value in os.environ.items() if name not in LEFT_OUT}
    taken = []
    for _ in range(rounds):
        before = os.times()
        subprocess.run(words, check=True, capture_output=True, env={**kept, **variables})
        after = os.times()
        taken.append(after.children_user + after.children_system - before.children_user - before.children_system)
    return min(taken)


@pytest.fixture(scope="module", autouse=True)
def load() -> None:
    """Say how busy the machine is."""
    print(f"\nload of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors; commands of {FRESH}")


@pytest.fixture(scope="module")
def yardstick() -> float:
    return cpu(YARDSTICK, 9)


def test_run_of_the_sample_against_the_libraries_alone(yardstick: float, tmp_path: Path) -> None:
    words = (PYTHON, "-m", "underdraw", "--quiet", "run", str(JOB), "--into", str(tmp_path / "panel"))
    first, again = cpu(words, 1), cpu(words, 4)
    print(f"run: {again:.2f} s, {again / yardstick:.1f} times the {yardstick:.2f} s of numpy, shapely and lxml", end="")
    print(f" (wanted: {MOST_RUN:g}); the first {first / again:.2f} times the next (wanted: {MOST_AGAIN:g})")


def test_chain_of_the_sample_against_the_libraries_alone(yardstick: float, tmp_path: Path) -> None:
    ud = f"{PYTHON} -m underdraw --quiet"
    chain = (
        f"{ud} import --job {JOB} | {ud} fit | {ud} wrap | {ud} tidy | {ud} order | "
        f"{ud} inspect -o {tmp_path}/i.svg | {ud} gcode -o {tmp_path}/a.nc | {ud} preview -o {tmp_path}/a.svg | "
        f"{ud} sheet -o {tmp_path}/a.html >{os.devnull}"
    )
    taken = cpu(("bash", "-o", "pipefail", "-c", chain))
    print(f"chain: {taken:.2f} s, {taken / yardstick:.1f} times (wanted: {MOST_CHAIN:g})")


@pytest.mark.parametrize("count", MOST_SECONDS)
def test_order_without_the_extra(count: int, tmp_path: Path) -> None:
    from test_order_speed import vines

    given = tmp_path / "vines.svg"
    given.write_bytes(write_drawing(vines(count)))
    without = "import sys; sys.modules['numba'] = None\nfrom underdraw_stages.order import stage\n"
    without += "stage.has_compiler = lambda: False\nfrom underdraw.cli.command_line import main\nmain(sys.argv[1:])"
    words = (PYTHON, "-c", without, "--quiet", "order", "-i", str(given), "-o", str(tmp_path / "o.svg"))
    taken = cpu(words, 3 if count < 10_000 else 1)
    print(f"order of {count:,} strokes without the extra: {taken:.2f} s (wanted: {MOST_SECONDS[count]:g})")


@pytest.mark.parametrize("extra", MOST_TRAVEL)
def test_travel_against_an_independent_solver(extra: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    from strokes_of import AS_FAR_AS_TIME, BOARD, Listener, garden, moths
    from test_published_tours import solved

    from underdraw_stages.order import OrderSettings, stage

    if not extra:
        monkeypatch.setattr(stage, "has_compiler", lambda: False)
    ratios = []
    for seed, count in enumerate(INSTANCES):
        lines: list[NDArray[np.float64]] = moths(count, seed)
        drawing = garden(lines, acceleration=AS_FAR_AS_TIME)
        travel = stage.order(drawing, OrderSettings(), Listener()).figures["travel_mm"]
        ratios.append(travel / _once(solved, lines, (0.0, BOARD[1])))
    print(f"travel {'with' if extra else 'without'} the extra, {len(ratios)} instances: ", end="")
    print(f"{np.mean(ratios):.4f} of LKH's, at most {max(ratios):.4f} (wanted: {MOST_TRAVEL[extra]:g})")


_known: dict[int, float] = {}


def _once(solve: Callable[..., float], lines: list[NDArray[np.float64]], park: tuple[float, float]) -> float:
    """The solver's travel, worked out once for both forms of the search."""
    if len(lines) not in _known:
        _known[len(lines)] = solve(lines, park)
    return _known[len(lines)]


def test_import_against_svgelements(tmp_path: Path) -> None:
    from test_import_speed import CURVES_EACH, PATHS, wings
    from test_import_speed import YARDSTICK as THEIRS

    path = tmp_path / "wings.svg"
    path.write_text(wings(PATHS, CURVES_EACH))
    ours = cpu((PYTHON, "-m", "underdraw", "--quiet", "import", str(path), "-o", str(tmp_path / "w.svg")))
    theirs = cpu((PYTHON, "-c", THEIRS, str(path)), 2)
    print(
        f"import of {PATHS * CURVES_EACH:,} curves: {ours:.2f} s, {ours / theirs:.2f} of svgelements alone "
        f"(wanted: {MOST_IMPORT:g})"
    )


def test_size_of_the_environment() -> None:
    size = sum(
        path.stat().st_blocks * 512 for path in Path(FRESH).rglob("*") if path.is_file() and not path.is_symlink()
    )
    print(f"environment: {size / 1e6:.0f} MB (wanted of a fresh one: 170)")
