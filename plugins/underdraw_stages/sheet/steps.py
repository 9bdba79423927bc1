"""What to do at the machine, in order, each with a box to tick."""

from underdraw.machine.loads import TimedLoad
from underdraw.panel import bed_fit
from underdraw.words.plain_text import isolated
from underdraw.words.quantities import clock, counted, duration, length_in, size_in
from underdraw.words.units import unit_at
from underdraw_stages.sheet.contents import UNITS, Facts, as_typed

LEAST_ROOM_MM = 1.0  # beside the canvas: less is nothing to measure


def steps(facts: Facts) -> list[str]:
    """Every step up to the last stroke."""
    laid = [*mounting(facts), *room_beside(facts), *clamps(facts), *priming(facts), *lying(facts)]
    return [*laid, *setting_up(facts), *drawing_steps(facts)]


def mounting(facts: Facts) -> list[str]:
    """The canvas on the bed."""
    panel, job = facts.lying.panel, facts.drawing.job
    if not panel.wraps:
        return [
            "Lay the stretched canvas on the bed, face up, with a support under the canvas that just touches it: "
            "canvas that is not taut gives under the tip.†",
            "Fix the frame so that it cannot slide; keep clamps below the canvas and out of the marker’s way.",
            *([in_sections(facts)] if facts.lying.sections is not None else []),
        ]
    if facts.lying.sections is not None:
        return [
            "Prime the canvas if it is raw, and let it dry.",
            f"Staple the canvas to the edge of the board, {length_in(panel.staple, facts.unit)} over on each side, "
            "taut and square. Tape would pull loose as wet paint dries.†",
            in_sections(facts),
        ]
    pins = " and ".join(size_in((x, panel.image[1] - y), facts.unit) for x, y in panel.pins)
    pins_text = (
        f"index pins at {pins} from its lower left corner" if job.at("machine.pin") else "two index pins or stops"
    )
    over = length_in(panel.staple, facts.unit)
    strip = f"Staple the canvas to the edge of the board, {over} over on each side"
    if not panel.strip_beside:
        strip = f"Fold the staple strip of {over} down on each side, and staple it to the edge of the board"
    return [
        "Prime the canvas if it is raw, and let it dry.",
        f"{strip}, taut and square. Tape would pull loose as wet paint dries.†",
        f"Fix the board on the bed with {pins_text}, so that it comes back to the same place after painting.",
    ]


def room_beside(facts: Facts) -> list[str]:
    """How far from the travel's near left end the canvas must lie, where the machine goes to what is beside it."""
    lying, bed = facts.lying, facts.panel.bed
    plain = bed_fit(lying.panel, bed, lying.offset).corner if bed is not None and lying.sections is None else None
    if plain is None:
        return []
    corner = lying.corner_on_bed(0)
    if max(corner[0] - plain[0], corner[1] - plain[1]) < LEAST_ROOM_MM:
        return []
    right, away = (length_in(mm, facts.unit, "up") for mm in corner)
    return [
        f"Its lower left corner lies at least {right} to the right of the travel’s near left end and {away} away from "
        "you: the machine also goes to what is beside it."
    ]


def in_sections(facts: Facts) -> str:
    """Where a board longer than the bed goes first."""
    sections, corner = facts.lying.sections, facts.lying.corner_on_bed(1)
    assert sections is not None
    right, away = (length_in(mm, facts.unit) for mm in corner)
    return (
        f"The board is longer than the bed and is drawn in {sections.count} sections. Fix it against a straight fence, "
        f"its lower left corner {right} to the right of the travel’s near left end and {away} away from you, with a "
        "support under what is beyond the bed. Keep the fence: the board is moved along it."
    )


def clamps(facts: Facts) -> list[str]:
    """Where the program reckons with clamps, and how low they must be."""
    boxes = [
        f"“{isolated(box.name)}”, {size_in(box.size, facts.unit)} from {size_in(box.at, facts.unit)} on, lower than "
        f"{length_in(box.height, 'mm')} above the canvas"
        for box in facts.drawing.job.machine.keep_out
    ]
    if not boxes:
        return []
    return [
        f"The marker keeps out of these places and of no others; clamps stand there alone: {'; '.join(boxes)} (right "
        f"and up from the {'board' if facts.panel.wraps else 'canvas'}’s lower left corner)."
    ]


def priming(facts: Facts) -> list[str]:
    """Where markers are run in by the program, before each of their loads."""
    primed = {load.marker.name: load.marker.prime for load in facts.loads if load.marker.prime}
    if not primed:
        return []
    lines = ", ".join(f"“{name}” {length_in(length, facts.unit)}" for name, length in primed.items())
    box = facts.lying.prime_box
    if box is None:
        return [
            f"Before each load a line is drawn in a corner square, which folds away, to run the marker in: {lines}."
        ]
    size = (box[2] - box[0], box[3] - box[1])
    return [
        f"Lay a scrap of {size_in(size, facts.unit, 'up')} beside the canvas and as high as it, its lower left corner "
        f"{away(box[0], -box[1], facts.unit)} from the canvas’s. Before each load a line is drawn there, to "
        f"run the marker in: {lines}."
    ]


