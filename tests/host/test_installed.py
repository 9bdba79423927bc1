"""Entry points read from disk are those that Python's own library finds (entry points specification of the PyPA)."""

import importlib.metadata
import sys
import zipfile
from pathlib import Path

import pytest

from underdraw.plugins.entry_points import entry_points


def by_the_library(group: str) -> set[tuple[str, str, str, str]]:
    found = importlib.metadata.entry_points(group=group)
    return {(point.name, point.value, point.dist.name, point.dist.version) for point in found if point.dist}


def by_us(group: str) -> set[tuple[str, str, str, str]]:
    return {(point.name, point.value, point.distribution, point.version) for point in entry_points(group)}


def test_the_two_agree_on_every_group_of_this_environment() -> None:
    groups = {point.group for held in importlib.metadata.distributions() for point in held.entry_points}
    assert {"underdraw", "console_scripts"} <= groups
    for group in groups:
        assert by_us(group) == by_the_library(group), group


@pytest.mark.parametrize("suffix", [".dist-info", ".egg-info"])
def test_the_two_agree_on_odd_spellings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, suffix: str) -> None:
    folder = tmp_path / f"night_parts-1.0{suffix}"
    folder.mkdir()
    metadata = "METADATA" if suffix == ".dist-info" else "PKG-INFO"
    (folder / metadata).write_text("Metadata-Version: 2.1\nName: night-parts\nVersion: 1.0\n\nVersion: 9 of the text\n")
    (folder / "entry_points.txt").write_text(
        "; a comment\n[other]\nx = y\n\n[underdraw]\n# a comment\n moth=night_parts:PLUGIN\n"
        "vine = night_parts.vine [extra]\n\n[last]\nz = w\n"
    )
    monkeypatch.syspath_prepend(tmp_path)
    assert by_us("underdraw") == by_the_library("underdraw")
    assert ("moth", "night_parts:PLUGIN", "night-parts", "1.0") in by_us("underdraw")


def test_the_first_copy_of_a_distribution_on_the_path_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for version in ("1.0", "2.0"):
        folder = tmp_path / version / f"night_parts-{version}.dist-info"
        folder.mkdir(parents=True)
        (folder / "METADATA").write_text(f"Name: night-parts\nVersion: {version}\n")
        (folder / "entry_points.txt").write_text("[underdraw]\nmoth = moth\n")
        monkeypatch.syspath_prepend(tmp_path / version)
    assert ("moth", "moth", "night-parts", "2.0") in by_us("underdraw")
    assert ("moth", "moth", "night-parts", "1.0") not in by_us("underdraw")
    assert by_us("underdraw") == by_the_library("underdraw")


def test_an_archive_on_the_path_is_read_by_the_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with zipfile.ZipFile(tmp_path / "parts.zip", "w") as archive:
        archive.writestr(
            "night_parts-1.0.dist-info/METADATA", "Metadata-Version: 2.1\nName: night-parts\nVersion: 1.0\n"
        )
        archive.writestr("night_parts-1.0.dist-info/entry_points.txt", "[underdraw]\nmoth = night_parts\n")
    monkeypatch.setattr(sys, "path", [str(tmp_path / "parts.zip"), *sys.path])
    assert ("moth", "night_parts", "night-parts", "1.0") in by_us("underdraw")


def test_an_entry_point_names_a_module_or_something_in_it() -> None:
    (help_point,) = [point for point in entry_points("console_scripts") if point.name == "underdraw"]
    from underdraw.__main__ import process

    assert help_point.load() is process
