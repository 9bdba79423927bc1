"""`underdraw canvas`: every size of a panel, before anything is cut."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import click

from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import CanvasSection, HolderSection, MachineSection
from underdraw.job.settings import Choice, FilePath, Length, Many, Size, Text, read_settings, setting, statements
from underdraw.words.lengths import LENGTH_UNITS, format_length

if TYPE_CHECKING:
    from underdraw.cli.app import App
    from underdraw.job.sections import Job
    from underdraw.panel import Panel
    from underdraw.panel.report import Report


@dataclass(frozen=True)
class CanvasOptions:
    """What `canvas` asks beside a job's own settings."""

    job: str | None = setting(FilePath(), None, "job file to take sizes from; options go before it")
    face: str | None = setting(Text(), None, "front of the panel, such as 16 x 20 in, or a size by name: 20F, 20F wide")
    units: str | None = setting(Choice("mm", "cm", "in"), None, "unit of the table; if omitted: the one of the face")
    bar: tuple[float, float] | None = setting(
        Size(), None, "bar stock for the frame, thickness x height: gives a cut list"
    )
    sheet: float = setting(Length(), "0 mm", "thickness of a top sheet on the bars, under the canvas")
    corners: str = setting(Choice("butt", "mitred"), "butt", "how the frame's bars meet")
    bar_length: float | None = setting(Length(above=0.0), None, "length that the bar stock comes in")
    kerf: float = setting(Length(), "1/8 in", "what the saw takes with each cut")
    resin: float | None = setting(Length(above=0.0), None, "thickness of a coat: gives its volume")
    where: tuple[tuple[float, float], ...] = setting(
        Many(Size(above=None)), (), "a point of the board, right x down from its top left: where it ends on the panel"
    )


SECTIONS: tuple[tuple[type, tuple[str, ...]], ...] = (
    (CanvasSection, ("depth", "bleed", "staple", "strip", "mount", "stretch")),
    (MachineSection, ("bed", "sections")),
    (HolderSection, ("use", "offset")),
)


def stated_options(function: Callable[..., None]) -> Callable[..., None]:
    """An option for each setting: this command's own, and those of the job that bear on sizes."""
    options = [(name, statement) for name, statement in statements(CanvasOptions).items()]
    options += [(name, statements(section)[name]) for section, names in SECTIONS for name in names]
    for name, statement in reversed(options):
        shown = f"{statement.help} [{statement.default}]." if statement.default else f"{statement.help}."
        spoken = "holder" if name == "use" else name
        option = click.option(
            f"--{spoken}",
            name.replace("-", "_"),
            metavar=statement.kind.metavar,
            multiple=isinstance(statement.kind, Many),
            help=shown[0].upper() + shown[1:],
        )
        function = option(function)
    return function


@click.command()
@stated_options
@click.option("--json", "as_json", is_flag=True, help="Print the figures as JSON.")
@click.pass_obj
def command(app: object, /, as_json: bool, **values: Any) -> None:
    """Work out canvas, board, frame, bed and resin for a panel, before anything is cut."""
    import json

    from underdraw.cli.app import App
    from underdraw.job.file import located_in
    from underdraw.panel.report import figures, table

    assert isinstance(app, App)
    app.warn_of_failures()
    given = {name.replace("_", "-"): value for name, value in values.items() if value not in (None, ())}
    report, job = report_on(app, given)
    print(json.dumps(figures(report), indent=2) if as_json else table(report))
    if report.fits is False and (report.panel.sections is None or report.sections is None):
        with located_in(None if "bed" in given else job):
            reasons = "; ".join(figures(report)["reasons"])
            raise CannotDo(f"the panel does not fit the bed: {reasons}", keys=("machine", "bed"))


