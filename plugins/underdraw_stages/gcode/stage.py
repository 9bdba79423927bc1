"""The stage `gcode` from top to bottom: choose strokes, fit moves, write programs, read each back, hand them over."""

from underdraw import Context, Drawing, File, Result
from underdraw.errors import CannotDo
from underdraw.program import Report, check_program, strokes_of
from underdraw.program.comparison import Strokes, joined
from underdraw.program.dialect import in_standard_words
from underdraw.program.expected import Place
from underdraw.program.problems import told_length
from underdraw.words.quantities import to_the_second
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.header import header, swap_message
from underdraw_stages.gcode.loads import Sheaf, chosen_strokes, loads_between, sheaves
from underdraw_stages.gcode.moves import Drawn, moves_of
from underdraw_stages.gcode.program import write_program
from underdraw_stages.gcode.rehearse import Trace, rehearsal
from underdraw_stages.gcode.setup import Setup, set_up, warn_of_inks

DANGERS = ("spindle", "coolant", "output")  # told before anything else that is wrong


def gcode(drawing: Drawing, settings: GcodeSettings, context: Context) -> Result:
    """Write the program of a drawing of strokes: one file, or one for each marker or load.

    Raises CannotDo where a controller, holder, bed or the check of what was written does not allow it.
    """
    first, last = chosen_strokes(drawing, settings)
    setup = set_up(drawing, settings, context)
    loads = loads_between(drawing, first, last)
    warn_of_inks(setup, list(dict.fromkeys(load.marker for load in loads)), context)
    context.progress(0.1, "finding arcs")
    chosen = drawing.select(range(first - 1, last)) if (first, last) != (1, len(drawing)) else drawing
    moves = moves_of(chosen, setup, settings.tolerance)
    trace = rehearsal(chosen, setup) if settings.rehearse else None
    files, lines = [], []
    held = sheaves(loads, settings.split, setup.controller, context)
    for index, sheaf in enumerate(held):
        context.progress(0.2 + 0.8 * index / len(held), "writing and reading back")
        data, report = _checked(drawing, setup, sheaf, moves, trace, first - 1, settings, context)
        files.append(File(setup.controller.suffix, data, sheaf.label))
        lines.append(_summary(sheaf, report, setup.units))
        lines += _untold(setup, sheaf, report)
    return Result(drawing, figures={}, summary="\n".join(lines), files=tuple(files))


def _checked(
    drawing: Drawing,
    setup: Setup,
    sheaf: Sheaf,
    moves: Drawn,
    trace: Trace | None,
    before: int,
    settings: GcodeSettings,
    context: Context,
) -> tuple[bytes, Report]:
    """A program and what an independent reading says of it. Raises CannotDo if that is not what was meant."""
    place = Place.of(setup.job, context.registry, drawing.sheet)
    longest = setup.controller.longest_line
    seconds: list[float] = []
    if setup.controller.comments:  # the header tells the time that the reader finds
        draft = write_program(setup, sheaf, moves, [], trace, before)
        seconds = check_program(_readable(draft, setup), place, longest_line=longest).drawn.load_seconds[
            -len(sheaf.loads) :
        ]
    head = header(drawing, setup, sheaf, seconds, settings.dated) if seconds else []
    data = write_program(setup, sheaf, moves, head, trace, before)
    asked = _asked(drawing, sheaf)
    report = check_program(_readable(data, setup), place, asked, settings.tolerance, longest)
    if report.problems:
        _refuse(setup, report, context)
    return data, report


def _readable(data: bytes, setup: Setup) -> bytes:
    """A program in words that the reader knows, where the controller declares words of its own."""
    return in_standard_words(data, setup.controller.meanings, setup.controller.name)


def _asked(drawing: Drawing, sheaf: Sheaf) -> Strokes:
    """The strokes that a program should draw, in its order."""
    return joined([strokes_of(drawing, first, last) for first, last in sheaf.runs])


def _refuse(setup: Setup, report: Report, context: Context) -> None:
    """Say in one line why the program is not put in place, and by whose fault."""
    problem = min(report.problems, key=lambda item: item.code not in DANGERS)
    more = f" (and {len(report.problems) - 1} more)" if len(report.problems) > 1 else ""
    owner = context.registry.controllers.owner(setup.controller.name)
    who = f"controller {setup.controller.name!r} (plugin {owner.name}, {owner.distribution})"
    where = f"line {problem.line} of its program: " if problem.line else ""
    raise CannotDo(f"{who}: {where}{problem.text}{more}; refused, and nothing was written")


def _untold(setup: Setup, sheaf: Sheaf, report: Report) -> list[str]:
    """What each pause is for, where the controller cannot show it to the operator."""
    if setup.controller.messages and setup.controller.comments:
        return []
    pauses = report.drawn.moves.pauses.tolist()
    swaps = sheaf.loads[1:]
    told = [f"pause in line {line}: the rehearsal is over" for line in pauses[: len(pauses) - len(swaps)]]
    later = zip(pauses[len(pauses) - len(swaps) :], swaps, strict=True)
    return [*told, *(f"pause in line {line}: {swap_message(setup, load)}" for line, load in later)]


def _summary(sheaf: Sheaf, report: Report, unit: str) -> str:
    """What a program does, in one line."""
    drawn, comparison = report.drawn, report.comparison
    name = f"{sheaf.label}: " if sheaf.label else ""
    swaps = len(sheaf.loads) - 1
    change = f", {swaps} swap{'s' if swaps != 1 else ''}" if swaps else ""
    deviation = told_length(comparison.deviation if comparison else 0.0, unit, 3)
    return (
        f"{name}{drawn.strokes} strokes, {drawn.drawn_mm / 1000:.2f} m in {report.blocks} blocks ({drawn.arcs} arcs)"
        f"{change}, about {to_the_second(drawn.total_seconds)}; read back: within {deviation}, nothing missing or extra"
    )
