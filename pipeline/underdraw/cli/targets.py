"""Nothing of the user's is lost: what would be written is held against what is read, and against what is there."""

import hashlib
import os
import unicodedata
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from underdraw.cli.console import Console
from underdraw.errors import CannotDo, InputError

if TYPE_CHECKING:
    from underdraw.drawing.drawing import Drawing

MOST_NAMED = 4  # files of an earlier run that are named one by one


def require_kept(targets: Iterable[Path], read: Iterable[Path]) -> None:
    """Raise InputError where a file to be written is one that is read: a drawing, artwork or job would be lost."""
    sources = [(path, _place(path)) for path in read]
    for target in targets:
        for source, place in sources:
            if _place(target) == place or _is_same(target, source):
                raise InputError(
                    f"{target}: this file is read here, and would be lost; choose another name or folder, or move it"
                )


def require_sources_kept(targets: Iterable[Path], drawing: "Drawing") -> None:
    """Raise InputError where a file to be written is the artwork that a drawing was made of, as it was read."""
    sources = {source.sha256 for source in drawing.sources}
    for target in targets:
        if sources and target.is_file() and _sha256(target) in sources:
            raise InputError(
                f"{target}: this is the artwork of the drawing, and would be lost; choose another name or folder"
            )


def _sha256(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def require_different(targets: Sequence[Path]) -> None:
    """Raise CannotDo where two files of one run would have one name, on a disk that is blind to case too."""
    known: dict[tuple[str, str], Path] = {}
    for target in targets:
        other = known.setdefault(_place(target), target)
        if other is not target:
            raise CannotDo(f"two files of this run would be called {target.name!r}; name markers or stages apart")


def warn_of_others(folder: Path, stem: str, suffixes: set[str], new: Iterable[Path], console: Console) -> None:
    """Name programs of an earlier run that stay beside the new ones: run by mistake, they draw something else."""
    written_now = {_place(path) for path in new}
    begins = _folded(stem)
    left = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        rest = _folded(path.stem).removeprefix(begins)
        if path.suffix in suffixes and _folded(path.stem).startswith(begins) and (not rest or rest[0] == "-"):
            left += [path.name] if _place(path) not in written_now and path.is_file() else []
    if left:
        named = ", ".join(left[:MOST_NAMED]) + (f" and {len(left) - MOST_NAMED} more" if len(left) > MOST_NAMED else "")
        console.warn("run", f"programs of an earlier run are still in {folder}: {named}; delete or move them")


def _place(path: Path) -> tuple[str, str]:
    """A file's folder, and its name as a disk that is blind to case takes it."""
    whole = os.path.realpath(path)
    return os.path.dirname(whole), _folded(os.path.basename(whole))


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _is_same(one: Path, other: Path) -> bool:
    """Whether two names lead to one file, by a link for instance; a pipe or a device cannot be lost."""
    try:
        return one.is_file() and os.path.samefile(one, other)
    except OSError:
        return False
