"""Which plugins the installed distributions register: entry points, read straight from disk.

`importlib.metadata` gives the same answer (a test holds the two together), but importing it, with the mail and zip
modules it wants, takes longer than all else that `underdraw --help` does. It is still asked where a part of the
import path is an archive, which only it can read.
"""

import importlib
import os
import sys
from collections.abc import Iterator
from typing import Any, NamedTuple

METADATA = {".dist-info": "METADATA", ".egg-info": "PKG-INFO"}  # a distribution's folder -> its metadata file
ENTRY_POINTS = "entry_points.txt"


class EntryPoint(NamedTuple):
    """One line of a distribution's entry points: what it registers, and where from."""

    name: str
    value: str  # "package.module" or "package.module:object", and extras in brackets that carry no meaning any more
    distribution: str
    version: str

    @property
    def module(self) -> str:
        """The module it names, or that holds what it names."""
        return self._bare.partition(":")[0].strip()

    def load(self) -> Any:
        """Import what it names."""
        attributes = self._bare.partition(":")[2]
        held: Any = importlib.import_module(self.module)
        for attribute in attributes.split(".") if attributes else ():
            held = getattr(held, attribute.strip())
        return held

    @property
    def _bare(self) -> str:
        return self.value.partition("[")[0].strip()


def entry_points(group: str) -> list[EntryPoint]:
    """Every entry point of a group, in the order of the import path; of one distribution the first copy counts."""
    if any(os.path.isfile(folder) for folder in sys.path):
        return _by_the_standard_library(group)
    found: list[EntryPoint] = []
    seen: set[str] = set()
    for folder in sys.path:
        for distribution in _distributions(folder or os.curdir):
            key = os.path.basename(distribution).split("-")[0].split(".")[0].lower()
            if key in seen:
                continue
            seen.add(key)
            found += _of_distribution(distribution, group)
    return found


def _distributions(folder: str) -> Iterator[str]:
    """The metadata folders in one folder of the import path, sorted so that every run sees one order."""
    try:
        names = os.listdir(folder)
    except OSError:
        return
    for name in sorted(names):
        if name.endswith(tuple(METADATA)):
            yield os.path.join(folder, name)


def _of_distribution(folder: str, group: str) -> list[EntryPoint]:
    try:
        with open(os.path.join(folder, ENTRY_POINTS), encoding="utf-8") as file:
            lines = _of_group(file.read(), group)
    except (OSError, UnicodeDecodeError):
        return []
    if not lines:
        return []
    name, version = _name_and_version(folder)
    return [EntryPoint(key, value, name, version) for key, value in lines]


def _of_group(text: str, group: str) -> list[tuple[str, str]]:
    """The `name = value` lines below `[group]`."""
    held: list[tuple[str, str]] = []
    inside = False
    for line in map(str.strip, text.splitlines()):
        if line.startswith("["):
            inside = line == f"[{group}]"
        elif inside and "=" in line and not line.startswith(("#", ";")):
            name, _, value = line.partition("=")
            held.append((name.strip(), value.strip()))
    return held


def _name_and_version(folder: str) -> tuple[str, str]:
    """A distribution's name and version, from the head of its metadata."""
    suffix = os.path.splitext(folder)[1]
    held = {"name": os.path.basename(folder).removesuffix(suffix).split("-")[0], "version": ""}
    try:
        with open(os.path.join(folder, METADATA[suffix]), encoding="utf-8", errors="replace") as file:
            for line in file:
                key, colon, value = line.partition(":")
                if not colon:
                    break  # the head ends at the first empty line
                if key.lower() in held:
                    held[key.lower()] = value.strip()
    except OSError:
        pass
    return held["name"], held["version"]


def _by_the_standard_library(group: str) -> list[EntryPoint]:
    import importlib.metadata

    return [
        EntryPoint(
            point.name, point.value, point.dist.name if point.dist else "?", point.dist.version if point.dist else ""
        )
        for point in importlib.metadata.entry_points(group=group)
    ]
