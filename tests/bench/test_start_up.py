"""How soon the command line answers, and how long the sample job takes, against what they are built on.

pytest tests/bench/test_start_up.py --benchmark-enable -s
"""

import resource
import subprocess
import sys
from pathlib import Path
from typing import Any

JOB = Path(__file__).parents[2] / "fixtures" / "moonflower" / "moonflower.toml"
PYTHON = sys.executable


def run(*words: str) -> None:
    subprocess.run(words, check=True, capture_output=True)


def test_import_click(benchmark: Any) -> None:
    benchmark.pedantic(run, args=(PYTHON, "-c", "import click"), rounds=15, warmup_rounds=2)


def test_help(benchmark: Any) -> None:
    """The aim: at most three times `import click`."""
    benchmark.pedantic(run, args=(str(Path(PYTHON).with_name("underdraw")), "--help"), rounds=15, warmup_rounds=2)


def test_run_of_the_sample(benchmark: Any, tmp_path: Path) -> None:
    """The aim: at most 2 s on two cores, under 300 MB."""
    words = (PYTHON, "-m", "underdraw", "--quiet", "run", str(JOB), "--into", str(tmp_path / "panel"))
    benchmark.pedantic(run, args=words, rounds=3, warmup_rounds=1)
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"\nlargest memory of a child: {largest:.0f} MB")


def test_chain_of_the_sample(benchmark: Any, tmp_path: Path) -> None:
    """The aim: at most 4 s."""
    ud = f"{PYTHON} -m underdraw --quiet"
    chain = (
        f"{ud} import --job {JOB} | {ud} fit | {ud} wrap | {ud} tidy | {ud} order | {ud} gcode -o {tmp_path}/a.nc | "
        f"{ud} preview -o {tmp_path}/a.svg | {ud} sheet -o {tmp_path}/a.html > {tmp_path}/a-drawing.svg"
    )
    benchmark.pedantic(run, args=("bash", "-c", chain), rounds=3, warmup_rounds=1)
