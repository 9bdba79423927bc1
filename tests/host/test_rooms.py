"""The host's rooms: arrows between them run one way, and words that belong to the host are those it has."""

import ast
from collections.abc import Iterator
from pathlib import Path

import underdraw
from underdraw.plugins.reserved import COMMANDS

HOST = Path(underdraw.__file__).parent
ROOMS = (
    "words",
    "job",
    "drawing",
    "plugins",
    "panel",
    "machine",
    "calibration",
    "page",
    "program",
    "testing",
    "scaffold",
    "cli",
)


def arrows() -> Iterator[tuple[str, str, str]]:
    """(file, its room, room it imports from), for type checkers' imports too."""
    for path in sorted(HOST.rglob("*.py")):
        place = path.relative_to(HOST)
        if len(place.parts) == 1:
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            modules = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            modules += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.module == "underdraw":
                modules += [f"underdraw.{alias.name}" for alias in node.names]
            for module in modules:
                parts = module.split(".")
                if parts[0] == "underdraw" and len(parts) > 1 and parts[1] in ROOMS:
                    yield str(place), place.parts[0], parts[1]


def test_every_room_is_known_and_arrows_between_rooms_run_one_way() -> None:
    assert {path.name for path in HOST.iterdir() if path.is_dir() and path.name != "__pycache__"} == set(ROOMS)
    back = [(file, there) for file, here, there in arrows() if ROOMS.index(there) > ROOMS.index(here)]
    assert not back


def test_no_room_has_more_than_twelve_files() -> None:
    for room in ROOMS:
        for folder in [HOST / room, *(path for path in (HOST / room).rglob("*") if path.is_dir())]:
            assert len([path for path in folder.glob("*.py") if path.name != "__init__.py"]) <= 12, folder


def test_each_reserved_command_is_a_file_of_that_name_and_none_is_missing() -> None:
    files = {path.stem for path in (HOST / "cli" / "commands").glob("*.py")} - {"__init__"}
    assert files == set(COMMANDS)
