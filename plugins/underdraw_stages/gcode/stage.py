"""The stage `gcode` from top to bottom: choose strokes, fit moves, write programs, read each back, hand them over."""

from dataclasses import asdict, replace
from pathlib import Path

from underdraw import Context, Drawing, File, Result
from underdraw.drawing.facts import WrittenLoad, WrittenProgram
from underdraw.errors import CannotDo, InputError, UnderdrawError
from underdraw.machine.clock import Schedule
from underdraw.program import Report, check_program
from underdraw.program.comparison.stroke_of_line import stroke_of_line
from underdraw.program.expected import Expected
from underdraw.words.quantities import counted, distance, duration, fine_length, length_in
from underdraw.words.units import unit_of
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.chosen import by_section, chosen_strokes, require_strokes
from underdraw_stages.gcode.crossings import refuse_crossings, refuse_outside
from underdraw_stages.gcode.files import ProgramFile, of_section, program_files
from underdraw_stages.gcode.header import header, swap_message
from underdraw_stages.gcode.rehearsal import Trace, rehearsal
from underdraw_stages.gcode.setup import Setup, set_up, warn_of_inks
from underdraw_stages.gcode.toolpath import Drawn, moves_of
from underdraw_stages.gcode.writer import program_blocks, program_bytes

NEARLY_WHOLE = 1e-3  # a share of a stroke: more than that is left to draw of one that was begun
DANGERS = ("spindle", "coolant", "output", "rapid-down")  # reported before anything else that is wrong


def gcode(drawing: Drawing, settings: GcodeSettings, context: Context) -> Result:
    """Write the program of a drawing of strokes: one file, or one for each marker or load.

    Raises CannotDo where a controller, holder, bed or the check of what was written does not allow it.
    """
    require_strokes(drawing)
    chosen = chosen_strokes(drawing, settings, _first_place(drawing, settings, context))
    setup = set_up(drawing, settings, context)
    warn_of_inks(setup, list(dict.fromkeys(load.marker.name for load in chosen.loads)), context)
    wanted = settings.section or setup.lying.section or None
    parts = by_section(drawing, chosen, wanted)
    held = [
        (section, file)
        for section, part in parts
        for file in of_section(program_files(part, settings.split, setup.controller, context), section)
    ]
    setups = {section: replace(setup, lying=setup.lying.for_section(section)) for section, _ in parts}
    moves, traces = {}, {}
    for section, part in parts:
        context.progress(0.1, "finding arcs")
        refuse_outside(part, setups[section])
        refuse_crossings(part, setups[section], settings.tolerance)
        moves[section] = moves_of(part.drawing, setups[section], settings.tolerance)
        traces[section] = rehearsal(part.drawing, setups[section], settings.rehearse)
    files, lines, written = [], [], []
    for index, (section, program_file) in enumerate(held):
        setup, trace = setups[section], traces[section]
        context.progress(0.2 + 0.8 * index / len(held), "writing and reading back")
        data, report = _checked(drawing, setup, program_file, moves[section], trace, settings, context)
        files.append(File(setup.controller.suffix, data, program_file.label))
        name = context.file_name(setup.controller.suffix, program_file.label, alone=len(held) == 1)
        lines.append(_summary(name, program_file, report, unit_of(drawing.job)))
        written.append(_record(drawing, setup, settings, program_file, report, name, trace is not None))
        lines += _untold(setup, program_file, report, trace)
    lines += _hops(chosen.drawing, setup, context)
    figures = {"programs": [asdict(program) for program in written]}
    return Result(
        drawing.replace(programs=(*drawing.programs, *written)),
        figures=figures,
        summary="\n".join(lines),
        files=tuple(files),
    )


def _first_place(drawing: Drawing, settings: GcodeSettings, context: Context) -> float:
    """The stroke to begin with, and how much of it is drawn already, as its decimals."""
    if settings.from_line is None:
        if settings.program is not None:
            raise InputError("--program goes with --from-line N, a line of it")
        return _within(*divmod(settings.from_ or 1.0, 1.0))
    if settings.program is None:
        raise InputError("--from-line counts lines of a program; name it: --program FILE")
    if settings.from_ is not None:
        raise InputError("--from and --from-line both name a place to carry on from; use one of them")
    try:
        data = Path(settings.program).read_bytes()
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror or error}", file=settings.program) from None
    try:
        stroke, share = stroke_of_line(
            data, settings.from_line, drawing, context.registry, settings.controller, Path(settings.program).name
        )
    except UnderdrawError as error:
        error.put_at(error.file or settings.program, error.line)
        raise
    return _within(stroke, share)


def _within(stroke: float, share: float) -> float:
    """A place of a stroke that is not drawn to its end yet."""
    return stroke + min(share, 1 - NEARLY_WHOLE)


