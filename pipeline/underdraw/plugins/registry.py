"""Every part that the installed plugins bring, by kind; what each plugin brings, and what went wrong with it."""

import contextlib
import importlib.util
import os
import re
import sys
from collections.abc import Callable, Iterable
from types import ModuleType
from typing import TYPE_CHECKING, Any

import pluggy

from underdraw.errors import InputError, PluginError
from underdraw.job.settings import did_you_mean, statements
from underdraw.plugins import hookspecs, reserved
from underdraw.plugins.catalogue import Parts, Plugin, one_line
from underdraw.plugins.entry_points import entry_points
from underdraw.plugins.parts import CanvasSize, Holder, Ink, Stage

if TYPE_CHECKING:
    from underdraw.plugins.controller import Controller

__all__ = ["ENTRY_POINT_GROUP", "Parts", "Plugin", "Registry", "one_line"]
ENTRY_POINT_GROUP = hookspecs.PROJECT
WORD = re.compile(r"[a-z0-9][a-z0-9-]*")  # what can be typed as a command and stand as a key of TOML without quotes


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
        self._kinds: dict[str, tuple[Parts[Any], str]] = {
            "underdraw_stages": (self.stages, "Stage"),
            "underdraw_controllers": (self.controllers, "Controller"),
            "underdraw_holders": (self.holders, "Holder"),
            "underdraw_inks": (self.inks, "Ink"),
            "underdraw_canvas_sizes": (self.canvas_sizes, "CanvasSize"),
        }
        self._files: set[str] = set()

    @classmethod
    def installed(cls) -> "Registry":
        """With every installed plugin; those that fail stand in `failures`."""
        registry = cls()
        registry.load_installed()
        return registry

    @property
    def parts_by_key(self) -> dict[str, Parts[Any]]:
        """Which parts the text at a key of a job names."""
        return {"machine.controller": self.controllers, "holder.use": self.holders, "marker.ink": self.inks}

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
        return [f"plugin {plugin}: {text}" for plugin in self.plugins for text in plugin.faults]

    @property
    def errors(self) -> list[BaseException]:
        """What was raised behind those lines, for --debug."""
        return [error for plugin in self.plugins for error in plugin.errors]

    def load_installed(self, without: Iterable[str] = ()) -> None:
        """Load every plugin that a distribution registers, but those named in `without`."""
        skipped = set(without)
        for point in entry_points(ENTRY_POINT_GROUP):
            if point.name not in skipped:
                self._add(Plugin(point.name, point.distribution, point.version, point.module), point.load)

    def load_file(self, path: str | os.PathLike[str]) -> None:
        """Load one plugin file that a job or the command line names.

        Raises InputError if there is no such file, and PluginError if it cannot be loaded; `failures` lists it too.
        """
        place = os.path.realpath(path)
        if place in self._files:
            return
        self._files.add(place)
        module = _unused_module_name(place)
        plugin = Plugin(os.path.basename(place), str(path), module=module)
        if not os.path.isfile(place):
            plugin.failed("there is no such file")
            self.plugins.append(plugin)
            raise InputError(f"plugin {path}: there is no such file")
        self._add(plugin, lambda: _module_from(place, module))
        if plugin.failures:
            raise PluginError(f"plugin {path}: {plugin.failures[0]}") from next(iter(plugin.errors), None)

    def ranked_stages(self) -> list[Stage]:
        """The stages of a chain that no job states, in order."""
        ranked = [(stage.rank, stage.name, stage) for stage in self.stages.values() if stage.rank is not None]
        return [stage for _, _, stage in sorted(ranked, key=lambda item: item[:2])]

    def mention(self, files: Iterable[str]) -> None:
        """Note the plugin files that a drawing's job names.

        They are not loaded: a drawing is data, and reading data must not run code. But whoever asks for a part that
        is not here gets the names of those that nobody loaded.
        """
        loaded = {os.path.basename(path) for path in self._files}
        unloaded = tuple(file for file in files if os.path.basename(file) not in loaded)
        for parts, _ in self._kinds.values():
            parts.unloaded_files = unloaded

    def at_fault(self, error: BaseException) -> Plugin | None:
        """The plugin in whose code an exception arose: the innermost frame that belongs to one; None if none does."""
        trace = error.__traceback__
        modules: list[str] = []
        while trace is not None:
            modules.append(str(trace.tb_frame.f_globals.get("__name__", "")))
            trace = trace.tb_next
        return next(filter(None, map(self._plugin_of, reversed(modules))), None)

    def _plugin_of(self, module: str) -> Plugin | None:
        """The plugin that a module is part of: it or a package of it is registered, or its package is one plugin's."""
        top = module.partition(".")[0]
        near = [plugin for plugin in self.plugins if plugin.module.partition(".")[0] == top]
        inside = [plugin for plugin in near if f"{module}.".startswith(f"{plugin.module}.")]
        return inside[0] if inside else near[0] if len(near) == 1 else None

    def _add(self, plugin: Plugin, load: Callable[[], object]) -> None:
        """Load and register one plugin and take what it brings; whatever it raises is its own failure."""
        self.plugins.append(plugin)
        try:
            with contextlib.redirect_stdout(sys.stderr):  # standard output is for drawings
                module = load()
            wanted = getattr(module, "underdraw_hooks_version", hookspecs.HOOKS_VERSION)
            if wanted != hookspecs.HOOKS_VERSION:
                raise PluginError(
                    f"is written for version {wanted} of the hooks, this underdraw has {hookspecs.HOOKS_VERSION}; "
                    "install the release of one that fits the other"
                )
            if self._manager.is_registered(module):
                raise PluginError("is registered twice; one entry point is enough")
            self._manager.register(module, name=plugin.name if not self._manager.has_plugin(plugin.name) else None)
        except (Exception, SystemExit) as error:
            plugin.failed(f"failed to load: {one_line(error)}", error)
            return
        callers = self._manager.get_hookcallers(module) or []
        if not callers:
            plugin.failed("answers no hook; mark its functions with @underdraw.hookimpl")
        for caller in callers:
            if caller.name in self._kinds:
                answer = next(answer for answer in caller.get_hookimpls() if answer.plugin is module)
                self._take(plugin, caller.name, answer.function)
            else:
                plugin.failed(f"answers an unknown hook {did_you_mean(caller.name, list(self._kinds))}")

    def _take(self, plugin: Plugin, hook: str, function: Callable[..., Any]) -> None:
        """Ask one plugin for its parts of one kind; those that cannot be taken are its failures."""
        parts, kind = self._kinds[hook]
        try:
            with contextlib.redirect_stdout(sys.stderr):
                brought = list(function())
        except (Exception, SystemExit) as error:
            plugin.failed(f"{hook} raised {one_line(error)}", error)
            return
        for part in brought:
            try:
                why_not = _refusal(part, kind)
            except Exception as error:
                plugin.failed(
                    f"{hook} brought {part!r:.60}, whose declaration cannot be read: {one_line(error)}", error
                )
                continue
            if why_not is not None:
                plugin.failed(f"{hook} brought {why_not}")
            else:
                parts.add(part.name, part, plugin)


