"""Commands that are no stage: a file each, named as the command is, holding a click command called `command`.

The first line of each file is what the command does: the list of `underdraw --help` shows it without importing one.
"""

import importlib
import os
from typing import TYPE_CHECKING

from underdraw.plugins.reserved import COMMANDS

if TYPE_CHECKING:
    import click

NAMES = COMMANDS


def summary(name: str) -> str:
    """What a command does, from the first line of its file: `underdraw NAME …`: a sentence."""
    with open(os.path.join(__path__[0], f"{name}.py"), encoding="utf-8") as file:
        text = file.readline().partition("`: ")[2].strip().rstrip('"')
    return f"{text[:1].upper()}{text[1:]}"


def load(name: str) -> "click.Command":
    """The command of that name; its module is imported now, and imports what is heavy only when it runs."""
    return importlib.import_module(f"{__name__}.{name}").command  # type: ignore[no-any-return]
