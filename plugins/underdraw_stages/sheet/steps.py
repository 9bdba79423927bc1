"""What to do at the machine, in order, each with a box to tick."""

from underdraw.machine.loads import Load
from underdraw.panel.lying import lies_turned
from underdraw.words.quantities import clock, counted, duration, length_in, size_in
from underdraw_stages.sheet.contents import UNITS, Facts

ZEROS = {
    "board": "the board’s lower left corner",
    "face": "the face’s lower left corner, where the left and the lower fold cross",
    "centre": "the middle of the board",
    "pin": "the first index pin",
}
STRETCHED_ZEROS = {  # on its frame a canvas has no board under it, and no folds on its face
    **ZEROS,
    "board": "the canvas’s lower left corner",
    "face": "the canvas’s lower left corner",
    "centre": "the middle of the canvas",
}


def steps(facts: Facts) -> list[str]:
    """Every step up to the last stroke."""
    return [*mounting(facts), *lying(facts), *setting_up(facts), *drawing_steps(facts)]


def mounting(facts: Facts) -> list[str]:
    """The canvas on the bed."""
    panel, job = facts.panel, facts.drawing.job
    if not panel.wraps:
        return [
            "Lay the stretched canvas on the bed, face up, with a support under the canvas that just touches it: "
            "canvas that is not taut gives under the tip.†",
            "Fix the frame so that it cannot slide; keep clamps below the canvas and out of the marker’s way.",
        ]
    pins = " and ".join(size_in((x, panel.image[1] - y), facts.unit) for x, y in panel.pins)
    told = f"index pins at {pins} from its lower left corner" if job.at("machine.pin") else "two index pins or stops"
    return [
        "Prime the canvas if it is raw, and let it dry.",
        f"Staple the canvas to the edge of the board, {length_in(panel.staple, facts.unit)} over on each side, taut "
        "and square. Tape would pull loose as wet paint dries.†",
        f"Fix the board on the bed with {told}, so that it comes back to the same place after painting.",
    ]


def lying(facts: Facts) -> list[str]:
    """Which way up the picture lies, where it was turned to go on the bed; sizes here are of the panel as it lies."""
    if not lies_turned(facts.drawing):
        return []
    return ["The panel lies a quarter round on the bed, and is measured so here: the picture’s top is to the right."]


def setting_up(facts: Facts) -> list[str]:
    """Marker, zero and heights."""
    job, heights, unit = facts.drawing.job, facts.heights, facts.unit
    first = facts.loads[0] if facts.loads else None
    offset = (
        "on the spindle’s axis" if facts.offset == (0.0, 0.0) else f"offset {size_in(facts.offset, unit)} from the axis"
    )
    sprung = "sprung" if facts.holder.sprung else "rigid"
    marker = f"“{first.marker.name}”" if first else "the marker"
    swaps = f", swaps at {length_in(heights.swap_height, 'mm')}" if heights.swap_height != heights.lift else ""
    return [
        "Spindle off, and unplugged or locked out.",
        f"Put {marker} in the holder “{facts.holder.name}” ({sprung}, {offset}); "
        "run it on scrap until its line is solid.",
        f"Zero X and Y {zero_words(facts)}; zero Z with the tip just touching the canvas.",
        f"Heights: lift {length_in(heights.lift, 'mm')}{swaps}, press {length_in(heights.press, 'mm')}, "
        f"last {length_in(heights.clearance, 'mm')} of the way down slowly; program in {UNITS[job.machine.units]}."
        + own_heights(facts),
        "Rehearse with the marker lifted: the image’s corners must lie on the canvas, clear of clamps and staples.",
    ]


def zero_words(facts: Facts) -> str:
    """Where zero is set, and with what: the program takes a holder's offset off, so there the axis must be over it."""
    where = (ZEROS if facts.panel.wraps else STRETCHED_ZEROS)[facts.drawing.job.machine.zero]
    if facts.offset == (0.0, 0.0):
        return f"with the tip over {where}"
    return f"with the spindle’s axis, not the tip, over {where} (a pointed rod in the collet shows it)"


def own_heights(facts: Facts) -> str:
    """What markers say for themselves: another press, a wait with the tip down."""
    told = []
    for marker in {load.marker.name: load.marker for load in facts.loads}.values():
        own = facts.heights.for_marker(marker)
        parts = [f"press {length_in(own.press, 'mm')}"] if own.press != facts.heights.press else []
        parts += [f"waits {own.settle:g} s with the tip down"] if own.settle else []
        told += [f" “{marker.name}”: {', '.join(parts)}."] if parts else []
    return "".join(told)


def drawing_steps(facts: Facts) -> list[str]:
    """One step a load."""
    if not facts.loads:
        return []
    told = [f"Start, and stay with the machine: {_load_words(facts.loads[0])}."]
    if len(facts.loads) > 1:
        told[0] += " At each swap the machine waits at park: change the marker, set the tip’s height again, go on."
    told += [f"{clock(load.start)}  swap: {_load_words(load)}." for load in facts.loads[1:]]
    return [
        *told,
        "Before anything is moved: look for gaps. A faded run can be drawn again from its stroke’s number.",
    ]


def _load_words(load: Load) -> str:
    strokes = f"stroke {load.first}" if load.strokes == 1 else f"strokes {load.first:,} to {load.last:,}"
    fresh = "" if load.number == 1 else "a fresh "
    return f"{fresh}“{load.marker.name}” draws {strokes}, about {duration(load.seconds)}"


def strokes_in_words(load: Load) -> str:
    """`1 to 211 (211 strokes)`."""
    return f"{load.first:,}–{load.last:,} ({counted(load.strokes, 'stroke')})"