def away(x: float, y: float, unit: str) -> str:
    """How far a place is from a corner, in words, x mm to the right and y mm down.

    >>> away(50.8, 25.4, "in"), away(-70.0, -1.5, "mm")
    ('2 × 1 in right and down', '70 × 1.5 mm left and up')
    """
    return f"{size_in((abs(x), abs(y)), unit)} {'left' if x < 0 else 'right'} and {'up' if y < 0 else 'down'}"


def lying(facts: Facts) -> list[str]:
    """Which way up the picture is on the bed, where it was turned to go there."""
    if not facts.lying.turned:
        return []
    return ["The panel is turned 90° clockwise on the bed: the picture’s top is to the right."]


def setting_up(facts: Facts) -> list[str]:
    """Marker, zero and heights."""
    job, heights, unit = facts.drawing.job, facts.heights, facts.unit
    first = facts.loads[0] if facts.loads else None
    offset = (
        "on the spindle’s axis"
        if facts.lying.offset == (0.0, 0.0)
        else f"offset {size_in(facts.lying.offset, unit)} from the axis"
    )
    sprung = "sprung" if facts.holder.sprung else "rigid"
    marker = f"“{first.marker.name}”" if first else "the marker"
    swaps = (
        f", swaps at {height(facts, heights.swap_height, 'swap_lift')}" if heights.swap_height != heights.lift else ""
    )
    return [
        "Spindle off, and unplugged or locked out.",
        f"Put {marker} in the holder “{facts.holder.name}” ({sprung}, {offset}); "
        "run it on scrap until its line is solid.",
        f"Zero X and Y {zero_words(facts)}; zero Z with the tip just touching the canvas.",
        f"Heights: lift {height(facts, heights.lift, 'lift')}{hops(facts)}{swaps}, "
        f"press {length_in(heights.press, 'mm')}, last {length_in(heights.clearance, 'mm')} of the way down slowly; "
        f"program in {UNITS[job.machine.units]}." + own_heights(facts),
    ]


def height(facts: Facts, mm: float, name: str) -> str:
    """A height as the job writes it under [holder]; one that it does not write comes from the holder, in mm."""
    job, key = facts.drawing.job, f"holder.{name}"
    return length_in(mm, "mm" if job.at(key) is None else unit_at(job, key))


def hops(facts: Facts) -> str:
    """The lower lift between near strokes, and what it saves."""
    heights = facts.heights
    if heights.hop is None:
        return ""
    hop, within = height(facts, heights.hop, "hop"), height(facts, heights.hop_within, "hop_within")
    return f" ({hop} to strokes within {within}: saves about {duration(facts.saved_by_hops)})"


def zero_words(facts: Facts) -> str:
    """Where zero is set, and with what: the tip, or the axis if the job asks for it."""
    if facts.lying.motion is not None:
        return "no more: leave both where they were before the board was moved"
    where = facts.lying.zero_name.replace("'", "’")
    if facts.panel.wraps and facts.drawing.job.machine.zero == "face":
        where += ", where the left and the lower fold cross"
    if facts.lying.taken_off == (0.0, 0.0):
        markers = facts.drawing.job.markers
        other = any(marker.offset != (0.0, 0.0) for marker in markers)
        return f"with the tip{f' of “{markers[0].name}”' if other else ''} over {where}"
    return f"with the spindle’s axis, not the tip, over {where} (a pointed rod in the collet shows it)"


def own_heights(facts: Facts) -> str:
    """What markers say for themselves: another press, a wait with the tip down. A card's are what it tries."""
    if facts.drawing.card is not None:
        return ""
    sentences = []
    for marker in map(facts.drawing.job.marker, dict.fromkeys(facts.drawing.marker.tolist())):
        own = facts.heights.for_marker(marker)
        parts = [f"press {length_in(own.press, 'mm')}"] if own.press != facts.heights.press else []
        parts += [f"waits {own.settle:g} s with the tip down"] if own.settle else []
        sentences += [f" “{marker.name}”: {', '.join(parts)}."] if parts else []
    return "".join(sentences)


def drawing_steps(facts: Facts) -> list[str]:
    """One step a load, and one a program file where there are several."""
    if not facts.loads:
        return []
    lines: list[str] = []
    section = facts.lying.section or 1
    last: TimedLoad | None = None
    for name, loads, seconds in files_and_loads(facts):
        if facts.section_of(loads[0]) > section:
            section = facts.section_of(loads[0])
            lines += moving_along(facts, section)
        begin = f"{change(last, loads[0])}Start {name}" if last else f"Start {name}, and stay with the machine"
        last = loads[-1]
        lines.append(f"{begin}: {_load_words(loads[0], seconds)}.")
        if len(loads) > 1:
            lines[-1] += (
                " At each swap the machine waits at park: change the marker, set the tip’s height again, go on. If "
                "your machine cannot be moved in a pause, write a program for each load instead: "
                "underdraw gcode --split load."
            )
        lines += [
            f"{clock(load.start - loads[0].start)}  swap: {_load_words(load, load.seconds)}." for load in loads[1:]
        ]
    return [
        first_move(facts),
        *rehearsing(facts),
        *lines,
        "Before anything is moved: look for gaps and faint lines. “When a line fades” has what to type.",
    ]