def _refusal(part: object, kind: str) -> str | None:
    """Why a part cannot be taken, or None where it can."""
    # By name, since a class that nobody brings is not imported for this: the command line starts at once.
    if kind not in {base.__name__ for base in type(part).__mro__}:
        return f"{part!r:.60}, which is no {kind}"
    name = getattr(part, "name", None)
    if not isinstance(name, str) or not name.strip():
        return f"a {kind} named {name!r}; use a word"
    if not isinstance(part, Stage):
        return None
    if not WORD.fullmatch(part.name):
        return f"a stage named {part.name!r}; small letters, digits and hyphens make a name that can be typed"
    if part.name in reserved.COMMANDS or part.name in reserved.JOB_KEYS:
        return f"a stage named {part.name!r}, which is a word of the host; use another name"
    for name, statement in statements(part.settings).items():
        if name in reserved.OPTIONS or statement.short in reserved.LETTERS:
            return f"stage {part.name!r} with a setting {name!r}, whose option is the host's; use another name"
    return None


def _unused_module_name(path: str) -> str:
    """A module name for a plugin file that no other file has."""
    stem = re.sub(r"\W", "_", os.path.splitext(os.path.basename(path))[0])
    name, count = f"underdraw_plugin_{stem}", 1
    while name in sys.modules:
        count += 1
        name = f"underdraw_plugin_{stem}_{count}"
    return name


def _module_from(path: str, name: str) -> ModuleType:
    """Import one file under a name of its own."""
    specification = importlib.util.spec_from_file_location(name, path)
    if specification is None or specification.loader is None:
        raise ImportError("is no Python file")
    module = importlib.util.module_from_spec(specification)
    sys.modules[name] = module
    try:
        specification.loader.exec_module(module)
    except BaseException:
        del sys.modules[name]
        raise
    return module
