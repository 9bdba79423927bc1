"""`underdraw check`: reads a program as a machine would, on its own, and reports what it will draw."""

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from underdraw.cli.app import App
    from underdraw.drawing.drawing import Drawing
    from underdraw.drawing.facts import WrittenProgram
    from underdraw.program import Report
    from underdraw.program.expected import Expected
    from underdraw.program.expected.drawn_range import Runs


@click.command()
@click.argument("program", metavar="PROGRAM", type=click.Path())
@click.option("--job", "job_path", metavar="JOB", type=click.Path(), help="Job that gives bed, reach, image and inks.")
@click.option("--against", metavar="DRAWING", type=click.Path(), help="Drawing to compare with; it carries its job.")
@click.option(
    "--controller", "dialect", metavar="NAME", help="Whose own words it may hold [the program's, else the job's]."
)
@click.option("--holder", metavar="NAME", help="Holder whose heights it should have [the program's, else the job's].")
@click.option(
    "--from",
    "first",
    type=click.IntRange(min=1),
    metavar="STROKE",
    help="First stroke it draws [its header's, else 1].",
)
@click.option(
    "--to",
    "last",
    type=click.IntRange(min=1),
    metavar="STROKE",
    help="Last stroke it draws [its header's, else all].",
)
@click.option("--tolerance", metavar="LENGTH", help="How far it may stray [the program's, else 0.02 mm].")
@click.option("--at", metavar="TIME", help="Name the stroke being drawn at this time from the start, such as 14:30.")
@click.option("--json", "as_json", is_flag=True, help="Print figures as JSON.")
@click.pass_context
def command(
    context: click.Context,
    program: str,
    job_path: str | None,
    against: str | None,
    dialect: str | None,
    holder: str | None,
    first: int | None,
    last: int | None,
    tolerance: str | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Read a program as a machine would and say what it will draw, and what is wrong with it.

    PROGRAM is a file, or - for standard input. Exit 1 if there is a problem.
    """
    import json
    import sys
    from dataclasses import replace

    from underdraw.cli.app import App
    from underdraw.errors import InputError
    from underdraw.program.expected.program_notes import as_noted, made_of_another, require_same_board
    from underdraw.words.lengths import parse_clock

    app = context.ensure_object(App)
    if (first or last) and against is None:
        raise InputError("--from and --to choose strokes of a drawing; --against names it")
    if holder is not None and job_path is None and against is None:
        raise InputError("--holder is for a job: name it with --job, or its drawing with --against")
    seconds = parse_clock(at, "--at") if at is not None else None
    data = read_program(program)
    drawing = _drawing(against) if against is not None else None
    if drawing is not None:
        app.registry.mention(drawing.job.stages.plugins)
    record = _record(drawing, program)
    if record is not None:
        dialect, holder = dialect or record.controller, holder or record.holder or None
    expected = _expected(app, job_path, drawing, dialect, holder)
    if drawing is not None and expected is not None and expected.lying is not None:
        require_same_board(data, expected.lying, expected.dialect)
        runs = _runs(data, drawing, expected, program, first, last)
        expected = expected.drawing(drawing, runs, _beginning(data, runs, drawing, expected, program))
    elif expected is not None and expected.lying is not None:
        expected = replace(expected, lying=as_noted(data, expected.lying, expected.dialect))
    report = _report(program, data, expected, tolerance, record)
    figures = report.figures()
    stroke = None
    if seconds is not None:
        stroke = _stroke_at(report, seconds)
        figures["at"] = stroke
    if as_json:
        print(json.dumps(figures, indent=2))
    else:
        if drawing is not None and expected is not None and not report.ok:
            other = made_of_another(data, drawing.digest, expected.dialect)
            if other is not None:
                made = f"“drawing sha256 {other}”, and that of {against} is {drawing.digest}"
                print(f"{program}: was made of another drawing: its head reads {made}")
        print("\n".join(_words(program, report, seconds is not None, stroke)))
    sys.stdout.flush()
    if not report.ok:
        sys.exit(1)


def read_program(program: str) -> bytes:
    """The program's bytes. Raises InputError."""
    import sys
    from pathlib import Path

    from underdraw.errors import InputError
    from underdraw.program.tokens import LARGEST_PROGRAM_BYTES

    try:
        if program == "-":
            if sys.stdin is None:
                raise InputError("no program came in: standard input is closed")
            data = sys.stdin.buffer.read(LARGEST_PROGRAM_BYTES + 1)
        else:
            with Path(program).open("rb") as file:
                data = file.read(LARGEST_PROGRAM_BYTES + 1)  # and no more, of a device without end
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror or error}", file=program) from None
    if len(data) > LARGEST_PROGRAM_BYTES:
        raise InputError(f"is larger than a program can be ({LARGEST_PROGRAM_BYTES:,} bytes)", file=program)
    return data


def _drawing(path: str) -> "Drawing":
    from underdraw.cli.command_line import read_input
    from underdraw.errors import CannotDo

    drawing = read_input(path)
    if not drawing.is_strokes or not len(drawing):
        raise CannotDo(f"{path} holds no strokes, one path each and no fill: name the drawing the program was made of")
    return drawing


def _record(drawing: "Drawing | None", program: str) -> "WrittenProgram | None":
    """What the drawing has on record of this program."""
    from pathlib import Path

    from underdraw.program.expected.drawn_range import record_of

    return None if drawing is None else record_of(drawing, Path(program).name)


