"""What every command is given: the registry and the console."""

import os
from pathlib import Path

from underdraw import commands
from underdraw.console import Console
from underdraw.registry import Registry

PLUGINS_VARIABLE = "UNDERDRAW_PLUGINS"  # plugin files of a studio, separated as PATH is


class App:
    """What every command is given: the registry (loaded when first asked for) and the console."""

    def __init__(self) -> None:
        self.console = Console()
        self.files: list[Path] = [Path(item) for item in os.environ.get(PLUGINS_VARIABLE, "").split(os.pathsep) if item]
        self._registry: Registry | None = None

    @property
    def registry(self) -> Registry:
        """Every installed plugin, and those the command line names."""
        if self._registry is None:
            self._registry = Registry()
            self._registry.load_installed()
            for path in self.files:
                self._registry.load_file(path)
            for name in commands.NAMES:
                if name in self._registry.stages:
                    plugin = self._registry.stages.owner(name)
                    plugin.failures.append(f"stage {name!r} has the name of a command of the host")
        return self._registry

    def warn_of_failures(self) -> None:
        """Tell of plugins that failed, before work that may miss them."""
        for failure in self.registry.failures:
            self.console.warn("underdraw", failure)
