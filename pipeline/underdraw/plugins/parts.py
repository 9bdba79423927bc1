"""What plugins bring, as plain declared objects: stages, holders, inks, canvas sizes (and see `controller`)."""

import importlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, Protocol

from underdraw.errors import PluginError

if TYPE_CHECKING:
    from underdraw.drawing.drawing import Drawing
    from underdraw.job.sections import Job
    from underdraw.plugins.catalogue import Parts
    from underdraw.plugins.controller import Controller


@dataclass(frozen=True)
class NoSettings:
    """The settings of a stage that has none."""


@dataclass(frozen=True)
class File:
    """What a writer made: the host puts it in place, whole or not at all.

    `label` distinguishes several files of one stage (`flat`, a marker's name); `suffix` has its dot (`.nc`).
    """

    suffix: str  # such as ".nc"
    data: bytes
    label: str = ""  # put before the suffix where a stage makes several


@dataclass(frozen=True)
class Result:
    """What a stage hands back.

    `figures` go into the drawing's history (JSON; lengths end in `_mm`, times in `_s`); `summary` is what a person
    reads on standard error, at most a few lines; `files` are a writer's. A writer hands on the drawing it was given,
    with what it may add as a fact: programs that it wrote, how the strokes will read, a palette. Its figures are a
    record too. A `listing` is shown on standard output instead of the drawing (`--layers`).
    """

    drawing: "Drawing"
    figures: dict[str, Any] = field(default_factory=dict)  # for the history
    summary: str = ""  # for people
    files: tuple[File, ...] = ()  # of a writer
    listing: str = ""  # shown instead of the drawing


class Installed(Protocol):
    """Every installed part, by kind and name; `controller`, `holder` and `ink` find one, or for None the default."""

    stages: "Parts[Stage]"
    controllers: "Parts[Controller]"
    holders: "Parts[Holder]"
    inks: "Parts[Ink]"
    canvas_sizes: "Parts[CanvasSize]"

    def controller(self, name: str | None) -> "Controller":
        """The controller of that name, or the default one. Raises InputError."""

    def holder(self, name: str | None) -> "Holder":
        """The holder of that name, or the default one. Raises InputError."""

    def ink(self, name: str | None) -> "Ink":
        """The ink of that name, or the default one. Raises InputError."""


class Context(Protocol):
    """What the host gives a stage beside its drawing and settings."""

    registry: "Installed"  # every installed part: .stages, .controllers, .holders, .inks, .canvas_sizes
    job: "Job | None"  # the job a source stage was given; other stages find theirs in the drawing

    def file_name(self, suffix: str, label: str = "", *, alone: bool = True) -> str:
        """What the host will call a file that this stage hands it, without folders; `alone`: it makes no other."""

    def warn(self, text: str) -> None:
        """One line that a person should read before going on; in `run` it stands at the end, where it is seen."""

    def notice(self, text: str) -> None:
        """One line on standard error at once, of what happens now: an interrupt, a long wait."""

    def progress(self, share: float, text: str = "") -> None:
        """How far the work is, from 0 to 1; shown on a terminal only. Cheap enough to call often."""


Run = Callable[["Drawing", Any, Context], Result]


@dataclass(frozen=True)
class Stage:
    """One step of the chain: `kind` is whether it starts one, goes between, or writes a file and hands on.

    `run` is a function, or `"package.module:function"` to be imported when first used: what is declared must be
    cheap to import, so that the command line starts at once. It is called as `run(drawing, settings, context)`,
    with None for the drawing of a source. `rank` places it in a chain that the job does not state (10, 20, …);
    None leaves it out unless named.
    """

    name: str  # the command, and the key of its settings in a job
    help: str  # one line
    run: Run | str  # the function, or "package.module:function"
    settings: type = NoSettings  # a frozen dataclass of `setting(…)` fields
    kind: Literal["source", "step", "writer"] = "step"
    rank: float | None = None  # its place in a chain that no job states
    gives: tuple[str, ...] = ()  # facts of a drawing that it sets, such as "lying", for messages that name it

    def function(self) -> Run:
        """The stage's function, imported now if it was only named. Raises PluginError where it is not there."""
        if callable(self.run):
            return self.run
        module, _, name = self.run.partition(":")
        try:
            return getattr(importlib.import_module(module), name)  # type: ignore[no-any-return]
        except (ImportError, AttributeError) as error:
            raise PluginError(f"cannot load {self.run!r}: {error}") from error


@dataclass(frozen=True)
class Ink:
    """One kind of ink and its common practice; speeds in mm/s."""

    name: str  # in a job: ink = "…"
    help: str  # one line
    speed: float  # for a solid line on primed canvas
    wants_spring: bool  # True: a sprung holder; False: play in the nib makes up for a rigid one
    seal_before_resin: bool  # True: its lines run under resin unless sealed first
    fades_soon: bool  # True: be ready to pause and swap
    nib_gives: float = 0.0  # mm that its nib gives when pressed: how far a rigid holder may press it in
    source: str = "common practice, no source"  # of the figures here
    default: bool = False  # for a marker whose job names none


@dataclass(frozen=True)
class Holder:
    """What carries the marker; a job's own values go before these. Lengths in mm, speeds in mm/s, times in s.

    `offset`: tip minus spindle axis, in machine axes (x right, y away from the operator).
    """

    name: str  # in a job: [holder] use = "…"
    help: str  # one line
    sprung: bool  # whether a spring lets the tip give; False: it goes where Z goes
    offset: tuple[float, float] = (0.0, 0.0)  # tip minus spindle axis: right, away from the operator
    lift: float = 5.0  # of the tip above the canvas in travel
    press: float = 0.0  # how far the spring is pressed in while drawing
    clearance: float = 1.0  # above the canvas, where the slow last approach begins
    touch_speed: float = 10.0  # of that approach
    settle: float = 0.0  # wait with the tip down before a stroke
    default: bool = False  # for a job that names none


@dataclass(frozen=True)
class CanvasSize:
    """A size that shops sell by name, (width, height) in mm, lying the tall way."""

    name: str  # what `canvas --face` is given
    size: tuple[float, float]  # (width, height) in mm
    source: str  # of the size