def _expected(
    app: "App", job_path: str | None, drawing: "Drawing | None", dialect: str | None, holder: str | None
) -> "Expected | None":
    """The job, of its own file or the drawing's; without either the controller's words, if one is named."""
    from dataclasses import replace
    from pathlib import Path

    from underdraw.cli.load_job import load_job, warn_of_overrides
    from underdraw.job.file import located_in
    from underdraw.panel.lying import Lying
    from underdraw.program.dialect import Dialect
    from underdraw.program.expected import Expected

    job = load_job(Path(job_path), app.registry) if job_path else drawing.job if drawing is not None else None
    if job is None:
        if dialect is None:
            return None
        return replace(Expected.unknown(), dialect=Dialect.of(app.registry.controller(dialect)))
    if job_path:
        warn_of_overrides(job, app.registry, app.console)
    if holder is not None:
        job = replace(job, holder=replace(job.holder, use=holder))
    with located_in(job):
        if drawing is None:
            lying = Lying.of_job(job, app.registry)
        else:
            lying = Lying.of(replace(drawing, job=job), app.registry)
        return Expected.of(job, lying, app.registry, dialect)


def _runs(
    data: bytes, drawing: "Drawing", expected: "Expected", program: str, first: int | None, last: int | None
) -> "Runs | None":
    """The strokes that the program should draw: as asked, else as it or the drawing records."""
    from pathlib import Path

    from underdraw.errors import CannotDo
    from underdraw.program.expected.drawn_range import runs_of
    from underdraw.words.quantities import counted

    if first is None and last is None:
        return runs_of(data, drawing, expected.dialect, Path(program).name)
    for option, number in (("--from", first), ("--to", last)):
        if number is not None and number > len(drawing):
            raise CannotDo(f"{option} {number}: the drawing has {counted(len(drawing), 'stroke')}")
    if first is not None and last is not None and first > last:
        raise CannotDo(f"--from {first} lies after --to {last}: the program draws nothing")
    return [(first or 1, last or len(drawing))]


def _beginning(data: bytes, runs: "Runs | None", drawing: "Drawing", expected: "Expected", program: str) -> float:
    """The share of its first stroke that the program leaves out, as it or the drawing records."""
    from pathlib import Path

    from underdraw.program.expected.drawn_range import beginning_of

    return beginning_of(data, runs, drawing, expected.dialect, Path(program).name)


def _report(
    program: str, data: bytes, expected: "Expected | None", tolerance: str | None, record: "WrittenProgram | None"
) -> "Report":
    """What a reading finds; it may stray as far as was asked, else as its record has it."""
    from underdraw.errors import InputError
    from underdraw.program import check_program
    from underdraw.program.report import TOLERANCE_MM
    from underdraw.words.lengths import parse_length

    recorded = max(record.tolerance, 0.0) if record is not None else 0.0
    try:
        allowed = parse_length(tolerance) if tolerance is not None else recorded or TOLERANCE_MM
    except ValueError as error:
        raise InputError(f"--tolerance: {error}") from None
    if allowed <= 0:
        raise InputError(f"--tolerance: expected a length above 0, got {tolerance!r}")
    try:
        return check_program(data, expected, allowed)
    except InputError as error:
        raise InputError(error.text, file=program) from None


def _stroke_at(report: "Report", seconds: float) -> dict[str, object] | None:
    """The stroke at a time: its number in the program and, where a drawing was given, in that; None after the last."""
    found = report.drawn.stroke_at(seconds)
    if found is None:
        return None
    number, line = found
    figures: dict[str, object] = {"seconds": seconds, "program_stroke": number, "line": line}
    if report.comparison is not None:
        figures["stroke"] = int(report.comparison.of[number - 1]) or None
    return figures


def _words(program: str, report: "Report", timed: bool, stroke: dict[str, object] | None) -> list[str]:
    """The report for people, in the program's own unit."""
    from underdraw.program.problems import length_to
    from underdraw.words.lengths import LENGTH_UNITS
    from underdraw.words.quantities import counted, distance, duration

    figures = report.figures()
    lines = [
        f"{program}:{item.line}: {item.text} [{item.code}]" if item.line else f"{program}: {item.text} [{item.code}]"
        for item in report.problems
    ]
    lines.append(
        f"{counted(figures['strokes'], 'stroke')}, {distance(figures['drawn_mm'], report.unit)} drawn, "
        f"{distance(figures['travel_mm'], report.unit)} of travel, {counted(figures['lifts'], 'lift')}, "
        f"{counted(figures['swaps'], 'pause')}, {counted(figures['arcs'], 'arc')} in "
        f"{counted(figures['blocks'], 'block')}"
    )
    lines.append(f"about {duration(figures['seconds'])} without waits for the operator")
    if figures["bounds_mm"] is not None:
        x0, y0, x1, y1 = (f"{mm / LENGTH_UNITS[report.unit]:z.2f}" for mm in figures["bounds_mm"])
        lines.append(f"draws from X {x0} Y {y0} to X {x1} Y {y1} {report.unit}")
    if report.comparison is not None:
        lines.append(
            f"within {length_to(figures['deviation_mm'], report.unit, 4)} of the drawing; "
            f"{length_to(figures['missing_mm'], report.unit)} missing, "
            f"{length_to(figures['extra_mm'], report.unit)} extra"
        )
    if timed and stroke is None:
        lines.append("at that time: nothing more is drawn")
    elif stroke is not None:
        of = f"stroke {stroke['stroke']} of the drawing, " if stroke.get("stroke") else ""
        lines.append(f"at that time: {of}stroke {stroke['program_stroke']} of the program, from line {stroke['line']}")
    lines.append("ok" if report.ok else f"{len(report.problems)} problem{'s' if len(report.problems) != 1 else ''}")
    return lines
