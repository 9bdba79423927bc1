"""`underdraw demo DIR`: a complete sample job to start from."""

import contextlib
from typing import TYPE_CHECKING

import click

from underdraw.errors import CannotDo, InputError

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

PACKAGE = "underdraw_demo"  # the sample job's files, installed beside the code
IN_THE_CLONE = ("fixtures", "moonflower")
SUFFIXES = (".svg", ".toml")
PICTURE = "-preview.svg"  # for the README; whoever runs the job gets one of their own


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(file_okay=False))
@click.pass_obj
def command(app: object, folder: str) -> None:
    """Write a complete sample job (artwork and job file) into a new folder."""
    from pathlib import Path

    from underdraw.cli.app import App
    from underdraw.cli.files import write_files

    assert isinstance(app, App)
    target = Path(folder)
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputError("is there already and is not empty; use a new folder", file=target)
    files = [(target / item.name, item.read_bytes()) for item in _sample()]
    write_files(files, target)
    jobs = [path for path, _ in files if path.suffix == ".toml"]
    app.console.summary("demo", f"wrote {len(files)} files into {target}; next: underdraw run {jobs[0]}")


def _sample() -> "list[Traversable]":
    """The sample's files: as they are installed, or, in an editable install, where they lie in the clone."""
    import importlib.resources
    from pathlib import Path

    folders: list[Traversable] = [Path(__file__).parents[3].joinpath(*IN_THE_CLONE)]
    with contextlib.suppress(ModuleNotFoundError):
        folders.insert(0, importlib.resources.files(PACKAGE))
    for folder in folders:
        sample_files = [item for item in folder.iterdir() if item.name.endswith(SUFFIXES)] if folder.is_dir() else []
        if any(item.name.endswith(".toml") for item in sample_files):
            return sorted(
                (item for item in sample_files if not item.name.endswith(PICTURE)), key=lambda item: item.name
            )
    raise CannotDo("the sample job is not installed with this underdraw; install it anew with pip")
