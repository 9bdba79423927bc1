"""Runs the search as it stands for small jobs and compiled for large ones: the same code, the same result.

The compiled form is built once and kept: beside the installed files where that folder can be written, else in the
user's cache folder.
"""

import glob
import importlib.util
import os
import pickle
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from types import FunctionType, ModuleType
from typing import Any, NamedTuple, TypeVar

import numpy as np

from underdraw_stages.order.compiled import greedy_joins, local_search, lower_distances, shortest_path

INTERPRETED_STROKES = 2_000  # up to here loading the compiled search takes longer than the search as it stands
REPAYING_STROKES = 20_000  # from here on the search as it stands takes longer than building the compiled one
LARGE_STROKES = 20_000  # as it stands, the search of so many takes a dozen seconds
# Each has a list KERNELS, callers last.
COMPILED = (local_search, greedy_joins, shortest_path, lower_distances)

Arrays = TypeVar("Arrays", bound=tuple[Any, ...])


class Kernels(NamedTuple):
    """The functions that are called from elsewhere, in one form or the other."""

    compiled: bool
    settle: Callable[..., float]
    perturb: Callable[..., float]
    link: Callable[..., int]
    shortest_path: Callable[..., float]
    lightest_tree: Callable[..., int]
    lightest_of_all: Callable[..., float]
    lower_distances: Callable[..., None]

    def arrays(self, given: Arrays) -> Arrays:
        """A named tuple of numpy arrays in the form that these functions are quick with: arrays, or lists."""
        if self.compiled:
            return given
        return type(given)(*(item.tolist() if isinstance(item, np.ndarray) else item for item in given))


@cache
def interpreted() -> Kernels:
    """The functions as they stand."""
    return Kernels(
        False,
        local_search.settle,
        local_search.perturb,
        greedy_joins.link,
        shortest_path.shortest_path,
        greedy_joins.lightest_tree,
        greedy_joins.lightest_of_all,
        lower_distances.lower_distances,
    )


@cache
def compiled() -> Kernels:
    """The functions compiled; each is built, or read from the cache, when first called."""
    built: dict[str, Any] = {}
    for module in COMPILED:
        built |= _compile(module)
    for name in Kernels._fields[1:]:
        drop_unreadable(built[name])
    return Kernels(True, **{name: built[name] for name in Kernels._fields[1:]})


def has_compiler() -> bool:
    """Whether the extra `fast` is installed."""
    return importlib.util.find_spec("numba") is not None


def is_built() -> bool:
    """Whether compiled code lies in the cache, as far as its files' names tell."""
    return all(_built(function) for function in kept_functions())


def can_keep() -> bool:
    """Whether there is a folder in which compiled code can be kept."""
    return all(function.stats.cache_path for function in kept_functions())


def kept_functions() -> list[Any]:
    """The compiled functions that are kept, as the compiler wraps them."""
    return [getattr(compiled(), name) for name in Kernels._fields[1:]]


def _compile(module: ModuleType) -> dict[str, Any]:
    """Copies of a module's functions that call each other's compiled forms."""
    import numba

    names_seen: dict[str, Any] = dict(vars(module))
    for name in module.KERNELS:
        original = getattr(module, name)
        function = FunctionType(original.__code__, names_seen, name, original.__defaults__)
        function.__module__, function.__qualname__ = original.__module__, original.__qualname__
        try:
            names_seen[name] = numba.njit(function, cache=name in Kernels._fields)
        except RuntimeError:  # no folder for a cache can be written: built anew each time
            names_seen[name] = numba.njit(function)
    return names_seen


def drop_unreadable(function: Any) -> None:
    """Delete what is kept of a function where it names a class that the code no longer has: it is built anew.

    The compiler reads the index of its cache, two pickles, before it looks whether the source has changed since.
    """
    for index in _indexes(function):
        try:
            with open(index, "rb") as file:
                pickle.load(file)
                pickle.load(file)
        except Exception:  # whatever unpickling may raise
            with suppress(OSError):
                os.unlink(index)


def _built(function: Any) -> bool:
    """Whether the cache holds an index of this function."""
    return bool(_indexes(function))


def _indexes(function: Any) -> list[str]:
    """The cache's files on this function, one a version of the language."""
    folder = function.stats.cache_path
    if not folder:
        return []
    code = function.py_func.__code__
    source = os.path.splitext(os.path.basename(code.co_filename))[0]
    name = f"{source}.{function.py_func.__qualname__}-{code.co_firstlineno}."
    return glob.glob(os.path.join(glob.escape(folder), name + "*.nbi"))
