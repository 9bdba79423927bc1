"""What every command is given: the registry and the console."""

import contextlib
import os

from underdraw.cli.console import Console
from underdraw.errors import UnderdrawError
from underdraw.plugins.registry import Plugin, Registry

PLUGINS_VARIABLE = "UNDERDRAW_PLUGINS"  # plugin files of a studio, separated as PATH is


class App:
    """What every command is given: the registry (loaded when first asked for, unless one is given) and the console."""

    def __init__(self, registry: Registry | None = None) -> None:
        self.console = Console()
        self.written = False  # whether files are in place: what an interrupt after that must not deny
        self.files: list[str] = []  # that the command line names with --plugin
        self._registry = registry

    def files_written(self) -> None:
        """Every file of this command is in place."""
        self.written = True

    @property
    def registry(self) -> Registry:
        """Every installed plugin, and those that the environment and the command line name."""
        if self._registry is None:
            self._registry = Registry.installed()
            for name in filter(None, os.environ.get(PLUGINS_VARIABLE, "").split(os.pathsep)):
                with contextlib.suppress(UnderdrawError):  # listed with the others that failed, and the rest goes on
                    self._registry.load_file(name)
            for name in self.files:
                self._registry.load_file(name)
        return self._registry

    def culprit(self, error: BaseException) -> Plugin | None:
        """The plugin in whose code an exception arose, if one's."""
        return self._registry.at_fault(error) if self._registry is not None else None

    def warn_of_failures(self) -> None:
        """Report plugins that failed, before work that may miss them."""
        for failure in self.registry.failures:
            self.console.warn("underdraw", failure)
        if self.console.debug:
            for error in self.registry.errors:
                self.console.trace(error)
