"""The rooms of a stage: arrows between them run one way, and none holds more than twelve files."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import underdraw_stages

STAGES = Path(underdraw_stages.__file__).parent
ROOMS = {"tidy": ("strokes", "seen"), "order": ("compiled", "search", "ink", "bound", "sections")}  # from the ground up
MOST_FILES = 12


def modules_of(file: Path) -> Iterator[str]:
    """Every module that a file imports, or imports from."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


@pytest.mark.parametrize("stage", ROOMS)
def test_rooms_take_from_rooms_beneath_them_only(stage: str) -> None:
    rooms = ROOMS[stage]
    assert {path.parent.name for path in (STAGES / stage).glob("*/*.py")} == set(rooms)
    upward = []
    for here in rooms:
        for file in (STAGES / stage / here).glob("*.py"):
            for module in modules_of(file):
                _, _, within = module.partition(f"underdraw_stages.{stage}.")
                there = within.split(".")[0]
                if there in rooms[rooms.index(here) + 1 :] or there in ("stage", "changes", "build_compiled"):
                    upward.append((file.name, module))
    assert not upward


@pytest.mark.parametrize("stage", ROOMS)
def test_no_room_has_more_than_twelve_files(stage: str) -> None:
    for folder in [STAGES / stage, *(STAGES / stage / room for room in ROOMS[stage])]:
        assert len([path for path in folder.glob("*.py") if path.name != "__init__.py"]) <= MOST_FILES, folder
