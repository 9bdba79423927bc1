"""`underdraw check`: reads a program as a machine would, on its own, and says what it will draw."""

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from underdraw.cli.app import App
    from underdraw.drawing.drawing import Drawing
    from underdraw.program import Report
    from underdraw.program.comparison import Strokes
    from underdraw.program.expected import Expected


@click.command()
@click.argument("program", metavar="PROGRAM", type=click.Path())
@click.option("--job", "job_path", metavar="JOB", type=click.Path(), help="Job that gives bed, reach, image and inks.")
@click.option("--against", metavar="DRAWING", type=click.Path(), help="Drawing to compare with; it carries its job.")
@click.option("--controller", "dialect", metavar="NAME", help="Whose own words it may hold [the job's controller].")
@click.option("--from", "first", type=click.IntRange(min=1), metavar="STROKE", help="First stroke it draws [1].")
@click.option("--to", "last", type=click.IntRange(min=1), metavar="STROKE", help="Last stroke it draws [all].")
@click.option("--tolerance", metavar="LENGTH", default="0.02 mm", help="How far it may stray [0.02 mm].")
@click.option("--at", metavar="TIME", help="Name the stroke being drawn at this time from the start, such as 14:30.")
@click.option("--json", "as_json", is_flag=True, help="Print figures as JSON.")
@click.pass_context
def command(
    context: click.Context,
    program: str,
    job_path: str | None,
    against: str | None,
    dialect: str | None,
    first: int | None,
    last: int | None,
    tolerance: str,
    at: str | None,
    as_json: bool,
) -> None:
    """Read a program as a machine would and say what it will draw, and what is wrong with it.

    PROGRAM is a file, or - for standard input. Exit 1 if there is a problem.
    """
    import json
    import sys

    from underdraw.cli.app import App
    from underdraw.errors import InputError

    app = context.ensure_object(App)
    if (first or last) and against is None:
        raise InputError("--from and --to choose strokes of a drawing; --against names it")
    seconds = _time(at) if at is not None else None
    data = _read(program)
    drawing = _drawing(against) if against is not None else None
    if drawing is not None:
        app.registry.mention(drawing.job.stages.plugins)
    expected = _expected(app, job_path, drawing)
    if dialect is None and expected is not None:
        dialect = expected.machine.controller
    report = _report(app, program, data, expected, dialect, drawing, first, last, tolerance)
    figures = report.figures()
    stroke = None
    if seconds is not None:
        stroke = _stroke_at(report, seconds)
        figures["at"] = stroke
    if as_json:
        print(json.dumps(figures, indent=2))
    else:
        print("\n".join(_words(program, report, seconds is not None, stroke)))
    sys.stdout.flush()
    if not report.ok:
        sys.exit(1)


def _time(text: str) -> float:
    """`14:30`, `1:02:30` or `870 s` in seconds. Raises InputError."""
    import re

    from underdraw.errors import InputError

    parts = [part.strip() for part in text.strip().removesuffix("s").split(":")]
    right = 1 <= len(parts) <= 3 and all(re.fullmatch(r"\d+(\.\d+)?", part) for part in parts)
    values = [float(part) for part in parts] if right else []
    if not right or any(value >= 60 for value in values[1:]):
        raise InputError(f"--at: a time from the start is due, such as 14:30 or 1:02:30; read {text!r}")
    seconds = 0.0
    for value in values:
        seconds = seconds * 60 + value
    return seconds


def _read(program: str) -> bytes:
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


def _expected(app: "App", job_path: str | None, drawing: "Drawing | None") -> "Expected | None":
    """What the job says, of its own file or the drawing's; None without either."""
    from dataclasses import replace
    from pathlib import Path

    from underdraw.cli.load_job import load_job, warn_of_overrides
    from underdraw.job.file import told_in
    from underdraw.panel.lying import Lying
    from underdraw.program.expected import Expected

    job = load_job(Path(job_path), app.registry) if job_path else drawing.job if drawing is not None else None
    if job is None:
        return None
    if job_path:
        warn_of_overrides(job, app.registry, app.console)
    with told_in(job):
        if drawing is None:
            lying = Lying.of_job(job, app.registry)
        else:
            lying = Lying.of(replace(drawing, job=job), app.registry)
        return Expected.of(job, lying, app.registry)


