"""What every test of the import shares: artwork from a line of text, and the stage run as the host runs it."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from underdraw.job.sections import Job
from underdraw.job.settings import read_settings
from underdraw.plugins.parts import Result
from underdraw_stages.import_ import ImportSettings
from underdraw_stages.import_.stage import import_artwork

sys.path.insert(0, str(Path(__file__).parent))  # what stands beside this file

from small_artwork import PAGE, SVG, Watched

Import = Callable[..., Result]


@pytest.fixture
def artwork(tmp_path: Path) -> Callable[..., Path]:
    """Writes artwork of a body (or a whole file, where it has its own `<svg`) and gives its path."""

    def write(body: str | bytes, head: str = PAGE, name: str = "moth.svg") -> Path:
        path = tmp_path / name
        if isinstance(body, bytes):
            path.write_bytes(body)
        else:
            text = body if "<svg" in body else f"<svg {SVG} {head}>{body}</svg>"
            path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture
def run(artwork: Callable[..., Path]) -> Import:
    """Imports a body, a file's text or a path; keywords are settings, `job` and `context` aside."""

    def go(
        source: str | bytes | Path,
        head: str = PAGE,
        job: Job | None = None,
        context: Watched | None = None,
        **settings: object,
    ) -> Result:
        path = source if isinstance(source, Path) else artwork(source, head)
        wanted = read_settings(ImportSettings, {"file": str(path), **settings})
        return import_artwork(None, wanted, context or Watched(job))  # type: ignore[arg-type]

    return go
