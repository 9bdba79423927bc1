"""Commands that are no stage: a file each, named as the command is, holding a click command called `command`."""

import importlib
import pkgutil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import click

NAMES = tuple(sorted(module.name for module in pkgutil.iter_modules(__path__)))


def load(name: str) -> "click.Command":
    """The command of that name; its module is imported now, and imports what is heavy only when it runs."""
    return importlib.import_module(f"{__name__}.{name}").command  # type: ignore[no-any-return]
