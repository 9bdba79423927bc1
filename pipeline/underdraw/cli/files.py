"""Files that are whole or not there: written beside their target, then renamed, all of one run together."""

import contextlib
import os
import re
import signal
import tempfile
from collections.abc import Callable, Iterable, Iterator
from io import FileIO
from pathlib import Path
from typing import BinaryIO

from underdraw.errors import CannotDo

TEMPORARY = re.compile(r"\..*\.underdraw-(\d+)-[^.]+\.part", re.DOTALL)  # its number is that of the process
Data = bytes | Iterable[bytes]  # of a file: all of it, or piece after piece
LONGEST_STEM = 60  # characters of a target's name that its temporary file takes over


def write_files(
    files: Iterable[tuple[Path, Data]], folder: Path | None = None, *, done: Callable[[], None] = lambda: None
) -> None:
    """Put every file in place, or none: all are written beside their targets first, and renamed at the end.

    `folder` is made if it is not there; `done` is called once all are in place, before an interrupt can come. A link's
    own target is written, and a device or a pipe is written into, at the end: neither is replaced. Raises CannotDo
    naming the file that could not be written.
    """
    staged: list[tuple[Path, Path]] = []
    made = folder is not None and not folder.exists()
    try:
        if folder is not None:
            with _named(folder):
                folder.mkdir(parents=True, exist_ok=True)
        streams: list[tuple[Path, Data]] = []
        swept: set[Path] = set()
        for target, data in files:
            with _named(target):
                if target.exists() and not target.is_file() and not target.is_dir():
                    streams.append((target, data))
                    continue
                real = Path(os.path.realpath(target)) if target.is_symlink() else target
                if real.parent not in swept:
                    _sweep(real.parent)
                    swept.add(real.parent)
                staged.append((_beside(real, data), real))
        with _interrupts_deferred():
            for temporary, target in staged:
                with _named(target):
                    os.replace(temporary, target)
            done()
        for target, data in streams:
            with _named(target), target.open("wb", buffering=0) as stream:
                for piece in _pieces(data):
                    write_all(stream, piece)
    except BaseException:
        for temporary, _ in staged:
            temporary.unlink(missing_ok=True)
        if made and folder is not None:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


def write_all(stream: BinaryIO | FileIO, data: bytes) -> None:
    """All of it: an unbuffered stream may take only a part at a time, as where a disk is nearly full."""
    left = memoryview(data)
    while left:
        left = left[stream.write(left) or 0 :]
    stream.flush()


def _pieces(data: Data) -> Iterable[bytes]:
    return (data,) if isinstance(data, bytes) else data


@contextlib.contextmanager
def _interrupts_deferred() -> Iterator[None]:
    """Let Ctrl-C wait: stopped in the middle, a run would leave old files and new ones mixed."""
    came: list[int] = []
    try:
        before = signal.signal(signal.SIGINT, lambda number, _frame: came.append(number))
    except ValueError:  # not the main thread: no interrupt arrives here
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if came:
        raise KeyboardInterrupt


def _sweep(folder: Path) -> None:
    """Remove what processes that were killed left in a folder."""
    with contextlib.suppress(OSError):
        for entry in os.scandir(folder):
            match = TEMPORARY.fullmatch(entry.name)
            if match and not _lives(int(match[1])):
                with contextlib.suppress(OSError):
                    os.unlink(entry.path)


def _lives(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # somebody else's, or no number of a process
        return True
    return True


def _beside(target: Path, data: Data) -> Path:
    """Write to a temporary file in the target's folder."""
    if target.is_dir():
        raise IsADirectoryError(0, "is a folder")
    prefix = f".{target.name[:LONGEST_STEM]}.underdraw-{os.getpid()}-"
    descriptor, name = tempfile.mkstemp(prefix=prefix, suffix=".part", dir=target.parent)
    temporary = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.writelines(_pieces(data))
        mask = os.umask(0)
        os.umask(mask)
        temporary.chmod(0o666 & ~mask)  # mkstemp makes files for their owner alone
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


@contextlib.contextmanager
def _named(target: Path) -> Iterator[None]:
    """Turn an operating system's refusal into a line that names the file."""
    try:
        yield
    except FileNotFoundError as error:
        if target.parent.exists():
            raise CannotDo(f"cannot be written: {error.strerror or error}", file=target) from None
        raise CannotDo(f"cannot be written: there is no folder {target.parent}; make it first", file=target) from None
    except OSError as error:
        raise CannotDo(f"cannot be written: {error.strerror or error}", file=target) from None
