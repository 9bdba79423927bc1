"""The header of a program, and the message to the operator at a swap."""

import datetime

from underdraw import Drawing, __version__
from underdraw.machine.loads import Load
from underdraw.words.lengths import format_length
from underdraw.words.plain_text import plain_name
from underdraw.words.quantities import distance, to_the_second
from underdraw_stages.gcode.chosen import SHARE_DIGITS
from underdraw_stages.gcode.crossings import Travel
from underdraw_stages.gcode.files import ProgramFile
from underdraw_stages.gcode.setup import Setup

CAUTIONS = (
    "CAUTION: unplug or lock out the spindle, carry a marker, not a tool",
    "CAUTION: keep hands clear of the axes, stay with the machine, know where its stop is",
    "CAUTION: markers, sealers and resins: read their safety data sheets, work in moving air, wear gloves",
    "CAUTION: cured resin is dust when sanded: wear a dust mask",
    "CAUTION: local rules and makers' manuals come before anything written here",
)


def header(drawing: Drawing, setup: Setup, program_file: ProgramFile, seconds: list[float], dated: bool) -> list[str]:
    """The notes at the head of a program, a line each."""
    job, heights = setup.job, setup.heights
    first, last = program_file.runs[0][0], program_file.runs[-1][1]
    strokes = sum(load.strokes for load in program_file.loads)
    drawn = sum(load.drawn_mm for load in program_file.loads)
    which = f"{_strokes(strokes)} ({first} to {last} of {len(drawing)}), {distance(drawn, setup.units)}"
    lines = [f"underdraw {__version__}: {plain_name(job.name)}, {which}"]
    if program_file.begins:
        lines.append(f"stroke {first} begins at {program_file.begins:.{SHARE_DIGITS}f} of its length")
    if dated:
        lines.append(f"written {datetime.date.today().isoformat()}")
    lines += [
        f"from {'.'.join(map(plain_name, source.file.split('.')))}, sha256 {source.sha256[:16]}"
        for source in drawing.sources
    ]
    lines.append(f"drawing sha256 {drawing.digest}")
    lines += list(CAUTIONS)
    parts = f"controller {plain_name(setup.controller.name)}; holder {plain_name(setup.holder.name)}"
    lines.append(f"units {setup.units}; {parts}")
    on_frame = not setup.lying.hung.wraps
    lines.append(
        f"{'canvas on its frame' if on_frame else 'image and board'} {_size(drawing.sheet, setup)}" + _face(setup)
    )
    whose = "" if setup.lying.taken_off == (0.0, 0.0) else ", under the spindle's axis and not under the tip"
    if not whose and any(marker.offset != (0.0, 0.0) for marker in job.markers):
        whose = f", under the tip of marker {plain_name(job.markers[0].name)}"
    lines.append(f"X0 Y0 is {setup.lying.zero_name}{whose}; Z0 is the tip touching the canvas")
    lines += registration_marks(setup)
    hops = ""
    if heights.hop is not None and not setup.own_heights:
        hops = f", {_length(heights.hop, setup)} to strokes within {_length(heights.hop_within, setup)}"
    press = f", pressed in by {_length(heights.press, setup)}" if heights.press else ""
    swaps = f", swaps at {_length(heights.swap_height, setup)}" if heights.swap_height != heights.lift else ""
    lines.append(
        f"lift {_length(heights.lift, setup)}{hops}{swaps}{press}; "
        f"slow from {_length(heights.clearance, setup)} above the canvas"
    )
    keep_outs, travel = job.machine.keep_out, Travel(setup)
    rises_to = max(heights.swap_height, travel.highest)
    where = ", over park" if any(section.height > rises_to for section in keep_outs) else ""
    lines.append(
        f"before the start: the tip between the canvas and {_length(rises_to, setup)} above it{where}; the first "
        "move raises it to there, the next goes to park"
    )
    if keep_outs:
        names = ", ".join(plain_name(section.name) for section in keep_outs)
        lines.append(f"keep-outs: {names}; the marker goes over them or round")
    for load, spent in zip(program_file.loads, seconds, strict=True):
        much = f"{_drawn(setup, load)}, {_speed(setup, program_file, load)}, {to_the_second(spent)}"
        lines.append(f"load: {_marker(setup, load)}: {much}{_own_press(setup, load)}")
    lines.append(f"about {to_the_second(sum(seconds))} without waits for swaps")
    return lines


def registration_marks(setup: Setup) -> list[str]:
    """Where the tip is over each mark, in program coordinates: to find the board again after painting."""
    points, motion = setup.marks, setup.lying.motion
    lines = []
    if setup.lying.sections is not None and setup.lying.section:
        lines.append(f"section {setup.lying.section} of {setup.lying.sections.count}")
    if motion is not None:
        x, y = (setup.length(value) for value in motion.shift_mm)
        shift = setup.controller.coordinates(setup.units, x=x, y=y)
        how = "moved along and NOT measured yet" if setup.lying.is_planned else "measured"
        lines.append(f"for a board that was {how}: turned {motion.angle_deg:.4f} degrees about zero, moved {shift}")
    return lines + [
        f"mark {number} at {setup.controller.coordinates(setup.units, x=x, y=y)}" for number, x, y in points
    ]


def swap_message(setup: Setup, load: Load) -> str:
    """What the operator reads at a swap."""
    fresh = "a fresh " if load.number > 1 else ""
    return (
        f"put in {fresh}{_marker(setup, load)} for {_drawn(setup, load)}; "
        "set the tip's height again, Z0 touching the canvas; then go on"
    )


def _drawn(setup: Setup, load: Load) -> str:
    """How much is drawn with one load."""
    return f"{_strokes(load.strokes)}, {distance(load.drawn_mm, setup.units)}"


def _strokes(count: int) -> str:
    """So many, in plain digits for whoever reads them back."""
    return f"{count} stroke{'' if count == 1 else 's'}"


def _marker(setup: Setup, load: Load) -> str:
    section = load.marker
    ink = f"{plain_name(section.ink)}, " if section.ink else ""
    return f"marker {plain_name(section.name)} ({ink}tip {format_length(section.tip)}, colour {section.looks})"


def _own_press(setup: Setup, load: Load) -> str:
    """How far this marker's spring is pressed in, where that is not the holder's own."""
    press = setup.heights.for_marker(load.marker).press
    return f", pressed in by {_length(press, setup)}" if press != setup.heights.press else ""


def _speed(setup: Setup, program_file: ProgramFile, load: Load) -> str:
    """How fast a load is drawn; its slowest and its fastest, where trials of one marker differ."""
    names = set(program_file.chosen.drawing.marker[load.first - 1 : load.last].tolist())
    speeds = {setup.speeds[name] for name in names}
    ends = sorted({min(speeds), max(speeds)})
    return f"{' to '.join(f'{setup.per_minute(speed):g}' for speed in ends)} {setup.units}/min"


def _face(setup: Setup) -> str:
    panel = setup.lying.hung
    depth = f", depth {_length(panel.depth, setup)}" if panel.wraps else ""
    turned = ", turned 90 degrees clockwise on the bed" if setup.lying.turned else ""
    return f"; face {_size(panel.face, setup)}{depth}{turned}" if setup.job.canvas.face is not None else ""


def _size(size: tuple[float, float], setup: Setup) -> str:
    unit = setup.units
    return f"{format_length(size[0], unit).removesuffix(f' {unit}')} x {format_length(size[1], unit)}"


def _length(mm: float, setup: Setup) -> str:
    return format_length(mm, setup.units)
