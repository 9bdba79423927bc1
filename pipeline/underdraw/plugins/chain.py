"""The chain: which stages a job has, what each one's settings are, and running them with their faults named."""

import contextlib
import json
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.unused_markers import has_loads, unused_marker_lines
from underdraw.errors import CannotDo, InputError, PluginError, UnderdrawError, unwritable
from underdraw.job.file import located_in
from underdraw.job.sections import Job
from underdraw.job.settings import (
    FilePath,
    Kind,
    Many,
    did_you_mean,
    plain_settings,
    read_settings,
    spoken,
    stated_fields,
    statements,
)
from underdraw.plugins.parts import File, Result, Run, Stage
from underdraw.plugins.registry import Registry, one_line
from underdraw.words.plain_text import readable


class Listener(Protocol):
    """Who hears what stages tell: the console, or a test."""

    def summary(self, who: str, text: str) -> None:
        """What a stage did."""

    def warn(self, who: str, text: str) -> None:
        """What a person should read before going on."""

    def notice(self, who: str, text: str) -> None:
        """What happens now, at once."""

    def progress(self, who: str, share: float, text: str = "") -> None:
        """How far the work is, from 0 to 1."""


@dataclass(frozen=True)
class FileNames:
    """How files of a run or a stage are named: after a stem, with the label of each.

    exact: the name that a person asked for, where one file alone is made.
    """

    stem: str
    exact: str | None = None
    suffix: str | None = None

    @classmethod
    def of_target(cls, target: str) -> "FileNames":
        """The names that `-o TARGET` gives."""
        path = Path(target)
        return cls(path.stem, path.name, path.suffix or None)

    def of(self, suffix: str, label: str = "", *, alone: bool = True) -> str:
        """The name of one file, without folders."""
        if alone and self.exact is not None:
            return self.exact
        return f"{self.stem}{'-' if label else ''}{label}{self.suffix or suffix}"


@dataclass
class StageContext:
    """What the host gives a running stage (see `underdraw.plugins.parts.Context`)."""

    registry: Registry
    console: Listener
    stage: str
    job: Job | None = None
    names: FileNames = field(default_factory=lambda: FileNames("drawing"))

    def file_name(self, suffix: str, label: str = "", *, alone: bool = True) -> str:
        """What the host will call a file that this stage hands it, without folders."""
        return readable(self.names.of(suffix, label, alone=alone))

    def warn(self, text: str) -> None:
        """One line that a person should read before going on."""
        self.console.warn(self.stage, text)

    def notice(self, text: str) -> None:
        """One line at once, of what happens now."""
        self.console.notice(self.stage, text)

    def progress(self, share: float, text: str = "") -> None:
        """How far the work is, from 0 to 1."""
        self.console.progress(self.stage, share, text)


@dataclass(frozen=True)
class Outcome:
    """What a whole chain made: the last drawing, and every writer's files with the stage that made each."""

    drawing: Drawing
    files: tuple[tuple[str, File], ...] = field(default=())


def chain_of(job: Job, registry: Registry) -> list[Stage]:
    """The job's stages in order; where it states none, every installed stage that has a rank. Raises InputError."""
    if job.stages.chain is not None:
        stages = [registry.stages.find(name) for name in job.stages.chain]
    else:
        stages = registry.ranked_stages()
    if not stages or stages[0].kind != "source":
        sources = ", ".join(name for name, stage in registry.stages.items() if stage.kind == "source")
        first = f"{stages[0].name!r} reads one" if stages else "it is empty"
        raise InputError(
            f"a chain begins with a stage that makes a drawing, but {first}; put one of these first: {sources}"
        )
    late = [stage.name for stage in stages[1:] if stage.kind == "source"]
    if late:
        raise InputError(f"stage {late[0]!r} starts a chain and cannot stand within one")
    return stages


def settings_for(stage: Stage, job: Job | None, given: Mapping[str, object] | None = None) -> Any:
    """A stage's settings: what was given, else the job's own table for it, else the job key it claims, else default.

    Paths that come from a job are taken from its folder, and must be there. Raises InputError naming the setting.
    """
    written: dict[str, object] = {}
    asked = {spoken(name): value for name, value in (given or {}).items()}
    if job is not None:
        own = {spoken(key): held for key, held in job.stage_settings(stage.name).items()}
        for name, statement in statements(stage.settings).items():
            value = own.get(name, job.at(statement.job_key) if statement.job_key else None)
            if value is not None and job.folder is not None:
                keys = ("stages", stage.name, name) if name in own else tuple((statement.job_key or "").split("."))
                if name not in asked:
                    _require_there(statement.kind, value, job.folder, keys)
                value = _beside_job(statement.kind, value, job.folder)
            if value is not None:
                written[name] = value
    written.update(asked)
    try:
        return read_settings(stage.settings, written, f"{stage.name}: ")
    except (TypeError, ValueError) as error:  # not what was written: that is an InputError
        raise PluginError(
            f"stage {stage.name!r}: a default of its settings cannot be read: {one_line(error)}"
        ) from error


def files_read(stage: Stage, settings: Any) -> list[Path]:
    """The files that a stage's settings name."""
    named: list[object] = []
    for item in stated_fields(stage.settings).values():
        kind, value = item.metadata[""].kind, getattr(settings, item.name)
        if isinstance(kind, FilePath):
            named.append(value)
        elif isinstance(kind, Many) and isinstance(kind.kind, FilePath):
            named += value or ()
    return [Path(str(path)) for path in named if path and path != "-"]


