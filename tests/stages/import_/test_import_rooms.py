"""The rooms of the import stage: arrows between them run one way, and no files form a circle."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import underdraw_stages.import_ as stage

PACKAGE = "underdraw_stages.import_"
HOME = Path(str(stage.__file__)).parent
ROOMS = ("file", "style", "outlines", "shapes", "text", "tree", "")  # "" is the stage's own files, above them all


def arrows() -> dict[str, set[str]]:
    """Each file, and the files of this package that it imports, for type checkers too."""
    found: dict[str, set[str]] = {}
    for path in HOME.rglob("*.py"):
        name = ".".join(path.relative_to(HOME).with_suffix("").parts)
        if path.name == "__init__.py":
            continue
        found[name] = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(PACKAGE):
                inside = (node.module or "").removeprefix(PACKAGE).lstrip(".")
                found[name] |= (
                    {inside}
                    if "." in inside or inside == "" or (HOME / f"{inside}.py").is_file()
                    else {f"{inside}.{alias.name}" for alias in node.names}
                )
    return found


def room(name: str) -> str:
    return name.partition(".")[0] if "." in name else ""


def test_arrows_between_rooms_run_one_way() -> None:
    back = [
        (here, there)
        for here, several in arrows().items()
        for there in several - {""}  # the stage's own declaration, which its root files read
        if ROOMS.index(room(there)) > ROOMS.index(room(here))
    ]
    assert not back
    assert [here for here, several in arrows().items() if "" in several] == ["stage"]


def test_no_files_form_a_circle() -> None:
    list(TopologicalSorter(arrows()).static_order())  # raises CycleError


def test_every_room_is_known_and_has_at_most_twelve_files() -> None:
    folders = [HOME, *(path for path in HOME.iterdir() if path.is_dir() and path.name != "__pycache__")]
    assert {path.name for path in folders[1:]} == set(ROOMS) - {""}
    assert max(len(list(folder.glob("*.py"))) for folder in folders) <= 12
