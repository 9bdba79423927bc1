"""A command in this process, without the time that one of its own takes to begin; and in a process of its own.

The first is for what a command answers. Pipes, closed streams, signals and exit codes need a true process.
"""

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from underdraw.cli.command_line import main


def underdraw(
    *words: object, stdin: bytes = b"", where: Path | None = None, **variables: str
) -> subprocess.CompletedProcess[bytes]:
    """The exit code and what was written, of these words typed in a folder with these environment variables."""
    streams = {name: io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for name in ("stdout", "stderr")}
    with pytest.MonkeyPatch.context() as patch:
        if where is not None:
            patch.chdir(where)
        for name, value in variables.items():
            patch.setenv(name, value)
        patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8"))
        for name, stream in streams.items():
            patch.setattr(sys, name, stream)
        with pytest.raises(SystemExit) as end:
            main([str(word) for word in words])
    written = []
    for stream in streams.values():
        stream.flush()
        written.append(stream.buffer.getvalue())  # type: ignore[attr-defined]
    return subprocess.CompletedProcess(list(words), int(end.value.code or 0), *written)


def process(
    *words: object, stdin: bytes = b"", where: Path | None = None, **variables: str
) -> subprocess.CompletedProcess[bytes]:
    """The same of `python -m underdraw` in a process of its own, which may take two minutes."""
    command = [sys.executable, "-m", "underdraw", *map(str, words)]
    environment = {**os.environ, **variables}
    return subprocess.run(
        command, input=stdin, capture_output=True, env=environment, cwd=where, check=False, timeout=120
    )
