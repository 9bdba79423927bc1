"""`underdraw strokes`: which stroke passes a place, is drawn at a time, or stands at a program's line."""

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from underdraw.cli.app import App
    from underdraw.drawing.drawing import Drawing
    from underdraw.machine.stroke_table import StrokeRow, StrokeTable


@click.command()
@click.argument("drawing", metavar="DRAWING", type=click.Path())
@click.option("--near", metavar="SIZE", help="A place, right x down from the upper left corner as the board lies.")
@click.option("--of", "of", metavar="board|face", default="board", help="Whose corner. [default: board]")
@click.option("--within", metavar="LENGTH", default="5 mm", help="How far from the place. [default: 5 mm]")
@click.option("--at", metavar="TIME", help="A time on the machine's clock since the start, such as 14:30.")
@click.option("--waits", metavar="TIME", help="How long the clock ran on in each pause, such as 3:00.")
@click.option("--line", type=click.IntRange(min=1), metavar="NUMBER", help="A line of a program; --program names it.")
@click.option("--program", metavar="FILE", type=click.Path(), help="The program that the line is of.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.pass_context
def command(context: click.Context, /, drawing: str, as_json: bool, **asked: Any) -> None:
    """Find a stroke: by a place on the board, a time, or a program's line; with none of these, list them all.

    DRAWING is the one that the program was made of, such as moonflower-drawing.svg.
    """
    import json
    import sys
    from dataclasses import asdict

    from underdraw.cli.app import App
    from underdraw.machine.stroke_table import StrokeTable

    app = context.ensure_object(App)
    chosen = [name for name in ("near", "at", "line") if asked[name] is not None]
    _refuse_combinations(chosen, asked)
    table = StrokeTable.of(_drawing(drawing), app.registry)
    line: int | None = None
    share: float | None = None
    if chosen == ["near"]:
        rows = _near(app, table, asked["near"], asked["of"], asked["within"])
    elif chosen == ["at"]:
        rows = _at(table, asked["at"], asked["waits"])
    elif chosen == ["line"]:
        line = asked["line"]
        rows, share = _of_line(app, table, asked["line"], asked["program"])
    else:
        rows = list(table.rows())
    if as_json:
        print(json.dumps([_as_data(asdict(row), line, share) for row in rows], indent=2))
    else:
        print("\n".join(_as_text(rows, table.drawing, bool(chosen), share)))
    sys.stdout.flush()
    if chosen and not rows:
        sys.exit(1)


def _refuse_combinations(chosen: list[str], asked: dict[str, Any]) -> None:
    """Raise InputError for options that do not go together."""
    from underdraw.errors import InputError

    if len(chosen) > 1:
        raise InputError(f"--{chosen[0]} and --{chosen[1]} are two questions; ask one at a time")
    if (asked["line"] is None) != (asked["program"] is None):
        raise InputError("--line and --program belong together: which line, of which program")
    if asked["waits"] is not None and asked["at"] is None:
        raise InputError("--waits belongs to --at: it is how long the clock ran on in each pause")
    if asked["of"] not in ("board", "face"):
        raise InputError(f"--of: expected board or face, got {asked['of']!r}")


def _drawing(path: str) -> "Drawing":
    """A drawing of strokes. Raises InputError or CannotDo."""
    from underdraw.cli.command_line import read_input
    from underdraw.errors import CannotDo

    drawing = read_input(path)
    if not drawing.is_strokes or not len(drawing):
        raise CannotDo(f"{path} has no strokes yet; name the drawing that the program was made of")
    return drawing


def _near(app: "App", table: "StrokeTable", place: str, of: str, within: str) -> "list[StrokeRow]":
    from underdraw.errors import InputError
    from underdraw.panel.lying import Lying
    from underdraw.words.lengths import parse_length, parse_size

    try:
        x, y = parse_size(place)
    except ValueError as error:
        raise InputError(f"--near: {error}") from None
    try:
        reach = parse_length(within)
    except ValueError as error:
        raise InputError(f"--within: {error}") from None
    if reach < 0:
        raise InputError(f"--within: expected a length of at least 0, got {within!r}")
    if of == "face":
        x0, y0, _, _ = Lying.of(table.drawing, app.registry).panel.face_box
        x, y = x + x0, y + y0
    return table.near((x, y), reach)


def _at(table: "StrokeTable", at: str, waits: str | None) -> "list[StrokeRow]":
    from underdraw.words.lengths import parse_clock

    wait = parse_clock(waits, "--waits") if waits is not None else 0.0
    row = table.at_time(parse_clock(at, "--at"), wait)
    return [] if row is None else [row]


def _of_line(app: "App", table: "StrokeTable", line: int, program: str) -> "tuple[list[StrokeRow], float]":
    """The stroke that a program's line belongs to, and how far along it that line begins."""
    from pathlib import Path

    from underdraw.cli.commands.check import read_program
    from underdraw.errors import InputError
    from underdraw.program.comparison.stroke_of_line import stroke_of_line

    try:
        number, share = stroke_of_line(
            read_program(program), line, table.drawing, app.registry, file=Path(program).name
        )
    except InputError as error:
        raise InputError(error.text, file=error.file or program) from None
    return [table.row(number, share)], share


def _as_data(row: dict[str, Any], line: int | None, share: float | None) -> dict[str, Any]:
    """One stroke as `--json` prints it; lengths in mm, times in s."""
    at = [round(value, 3) for value in row["at_mm"]]
    figures: dict[str, Any] = {
        "stroke": row["stroke"],
        "marker": row["marker"],
        "load": row["load"],
        "at_mm": at,
        "line": line,
        "seconds": round(row["seconds"], 2),
        "length_mm": round(row["length_mm"], 3),
        "away_mm": round(row["away_mm"], 3),
    }
    if share is not None:
        figures["share"] = round(share, 4)
    return figures


def _as_text(rows: "list[StrokeRow]", drawing: "Drawing", asked: bool, share: float | None) -> list[str]:
    """A table for people, in the job's unit."""
    from underdraw.words.quantities import clock, distance, length_in, size_in
    from underdraw.words.units import unit_of

    unit = unit_of(drawing.job)
    if not rows:
        return ["no stroke there" if asked else "no strokes"]
    lines = [f"{'stroke':>6}  {'marker':<14} {'load':>4}  {'time':>7}  {'length':>8}  at"]
    for row in rows:
        where = size_in((row.at_mm[0], row.at_mm[1]), unit)
        away = f", {length_in(row.away_mm, unit)} away" if row.away_mm >= 0.005 else ""
        far = f", {share:.0%} along it" if share is not None else ""
        lines.append(
            f"{row.stroke:>6}  {row.marker:<14} {row.load:>4}  {clock(row.seconds):>7}  "
            f"{distance(row.length_mm, unit):>8}  {where}{away}{far}"
        )
    return lines