def _report(
    app: "App",
    program: str,
    data: bytes,
    expected: "Expected | None",
    dialect: str | None,
    drawing: "Drawing | None",
    first: int | None,
    last: int | None,
    tolerance: str,
) -> "Report":
    from underdraw.errors import InputError
    from underdraw.program import check_program
    from underdraw.program.dialect import in_standard_words
    from underdraw.words.lengths import parse_length

    try:
        allowed = parse_length(tolerance)
    except ValueError as error:
        raise InputError(f"--tolerance: {error}") from None
    if allowed <= 0:
        raise InputError(f"--tolerance: a length above 0 is due; read {tolerance!r}")
    controller = None
    if dialect is not None:
        controller = app.registry.controller(dialect)
        data = in_standard_words(data, controller.meanings, controller.name)
    strokes = _strokes(drawing, first, last) if drawing is not None else None
    longest = {"longest_line": controller.longest_line} if controller is not None else {}
    try:
        return check_program(data, expected, strokes, allowed, **longest)
    except InputError as error:
        raise InputError(error.text, file=program) from None


def _strokes(drawing: "Drawing", first: int | None, last: int | None) -> "Strokes":
    from underdraw.errors import CannotDo
    from underdraw.program import strokes_of

    first, last = first or 1, last or len(drawing)
    if not first <= last <= len(drawing):
        raise CannotDo(f"the drawing has {len(drawing)} strokes; --from {first} --to {last} would not do")
    return strokes_of(drawing, first, last)


def _stroke_at(report: "Report", seconds: float) -> dict[str, object] | None:
    """The stroke at a time: its number in the program and, where a drawing was given, in that; None after the last."""
    found = report.drawn.stroke_at(seconds)
    if found is None:
        return None
    number, line = found
    held: dict[str, object] = {"seconds": seconds, "program_stroke": number, "line": line}
    if report.comparison is not None:
        held["stroke"] = int(report.comparison.of[number - 1]) or None
    return held


def _words(program: str, report: "Report", timed: bool, stroke: dict[str, object] | None) -> list[str]:
    """The report for people, in the program's own unit."""
    from underdraw.program.problems import told_length
    from underdraw.words.lengths import LENGTH_UNITS
    from underdraw.words.quantities import counted, distance, duration

    figures = report.figures()
    lines = [f"{program}:{item.line}: {item.text} [{item.code}]" for item in report.problems]
    lines.append(
        f"{counted(figures['strokes'], 'stroke')}, {distance(figures['drawn_mm'])} drawn, "
        f"{distance(figures['travel_mm'])} of travel, {counted(figures['lifts'], 'lift')}, "
        f"{counted(figures['swaps'], 'pause')}, {counted(figures['arcs'], 'arc')} in "
        f"{counted(figures['blocks'], 'block')}"
    )
    lines.append(f"about {duration(figures['seconds'])} without waits for the operator")
    if figures["bounds_mm"] is not None:
        x0, y0, x1, y1 = (f"{mm / LENGTH_UNITS[report.unit]:.2f}" for mm in figures["bounds_mm"])
        lines.append(f"draws from X {x0} Y {y0} to X {x1} Y {y1} {report.unit}")
    if report.comparison is not None:
        lines.append(
            f"within {told_length(figures['deviation_mm'], report.unit, 4)} of the drawing; "
            f"{told_length(figures['missing_mm'], report.unit)} missing, "
            f"{told_length(figures['extra_mm'], report.unit)} extra"
        )
    if timed and stroke is None:
        lines.append("at that time: nothing more is drawn")
    elif stroke is not None:
        of = f"stroke {stroke['stroke']} of the drawing, " if stroke.get("stroke") else ""
        lines.append(f"at that time: {of}stroke {stroke['program_stroke']} of the program, from line {stroke['line']}")
    lines.append("ok" if report.ok else f"{len(report.problems)} problem{'s' if len(report.problems) != 1 else ''}")
    return lines