def _record(
    drawing: Drawing,
    setup: Setup,
    settings: GcodeSettings,
    program_file: ProgramFile,
    report: Report,
    name: str,
    rehearses: bool,
) -> WrittenProgram:
    """What whoever comes after should know of a program."""
    seconds = report.drawn.load_seconds[-len(program_file.loads) :]
    lengths = drawing.part_lengths()
    written = []
    for load, spent in zip(program_file.loads, seconds, strict=True):
        runs = program_file.runs_of(load)
        drawn = [float(lengths[first - 1 : last].sum()) for first, last in runs]
        shares = [part / sum(drawn) if sum(drawn) else 1 / len(runs) for part in drawn]
        written += [
            WrittenLoad(load.marker.name, first, last, round(spent * share, 3))
            for (first, last), share in zip(runs, shares, strict=True)
        ]
    return WrittenProgram(
        file=name,
        loads=tuple(written),
        seconds=round(report.drawn.total_seconds, 3),
        controller=setup.controller.name,
        units=setup.units,
        split=settings.split if settings.split != "none" or setup.controller.pauses else "load",
        rehearsal=rehearses,
        digest=drawing.digest,
        begins=program_file.begins,
        label=program_file.label,
        holder=setup.holder.name,
        tolerance=settings.tolerance,
    )


def _checked(
    drawing: Drawing,
    setup: Setup,
    program_file: ProgramFile,
    moves: Drawn,
    trace: Trace | None,
    settings: GcodeSettings,
    context: Context,
) -> tuple[bytes, Report]:
    """A program and what an independent reading finds. Raises CannotDo if that is not what was meant."""
    expected = Expected.of(setup.job, setup.lying, context.registry, setup.controller.name)
    expected = expected.drawing(drawing, program_file.runs, program_file.begins)
    blocks = program_blocks(setup, program_file, moves, trace, settings.optional_stops)
    head: list[str] = []
    if setup.controller.comments:  # the header gives the time that the reader finds
        draft = program_bytes(setup, [], blocks)
        read = check_program(draft, replace(expected, strokes=None)).drawn.load_seconds[-len(program_file.loads) :]
        if len(read) < len(program_file.loads):  # a swap without a pause
            read_again = check_program(draft, expected, settings.tolerance)
            _refuse(setup, read_again, context, draft, settings.keep_refused)
        head = header(drawing, setup, program_file, read, settings.dated)
    data = program_bytes(setup, head, blocks)
    report = check_program(data, expected, settings.tolerance)
    if report.problems:
        _refuse(setup, report, context, data, settings.keep_refused)
    return data, report


def _refuse(setup: Setup, report: Report, context: Context, data: bytes, keep: str | None) -> None:
    """Raise CannotDo with why the program is not put in place, and by whose fault; keep it elsewhere where asked to."""
    problem = min(report.problems, key=lambda item: item.code not in DANGERS)
    more = f" (and {len(report.problems) - 1} more)" if len(report.problems) > 1 else ""
    owner = context.registry.controllers.owner(setup.controller.name)
    who = f"controller {setup.controller.name!r} (plugin {owner.name}, {owner.distribution})"
    where = f"line {problem.line} of its program: " if problem.line else ""
    kept = "nothing was written" if keep is None else f"kept in {_kept(keep, data)}"
    raise CannotDo(f"{who}: {where}{problem.text}{more}; refused, and {kept}")


def _kept(file: str, data: bytes) -> str:
    """Write a refused program whole or not at all, and return where. Raises InputError where that cannot be."""
    path = Path(file)
    part = path.with_name(path.name + ".part")
    try:
        part.write_bytes(data)
        part.replace(path)
    except OSError as error:
        raise InputError(f"cannot be written: {error.strerror or error}", file=file) from None
    return file


def _untold(setup: Setup, program_file: ProgramFile, report: Report, trace: Trace | None) -> list[str]:
    """What each pause is for, where the controller cannot show it to the operator."""
    if setup.controller.messages and setup.controller.comments:
        return []
    pauses = report.drawn.moves.pauses.tolist()
    swaps = program_file.loads[1:]
    reasons = [swap_message(setup, program_file.loads[0])] if program_file.announces and setup.controller.pauses else []
    reasons += [leg.asks for leg in trace or () if leg.asks]
    reasons += ["the rehearsal is over"] if trace is not None else []
    reasons += [swap_message(setup, load) for load in swaps]
    return [f"pause in line {line}: {reason}" for line, reason in zip(pauses, reasons, strict=True)]


def _hops(drawing: Drawing, setup: Setup, context: Context) -> list[str]:
    """What the lower lift of hops saves."""
    heights = setup.heights
    if heights.hop is None or setup.own_heights:
        return []
    within, hop = (length_in(mm, "mm") for mm in (heights.hop_within, heights.hop))
    saved = Schedule.saved_by_hops(drawing, context.registry)
    return [f"hops of up to {within} are lifted by {hop} and save about {duration(saved)}"]


def _summary(name: str, program_file: ProgramFile, report: Report, unit: str) -> str:
    """What a program does, in one line, and how it was proved, in a detail; lengths in the job's unit."""
    drawn, comparison = report.drawn, report.comparison
    swaps = len(program_file.loads) - 1
    change = f", {counted(swaps, 'swap')}" if swaps else ""
    deviation = fine_length(comparison.deviation if comparison else 0.0, unit)
    return (
        f"{name}: {counted(drawn.strokes, 'stroke')}, {distance(drawn.drawn_mm, unit)}{change}, "
        f"about {duration(drawn.total_seconds)}\n"
        f"  {counted(report.blocks, 'block')}, {counted(drawn.arcs, 'arc')}; read back within {deviation} of the "
        "drawing, nothing missing, nothing extra"
    )
