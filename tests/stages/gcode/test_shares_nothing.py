"""The reader shares no code with the writer: neither imports the other, but for the stage that asks."""

import ast
from pathlib import Path

import underdraw.program
import underdraw_stages.gcode

READER = Path(underdraw.program.__file__).parent
WRITER = Path(underdraw_stages.gcode.__file__).parent


def imported(file: Path) -> set[str]:
    """Every module that a file names in an import."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def test_the_reader_knows_neither_the_writer_nor_any_controllers_methods():
    for file in READER.rglob("*.py"):
        assert not {
            name for name in imported(file) if name.startswith(("underdraw_", "underdraw.plugins.controller"))
        }, file.name


def test_of_the_writer_only_the_stage_asks_the_reader():
    for file in WRITER.rglob("*.py"):
        asks = {name for name in imported(file) if name.startswith("underdraw.program")}
        assert not asks or file.name == "stage.py", file.name


def test_the_standards_tolerances_stand_in_both_each_for_itself():
    from underdraw.program import moves as read
    from underdraw_stages.gcode import toolpath as written

    # NISTIR 6556, section 3.5.3.2.
    assert (read.ARC_TOLERANCE_INCH, read.ARC_TOLERANCE_MM) == (written.RADII_INCH, written.RADII_MM) == (0.0002, 0.002)
