"""Compiled code is built once, kept where it can be, and never waited for by a small job."""

import os
import pickle
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numba
import numpy as np
import pytest
from strokes_of import Listener, garden, moths

from underdraw_stages.order import OrderSettings, stage
from underdraw_stages.order.compiled import kernels
from underdraw_stages.order.compiled.local_search import cost
from underdraw_stages.order.compiled.lower_distances import Outlines
from underdraw_stages.order.stage import order

SMALL = 100  # in place of INTERPRETED_STROKES, so that the tests are soon done
TOO_MANY = SMALL + 1
FEW_ENOUGH = 8  # to order in a moment


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stage, "INTERPRETED_STROKES", SMALL)


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> Any:
    """The kernels as a new process has them."""
    kernels.compiled.cache_clear()
    yield
    monkeypatch.undo()
    kernels.compiled.cache_clear()


def test_a_first_run_that_repays_the_build_announces_it(fresh: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernels, "_built", lambda function: False)
    monkeypatch.setattr(stage, "REPAYING_STROKES", TOO_MANY - 1)
    listener = Listener()
    order(garden(moths(TOO_MANY, 1)), OrderSettings(seconds=0.0), listener)
    assert len(listener.warnings) == 1
    assert "once on this machine" in listener.warnings[0]


def test_a_first_run_that_does_not_repay_the_build_runs_as_it_stands(
    fresh: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kernels, "_built", lambda function: False)
    listener = Listener()
    assert not stage.kernels_for(garden(moths(TOO_MANY, 1)), listener).compiled
    assert listener.warnings == []


def test_without_the_extra_a_large_drawing_is_told_what_it_would_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stage, "has_compiler", lambda: False)
    monkeypatch.setattr(stage, "LARGE_STROKES", FEW_ENOUGH - 1)
    listener = Listener()
    assert not stage.kernels_for(garden(moths(FEW_ENOUGH, 1)), listener).compiled
    assert "underdraw[fast]" in listener.warnings[0]