def files_of_job(job: Job, registry: Registry) -> list[Path]:
    """Every file that a run of a job reads: the job, its plugins, and what the settings of its stages name."""
    folder = job.folder or Path()
    read = [job.file] if job.file is not None else []
    read += [folder / plugin for plugin in job.stages.plugins]
    with located_in(job):
        for stage in chain_of(job, registry):
            read += files_read(stage, settings_for(stage, job))
    return read


def _require_there(kind: Kind, value: object, folder: Path, keys: tuple[str, ...]) -> None:
    """Raise InputError for a file that a job names and that is not there, with the nearest one that is."""
    if isinstance(kind, Many) and isinstance(value, (list, tuple)):
        for item in value:
            _require_there(kind.kind, item, folder, keys)
    if not isinstance(kind, FilePath) or not isinstance(value, str) or value == "-":
        return
    due = os.path.abspath(folder / value)
    try:
        os.fsencode(due)
    except UnicodeEncodeError as error:
        raise InputError(f"[{keys[0]}] {' '.join(keys[1:])}: {unwritable(error)}", keys=keys) from None
    if os.path.exists(due):
        return
    beside: list[str] = []
    with contextlib.suppress(OSError):
        beside = [os.path.join(os.path.dirname(value), name) for name in sorted(os.listdir(os.path.dirname(due)))]
    raise InputError(
        f"[{keys[0]}] {' '.join(keys[1:])}: there is no file {did_you_mean(value, beside)}, looked for at {due}; "
        "use a path that starts at this job's folder",
        keys=keys,
    )


def _beside_job(kind: Kind, value: object, folder: Path) -> object:
    if isinstance(kind, FilePath) and isinstance(value, str):
        return str(folder / value)
    if isinstance(kind, Many) and isinstance(value, (list, tuple)):
        return [_beside_job(kind.kind, item, folder) for item in value]
    return value


def run_stage(stage: Stage, drawing: Drawing | None, settings: Any, context: StageContext) -> Result:
    """Run one stage; the drawing in the result carries its record (a writer's is the one it was given).

    Whatever a plugin raises that is no error for users becomes a PluginError with stage, plugin and distribution.
    """
    owner = context.registry.stages.owner(stage.name)
    who = f"stage {stage.name!r} (plugin {owner.name}, {owner.distribution})"
    try:
        with contextlib.redirect_stdout(sys.stderr):  # what a plugin prints must not end up in the drawing
            result = _function_of(stage, who)(drawing, settings, context)  # type: ignore[arg-type]
        if not isinstance(result, Result) or not isinstance(result.drawing, Drawing):
            raise PluginError(f"{who} gave back {type(result).__name__}, not a Result with a drawing")
        for file in result.files:
            if not isinstance(file, File) or not isinstance(file.data, bytes):
                raise PluginError(f"{who} gave back a file that is not a File of bytes")
        figures = json.loads(json.dumps(result.figures, allow_nan=False))
    except UnderdrawError:
        raise
    except UnicodeEncodeError as error:
        raise InputError(unwritable(error)) from error
    except MemoryError as error:
        raise CannotDo(f"{who} needs more memory than there is; simplify or split the artwork") from error
    except (Exception, SystemExit) as error:
        culprit = context.registry.at_fault(error)
        if culprit is not None and culprit is not owner:
            who = f"plugin {culprit}, called by stage {stage.name!r},"
        raise PluginError(f"{who} raised {one_line(error)}; --debug shows the rest") from error
    made = result.drawing
    if stage.kind == "writer" and drawing is not None:  # of what it was given, nothing may change
        made = drawing.replace(programs=made.programs, reading=made.reading, palette=made.palette)
    if stage.kind != "writer" and drawing is not None and has_loads(made) and not has_loads(drawing):
        _warn_of_unused_markers(made, context)  # once a chain, and whichever stage makes the loads
    recorded = made.recorded(stage.name, plain_settings(settings), figures)
    return Result(recorded, figures, result.summary, result.files, result.listing)


def _warn_of_unused_markers(drawing: Drawing, context: StageContext) -> None:
    for line in unused_marker_lines(drawing):
        context.warn(line)


def warn_where_no_loads(drawing: Drawing, context: StageContext) -> None:
    """Warn of markers that draw nothing where strokes go to a writer, or to the end, without ever being given loads."""
    if len(drawing) and drawing.is_strokes and not has_loads(drawing):
        _warn_of_unused_markers(drawing, context)


def _function_of(stage: Stage, who: str) -> Run:
    try:
        return stage.function()
    except PluginError as error:
        raise PluginError(f"{who}: {error.text}") from error


def run_chain(job: Job, registry: Registry, console: Listener, names: FileNames | None = None) -> Outcome:
    """Run a job's whole chain in this process. Nothing is written: the caller puts the files in place, as `names` has
    them."""
    drawing: Drawing | None = None
    files: list[tuple[str, File]] = []
    stages = chain_of(job, registry)
    with located_in(job):
        prepared = [(stage, settings_for(stage, job)) for stage in stages]  # every setting is read before work begins
    for stage, settings in prepared:
        context = StageContext(registry, console, stage.name, job if stage.kind == "source" else None)
        context.names = names or FileNames(job.name)
        with located_in(job):
            result = run_stage(stage, drawing, settings, context)
        console.summary(stage.name, result.summary)
        drawing = result.drawing
        files += [(stage.name, file) for file in result.files]
    assert drawing is not None  # a chain begins with a source
    warn_where_no_loads(drawing, StageContext(registry, console, "run"))
    return Outcome(drawing, tuple(files))
