"""Which plugins are installed, what each brings, and what failed to load."""

import importlib
import importlib.metadata
import importlib.util
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import pluggy

from underdraw import hookspecs
from underdraw.errors import InputError, PluginError
from underdraw.parts import CanvasSize, Holder, Ink, Stage
from underdraw.settings import did_you_mean

if TYPE_CHECKING:
    from underdraw.controller import Controller

T = TypeVar("T")
ENTRY_POINT_GROUP = hookspecs.PROJECT


@dataclass
class Plugin:
    """One plugin: where it came from, the names it brings, and what went wrong with it."""

    name: str
    distribution: str  # or the file a job named
    version: str = ""
    brings: dict[str, list[str]] = field(default_factory=dict)  # kind of part -> names
    failures: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Claim:
    """Two plugins that bring one name: neither is taken, and who asks for it is told both."""

    owners: tuple[str, ...]


class Parts(Mapping[str, T], Generic[T]):
    """Parts of one kind by name; asking for one that is not there says which is near."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self._held: dict[str, T] = {}
        self._owner: dict[str, Plugin] = {}
        self._claims: dict[str, Claim] = {}

    def add(self, name: str, part: T, owner: Plugin) -> None:
        """Take a part; a name that another plugin brings already is withdrawn for both."""
        owner.brings.setdefault(self.kind, []).append(name)
        if name in self._claims:
            self._claims[name] = Claim((*self._claims[name].owners, owner.name))
        elif name in self._held:
            first = self._owner[name]
            del self._held[name], self._owner[name]
            self._claims[name] = Claim((first.name, owner.name))
            for plugin in (first, owner):
                plugin.failures.append(f"{self.kind} {name!r} is brought by both {first.name} and {owner.name}")
        else:
            self._held[name] = part
            self._owner[name] = owner

    def owner(self, name: str) -> Plugin:
        """The plugin that brings this part."""
        return self._owner[name]

    def find(self, name: str) -> T:
        """The part of that name. Raises InputError that names the nearest one, or the plugins that both claim it."""
        if name in self._held:
            return self._held[name]
        if name in self._claims:
            owners = " and ".join(self._claims[name].owners)
            raise InputError(f"{self.kind} {name!r} is brought by both {owners}; uninstall one of them")
        known = ", ".join(self._held) or "none is installed"
        raise InputError(f"there is no {self.kind} {did_you_mean(name, self)}; installed: {known}")

    def default(self, name: str | None = None) -> T:
        """The part of that name, or for None the one that says it is the default."""
        if name is not None:
            return self.find(name)
        chosen = [part for part in self._held.values() if getattr(part, "default", False)]
        if not chosen:
            raise InputError(f"no {self.kind} was named and no plugin brings a default one")
        return chosen[0]

    def __getitem__(self, name: str) -> T:
        return self._held[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._held)

    def __len__(self) -> int:
        return len(self._held)


class Registry:
    """Every part that the installed plugins bring, by kind."""

    def __init__(self) -> None:
        self.plugins: list[Plugin] = []
        self.stages: Parts[Stage] = Parts("stage")
        self.controllers: Parts[Controller] = Parts("controller")
        self.holders: Parts[Holder] = Parts("holder")
        self.inks: Parts[Ink] = Parts("ink")
        self.canvas_sizes: Parts[CanvasSize] = Parts("canvas size")
        self._manager = pluggy.PluginManager(hookspecs.PROJECT)
        self._manager.add_hookspecs(hookspecs)
        self._kinds: dict[str, Parts[Any]] = {
            "underdraw_stages": self.stages,
            "underdraw_controllers": self.controllers,
            "underdraw_holders": self.holders,
            "underdraw_inks": self.inks,
            "underdraw_canvas_sizes": self.canvas_sizes,
        }
        self._files: set[Path] = set()

    def controller(self, name: str | None) -> "Controller":
        """The controller of that name, or the default one."""
        return self.controllers.default(name)

    def holder(self, name: str | None) -> Holder:
        """The holder of that name, or the default one."""
        return self.holders.default(name)

    def ink(self, name: str | None) -> Ink:
        """The ink of that name, or the default one."""
        return self.inks.default(name)

    @property
    def failures(self) -> list[str]:
        """One line for each thing that went wrong, with its plugin and distribution."""
        return [
            f"plugin {plugin.name} ({plugin.distribution}): {text}"
            for plugin in self.plugins
            for text in plugin.failures
        ]

    def load_installed(self, without: Iterable[str] = ()) -> None:
        """Load every plugin that a distribution registers, but those named in `without`."""
        skipped = set(without)
        points = importlib.metadata.entry_points(group=ENTRY_POINT_GROUP)
        seen: set[tuple[str, str]] = set()
        for point in points:
            if point.name in skipped or (point.name, point.value) in seen:
                continue
            seen.add((point.name, point.value))
            distribution = point.dist.name if point.dist else "?"
            version = point.dist.version if point.dist else ""
            self._add(Plugin(point.name, distribution, version), point.load)

    def load_file(self, path: Path) -> None:
        """Load one plugin file that a job or the command line names. Raises PluginError if it cannot be loaded."""
        path = path.resolve()
        if path in self._files:
            return
        self._files.add(path)
        plugin = Plugin(path.name, str(path))
        self._add(plugin, lambda: _module_from(path))
        if plugin.failures:
            raise PluginError(f"plugin {path}: {plugin.failures[0]}")

    def _add(self, plugin: Plugin, load: Callable[[], object]) -> None:
        """Load and register one plugin and take what it brings; whatever it raises is its own failure."""
        self.plugins.append(plugin)
        try:
            module = load()
            wanted = getattr(module, "underdraw_hooks_version", hookspecs.HOOKS_VERSION)
            if wanted != hookspecs.HOOKS_VERSION:
                raise PluginError(
                    f"is written for version {wanted} of the hooks, this underdraw has {hookspecs.HOOKS_VERSION}; "
                    "install the release of one that fits the other"
                )
            self._manager.register(module, name=plugin.name if plugin.name not in _names(self._manager) else None)
        except Exception as error:
            plugin.failures.append(f"failed to load: {told(error)}")
            return
        for hook, parts in self._kinds.items():
            caller = self._manager.subset_hook_caller(
                hook, [other for other in self._manager.get_plugins() if other is not module]
            )
            self._take(plugin, parts, caller)

    def _take(self, plugin: Plugin, parts: Parts[Any], caller: pluggy.HookCaller) -> None:
        """Ask one plugin for its parts of one kind."""
        try:
            found = [part for brought in caller() for part in brought]
            for part in found:
                parts.add(part.name, part, plugin)
        except Exception as error:
            plugin.failures.append(f"{caller.name} raised {told(error)}")


def _names(manager: pluggy.PluginManager) -> set[str]:
    return {name for name, _ in manager.list_name_plugin()}


def _module_from(path: Path) -> ModuleType:
    """Import one file under a name of its own."""
    if not path.is_file():
        raise FileNotFoundError("there is no such file")
    name = f"underdraw_plugin_{path.stem}"
    specification = importlib.util.spec_from_file_location(name, path)
    if specification is None or specification.loader is None:
        raise ImportError("is no Python file")
    module = importlib.util.module_from_spec(specification)
    sys.modules[name] = module
    specification.loader.exec_module(module)
    return module


def told(error: BaseException) -> str:
    """An exception in one line: its kind and its text."""
    text = " ".join(str(error).split())
    return f"{type(error).__name__}: {text}" if text else type(error).__name__