def report_on(app: "App", given: dict[str, Any]) -> "tuple[Report, Job]":
    """The report for what was given, and the job it was made of. Raises InputError or CannotDo."""
    from underdraw.cli.load_job import warn_of_overrides
    from underdraw.panel import holder_offset
    from underdraw.panel.materials import cut_list, resin
    from underdraw.panel.report import Report
    from underdraw.words.units import written_unit

    own = {name: value for name, value in given.items() if name in statements(CanvasOptions)}
    asked = read_settings(CanvasOptions, own, "canvas: --")
    job = job_for(app, asked.job, given)
    if asked.job is not None and "offset" not in given:
        warn_of_overrides(job, app.registry, app.console)
    offset = holder_offset(job, app.registry) if job.machine.bed else (0.0, 0.0)
    name = ""
    if asked.face is not None:
        face, name = face_for(app, asked.face)
        try:
            job = job.with_canvas(face=face)
        except InputError as error:
            raise InputError(f"canvas: --{error.text}") from None
    elif job.canvas.face is None:
        job, name = largest_on_bed(job, offset), "the largest on this bed"
    panel = panel_of(job)
    for x, y in asked.where:
        if not (0 <= x <= panel.board[0] and 0 <= y <= panel.board[1]):
            at, board = (" x ".join(format_length(mm, panel.unit) for mm in each) for each in ((x, y), panel.board))
            raise InputError(f"canvas: --where: {at} is not on the board of {board}, right and down from its top left")
    cuts = None
    if asked.bar is not None:
        corners: Any = asked.corners
        cuts = cut_list(panel, asked.bar, asked.sheet, corners, asked.bar_length, asked.kerf)
    coat = resin(panel, asked.resin) if asked.resin is not None else None
    unit = asked.units or written_unit(job.data)
    return Report(panel, job.machine.bed, offset, unit, name, cuts, coat, asked.where), job


def job_for(app: "App", path: str | None, given: dict[str, Any]) -> "Job":
    """The job named, or an empty one, with the options that a job knows written over it."""
    from pathlib import Path

    from underdraw.cli.load_job import load_job
    from underdraw.job.sections import Job

    job = load_job(Path(path), app.registry) if path is not None else Job(name="canvas")
    for section, names in SECTIONS:
        typed = {name: given[name] for name in names if name in given}
        attribute = section.__name__.removesuffix("Section").lower()
        table = {**job.data.get(attribute, {}), **typed}
        if typed:
            read: Any = read_settings(section, table, "canvas: --")
            job = replace(job, data={**job.data, attribute: table}, **{attribute: read})
    return job


def panel_of(job: "Job") -> "Panel":
    """The job's panel; raises InputError that names the option, where none can be made."""
    from underdraw.panel import ImpossiblePanel, Panel

    try:
        return Panel.of(job)
    except ImpossiblePanel as error:
        raise InputError(f"canvas: --{error.key}: {error.why}") from None


def largest_on_bed(job: "Job", offset: tuple[float, float]) -> "Job":
    """A job without a face, with the largest one that its bed takes. Raises InputError where that is none."""
    from underdraw.panel import largest_faces
    from underdraw.words.lengths import format_exactly
    from underdraw.words.units import unit_of

    bed = job.machine.bed
    if bed is None:
        raise InputError('canvas: --face is not set; use --face "16 x 20 in", or a size by name such as 20F')
    nominal = panel_of(job.with_canvas(face=job.at("machine.bed")))
    w, h = largest_faces(nominal, bed, offset)[0]
    if min(w, h) <= 0:
        raise InputError("canvas: --bed: no face is left beside these sides and strips; use a larger bed")
    return job.with_canvas(face=" x ".join(format_exactly(side, unit_of(job)) for side in (w, h)))


def face_for(app: "App", text: str) -> tuple[str, str]:
    """A face as a job writes it, and the name it was asked for by: `20F` stands tall, `20F wide` lies.

    Raises InputError for what is neither a size nor the name of one.
    """
    words = text.split()
    wide = len(words) == 2 and words[1].lower() in ("wide", "tall")
    if len(words) == 1 or wide:
        known = {name.lower(): size for name, size in app.registry.canvas_sizes.items()}
        found = known.get(words[0].lower())
        if found is not None:
            w, h = sorted(found.size, reverse=words[-1].lower() == "wide")
            return f"{w:g} mm x {h:g} mm", f"{found.name}, {found.source}"
        unit = words[0].lstrip("0123456789./")
        if words[0] != unit and unit.isalpha() and unit.lower() not in LENGTH_UNITS:
            app.registry.canvas_sizes.find(words[0])
    return text, ""