def first_move(facts: Facts) -> str:
    """Where to stand before starting, and where the marker goes."""
    x, y = facts.drawing.coords[0]
    upper_left = corner(facts)
    head = f"Check that the program’s head reads “drawing sha256 {facts.drawing.digest}”. "
    none = "This sheet was made before a program: write one with underdraw gcode, and the sheet after it. "
    return (head if facts.programs else none) + (
        "Stand clear, with a hand at the stop. The marker rises first, then goes to the first stroke, "
        f"{away(float(x), float(y), facts.unit)} from {upper_left}."
    )


def corner(facts: Facts) -> str:
    """The corner that places are measured from, as it is on the bed."""
    return f"the {'board' if facts.panel.wraps else 'canvas'}’s upper left corner"


def rehearsing(facts: Facts) -> list[str]:
    """What the program does before it draws, where it was asked to."""
    if not facts.programs or not facts.programs[0].rehearsal:
        return []
    over = "waits over each mark that was measured, " if facts.lying.measured else ""
    return [
        f"The program first {over}goes round with the marker lifted, then waits: the image’s corners must be on the "
        "canvas, clear of clamps and staples."
    ]


def moving_along(facts: Facts, section: int) -> list[str]:
    """The board of a long panel on its way to the next section: moved, measured, and the program written for that."""
    sections = facts.lying.sections
    assert sections is not None
    way = "to the left" if sections.axis == 0 else "towards you"
    spots = facts.marks_due(section)
    find = f"marks {', '.join(number for number, _ in spots)}" if spots else "three points drawn already, far apart"
    due = f" Near {'; '.join(f'{number}: {spot}' for number, spot in spots)}." if spots else ""
    number, spot = spots[0] if spots else ("1", "1 × 2 in")
    table = f'[[mark]], number = {number}, read = "{spot.replace("×", "x")}"'
    readings = f"section-{section}.toml"
    programs = [program for program in facts.programs if facts.section_of(program) == section]
    written = f"section-{section}.nc"
    if programs:
        written = programs[0].file if len(programs) == 1 else programs[0].asked_name
    return [
        f"Section {section} of {sections.count}: move the board {way} by {length_in(sections.step, facts.unit)}, with "
        "a support under what is beyond the bed, and fix it. Leave X and Y zero as they are.",
        f"Put the tip over {find}, and write what X and Y show into {readings}, three lines each: {table}.{due}",
        f"Write the program for the board as it lies: underdraw refit --section {section} --measured {readings} "
        f"-i {as_typed(facts.drawing_file)} -o section-{section}.svg && underdraw gcode -i section-{section}.svg "
        f"-o {as_typed(written)}",
    ]


def change(before: TimedLoad, load: TimedLoad) -> str:
    """What to do before the next program: another marker, unless one that is not spent goes on in the next section."""
    if (before.marker.name, before.number) == (load.marker.name, load.number):
        return "Set the tip’s height again. "
    return f"Change to {_marker_words(load)}, set the tip’s height again. "


def files_and_loads(facts: Facts) -> list[tuple[str, list[TimedLoad], float]]:
    """Each program file by name, in the order they are drawn, with the loads that it draws, and the s of the first.

    Of one that draws a single load these are its own, with the way from park and back.
    """
    if not facts.programs:
        by_section = {
            section: [load for load in facts.loads if facts.section_of(load) == section]
            for section in dict.fromkeys(facts.section_of(load) for load in facts.loads)
        }
        return [
            (f"section-{each}" if each else "the program", loads, loads[0].seconds)
            for each, loads in by_section.items()
        ]
    found: list[tuple[str, list[TimedLoad], float]] = []
    for program in facts.programs:
        loads = [load for load in facts.loads if any(load.first == held.first for held in program.loads)]
        found.append((f"“{program.file}”", loads, program.seconds if len(loads) == 1 else loads[0].seconds))
    return found


def _load_words(load: TimedLoad, seconds: float) -> str:
    strokes = f"stroke {load.first}" if load.strokes == 1 else f"strokes {load.first:,} to {load.last:,}"
    return f"{_marker_words(load)} draws {strokes}, about {duration(seconds)}"


def _marker_words(load: TimedLoad) -> str:
    return f"{'' if load.number == 1 else 'a fresh '}“{load.marker.name}”"


def strokes_in_words(load: TimedLoad) -> str:
    """`1–211 (211 strokes)`, `212 (1 stroke)`."""
    numbers = f"{load.first:,}" if load.strokes == 1 else f"{load.first:,}–{load.last:,}"
    return f"{numbers} ({counted(load.strokes, 'stroke')})"