@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_is_the_same_with_and_without_the_extra(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    drawing = garden(moths(TOO_MANY + 20, seed))
    compiled = order(drawing, OrderSettings(), Listener()).drawing
    monkeypatch.setattr(stage, "has_compiler", lambda: False)
    as_it_stands = order(drawing, OrderSettings(), Listener()).drawing
    assert as_it_stands.coords.tobytes() == compiled.coords.tobytes()


def test_nothing_of_the_compiler_is_needed_where_it_is_not_installed() -> None:
    program = (
        "import sys; sys.modules['numba'] = None\n"
        "from strokes_of import Listener, garden, moths\n"
        "from underdraw_stages.order import OrderSettings, stage\n"
        "stage.has_compiler = lambda: False\n"
        f"stage.order(garden(moths({TOO_MANY}, 1)), OrderSettings(), Listener())\n"
        "assert not any(name.startswith(('numba', 'llvmlite')) and module for name, module in sys.modules.items())\n"
    )
    paths = os.pathsep.join(path for path in sys.path if path)
    subprocess.run([sys.executable, "-c", program], check=True, env={**os.environ, "PYTHONPATH": paths})


def test_later_runs_say_nothing_of_it(fresh: None) -> None:
    for wanted in (None, []):
        listener = Listener()
        order(garden(moths(TOO_MANY, 1)), OrderSettings(), listener)
        assert wanted is None or listener.warnings == wanted


def test_where_nothing_can_be_kept_the_search_still_runs(fresh: None, monkeypatch: pytest.MonkeyPatch) -> None:
    # In the compiler's place one that builds nothing: what it builds is the next test's.
    assert numba.njit(cost).stats.cache_path is None  # of what the compiler does not keep, nor does this one

    def refuse(function: Any, cache: bool = False) -> Any:
        if cache:
            raise RuntimeError("cannot cache function: no locator available")
        function.stats, function.py_func = SimpleNamespace(cache_path=None), function
        return function

    monkeypatch.setattr(numba, "njit", refuse)
    monkeypatch.setattr(stage, "REPAYING_STROKES", TOO_MANY - 1)
    listener, drawing = Listener(), garden(moths(TOO_MANY, 1))
    found = order(drawing, OrderSettings(seconds=0.0), listener).drawing
    assert "no folder" in listener.warnings[0]
    monkeypatch.setattr(stage, "has_compiler", lambda: False)
    assert found.coords.tobytes() == order(drawing, OrderSettings(seconds=0.0), Listener()).drawing.coords.tobytes()


def test_what_cannot_be_kept_is_built_anew_and_finds_the_same(fresh: None, monkeypatch: pytest.MonkeyPatch) -> None:
    build = numba.njit

    def refuse(function: Any, cache: bool = False) -> Any:
        if cache:
            raise RuntimeError("cannot cache function: no locator available")
        return build(function)

    monkeypatch.setattr(numba, "njit", refuse)
    assert not kernels.can_keep()
    random = np.random.default_rng(1)
    x, y, ends = random.uniform(0, 100, 9), random.uniform(0, 100, 9), np.arange(10)
    points = Outlines(ends, x, y, np.zeros(9), x, y, np.zeros(9))
    one, two = np.zeros(27), np.zeros(27)
    kernels.compiled().lower_distances(points, np.arange(3), 50.0, one)
    kernels.interpreted().lower_distances(points, np.arange(3), 50.0, two)
    assert kernels.compiled().lower_distances.signatures
    assert one.any()
    assert (one == two).all()


class Gone:
    """Stands for a class that a later version has under another name."""


def test_a_kept_form_that_names_a_class_of_an_older_version_is_built_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = garden.__code__
    function = SimpleNamespace(stats=SimpleNamespace(cache_path=str(tmp_path)), py_func=garden)
    index = tmp_path / f"{Path(code.co_filename).stem}.{garden.__qualname__}-{code.co_firstlineno}.py311.nbi"
    index.write_bytes(pickle.dumps("0.60") + pickle.dumps(("stamp", Gone())))
    kernels.drop_unreadable(function)
    assert index.exists()
    monkeypatch.delattr(sys.modules[__name__], "Gone")
    kernels.drop_unreadable(function)
    assert not index.exists()


@pytest.mark.slow
def test_beside_unwritable_files_the_users_cache_is_taken(tmp_path: Path) -> None:
    # The folder __pycache__ is a file here: nothing can be kept beside the sources, whoever runs this.
    import underdraw_stages

    here = Path(underdraw_stages.__file__).parent
    there = tmp_path / "site" / "underdraw_stages"
    for source in [here / "__init__.py", *(here / "order").rglob("*.py")]:
        copy = there / source.relative_to(here)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(source.read_bytes())
    (there / "order" / "compiled" / "__pycache__").write_text("not a folder")
    script = (
        "import sys; sys.path[:0] = sys.argv[1:]\n"
        "from strokes_of import *\n"
        "from underdraw_stages.order import OrderSettings\n"
        "from underdraw_stages.order.compiled import kernels\n"
        "from underdraw_stages.order import stage\n"
        "stage.INTERPRETED_STROKES = stage.REPAYING_STROKES = 100\n"
        "from underdraw_stages.order.stage import order\n"
        "assert kernels.__file__.startswith(sys.argv[1])\n"
        "listener = Listener()\n"
        "order(garden(moths(101, 1)), OrderSettings(seconds=0.0), listener)\n"
        "print(len(listener.warnings), kernels.kept_functions()[0].stats.cache_path)\n"
    )
    home = tmp_path / "home"
    command = [sys.executable, "-c", script, str(tmp_path / "site"), str(Path(__file__).parents[1])]
    environment = {"HOME": str(home), "XDG_CACHE_HOME": str(home / "cache"), "PATH": ""}
    told = [
        subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout.split()
        for _ in range(2)
    ]
    assert [words[0] for words in told] == ["1", "0"]
    assert all(words[1].startswith(str(home)) for words in told)
