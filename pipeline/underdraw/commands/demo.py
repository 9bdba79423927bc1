"""`underdraw demo DIR`: a complete sample job to start from."""

from typing import TYPE_CHECKING

import click

from underdraw.errors import CannotDo, InputError

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

PACKAGE = "underdraw_demo"  # the sample job's files, installed beside the code
SUFFIXES = (".svg", ".toml")


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(file_okay=False))
@click.pass_obj
def command(app: object, folder: str) -> None:
    """Write a complete sample job (artwork and job file) into a new folder."""
    from pathlib import Path

    from underdraw.app import App
    from underdraw.files import write_files

    assert isinstance(app, App)
    target = Path(folder)
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputError("is there already and is not empty; a new folder would do", file=target)
    files = [(target / item.name, item.read_bytes()) for item in _sample()]
    write_files(files, target)
    jobs = [path for path, _ in files if path.suffix == ".toml"]
    app.console.summary("demo", f"wrote {len(files)} files into {target}; next: underdraw run {jobs[0]}")


def _sample() -> "list[Traversable]":
    import importlib.resources

    try:
        held = [item for item in importlib.resources.files(PACKAGE).iterdir() if item.name.endswith(SUFFIXES)]
    except (ModuleNotFoundError, OSError):
        held = []
    if not any(item.name.endswith(".toml") for item in held):
        raise CannotDo("the sample job is not installed with this underdraw; install it anew with pip")
    return sorted((item for item in held if not item.name.endswith("-preview.svg")), key=lambda item: item.name)
