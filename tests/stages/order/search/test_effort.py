"""How long the search may take, and what happens when somebody has had enough."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from strokes_of import Listener, flowers, garden, lines_of, moths, unturned

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.compiled.kernels import compiled, interpreted
from underdraw_stages.order.search.annealing import improve
from underdraw_stages.order.search.effort import Effort
from underdraw_stages.order.search.neighbours import NEAREST, Nodes, near_nodes
from underdraw_stages.order.search.stroke_ends import Plan, StrokeEnds
from underdraw_stages.order.search.travel_cost import TravelCost
from underdraw_stages.order.stage import order


def run(arguments: list[str], drawing: Drawing, **environment: str) -> subprocess.Popen[bytes]:
    """`underdraw order` with the drawing on its standard input."""
    started = subprocess.Popen(
        [sys.executable, "-m", "underdraw", "order", *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, **environment},
    )
    assert started.stdin is not None
    started.stdin.write(write_drawing(drawing))
    started.stdin.close()
    started.stdin = None
    return started


@pytest.mark.slow
@pytest.mark.parametrize("lines", [moths(40, 1), [*moths(90, 2), *flowers(30, 3)]])
def test_two_runs_write_the_same_bytes(lines: list[np.ndarray]) -> None:
    written = [run([], garden(lines)).communicate()[0] for _ in range(2)]
    assert written[0] == written[1]
    assert any(record.stage == "order" for record in read_drawing(written[0]).history)


@pytest.mark.slow
def test_an_interrupt_keeps_the_best_so_far_and_says_so() -> None:
    drawing = garden([*moths(150, 4), *flowers(30, 5)])
    order(drawing, OrderSettings(), Listener())  # builds the compiled search where it is not yet
    started = run(["--seconds", "30"], drawing)
    begun = time.monotonic()
    time.sleep(4)  # a busy machine may take that long to begin
    started.send_signal(signal.SIGINT)
    written, told = started.communicate(timeout=20)
    assert time.monotonic() - begun < 20
    assert started.returncode == 0
    assert b"interrupted" in told
    kept = read_drawing(written)
    assert sorted(map(unturned, lines_of(kept))) == sorted(map(unturned, lines_of(drawing)))
    record = next((record for record in kept.history if record.stage == "order"), None)
    assert record is not None
    assert record.figures["travel_mm"] < 0.3 * record.figures["travel_before_mm"]


def test_a_second_interrupt_is_for_whoever_handles_them() -> None:
    script = (
        "import os, signal\n"
        "from underdraw_stages.order.search.effort import Effort, interruptible\n"
        "with interruptible(Effort()) as effort:\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    assert effort.interrupted\n"
        "    try:\n"
        "        os.kill(os.getpid(), signal.SIGINT)\n"
        "    except KeyboardInterrupt:\n"
        "        print('stopped')\n"
    )
    assert subprocess.run([sys.executable, "-c", script], capture_output=True, check=True).stdout == b"stopped\n"


@pytest.mark.slow
def test_seconds_bound_the_search_and_more_of_them_do_no_harm() -> None:
    drawing = garden(moths(200, 6))
    order(drawing, OrderSettings(), Listener())
    travel = []
    for seconds in (0.0, 0.2, 1.5):
        begun = time.monotonic()
        travel.append(order(drawing, OrderSettings(seconds=seconds), Listener()).figures["travel_mm"])
        assert time.monotonic() - begun >= seconds
    assert travel[2] <= travel[0]
    assert travel[1] <= travel[0]


def test_progress_grows_from_nothing_to_all() -> None:
    names = np.array(["vine", "moth"], dtype=object)[np.arange(80) % 2]
    listener = Listener()
    order(garden(moths(80, 7), names), OrderSettings(), listener)
    assert listener.shares == sorted(listener.shares)
    assert listener.shares[0] < 0.2
    assert listener.shares[-1] == pytest.approx(1.0)


@pytest.mark.parametrize(("open_", "closed"), [(40, 0), (0, 25), (20, 15)])
def test_the_search_finds_the_same_compiled_or_not(open_: int, closed: int) -> None:
    strokes, cost = StrokeEnds.of(garden([*moths(open_, 8), *flowers(closed, 9)])), TravelCost(50.8, 300.0)
    plan = Plan.as_drawn(np.arange(len(strokes)))
    near = near_nodes(Nodes.of(strokes), NEAREST)
    one, two = (improve(strokes, near, plan, cost, kernels, Effort(), 100) for kernels in (interpreted(), compiled()))
    assert (one.order == two.order).all()
    assert (one.turned == two.turned).all()
    assert (one.entry == two.entry).all()


@pytest.mark.slow
def test_large_drawings_are_searched_cell_by_cell_and_come_out_whole() -> None:
    drawing = garden([*moths(4000, 10, long=8.0), *flowers(1200, 11, radius=4.0, points=8)])
    result = order(drawing, OrderSettings(), Listener())
    assert sorted(map(unturned, lines_of(result.drawing))) == sorted(map(unturned, lines_of(drawing)))
    first = order(drawing, OrderSettings(seconds=0.0), Listener()).figures["travel_mm"]
    assert result.figures["travel_mm"] < 0.97 * first


def test_for_a_small_drawing_no_compiler_is_imported() -> None:
    script = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from strokes_of import *\n"
        "from underdraw_stages.order import OrderSettings, stage\n"
        "stage.order(garden([*moths(70, 1), *flowers(30, 2)]), OrderSettings(), Listener())\n"
        "stage.kernels_for(garden(moths(stage.INTERPRETED_STROKES, 1)), Listener())\n"
        "assert 'numba' not in sys.modules\n"
        "stage.kernels_for(garden(moths(stage.INTERPRETED_STROKES + 1, 1)), Listener())\n"
        "assert 'numba' in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", script, str(Path(__file__).parents[1])], check=True)
