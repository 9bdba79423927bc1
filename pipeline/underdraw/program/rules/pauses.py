"""Pauses for the operator: where a marker is swapped and nowhere else, marker lifted, asking for the right one.

A dwell goes on by itself, and M1 only waits where a switch is set (NISTIR 6556, section 3.6.1): neither is a pause.
"""

import re

import numpy as np
from numpy.typing import NDArray

from underdraw.program.codes import G_CODES, M_CODES, MODELESS, PAUSES
from underdraw.program.moves import RAPID
from underdraw.program.rules.asked import look_alike, named_marker
from underdraw.program.rules.reading import Index, Reading

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
PARK_SLACK_MM = 0.05
MESSAGE = re.compile(r"^\s*MSG\s*,", re.IGNORECASE)  # NISTIR 6556, section 3.3.5.1
OPTIONAL_STOP = 1  # M1


def check(reading: Reading) -> None:
    """Where the marker is at each pause, and which strokes come before and after it."""
    _check_lifted(reading)
    _check_raised_again(reading)
    _check_stated_again(reading)
    _check_swaps(reading)
    _check_announced(reading)


def _check_lifted(reading: Reading) -> None:
    """At each pause the marker is lifted, as high as markers are swapped, over park; or over a mark, to look at it."""
    moves, expected, faults = reading.moves, reading.expected, reading.faults
    last = np.searchsorted(moves.line, moves.pauses, side="right") - 1
    known = last >= 0
    lines, last = moves.pauses[known], last[known]
    down = moves.down_at_end[last]
    faults.add_all("pause", lines[down], "waits for the operator with the marker down")
    optional = reading.blocks.line[reading.blocks.m["stopping"] == OPTIONAL_STOP]
    before = np.searchsorted(moves.line, optional, side="right") - 1
    optional, before = optional[before >= 0], before[before >= 0]
    faults.add_all("pause", optional[moves.down_at_end[before]], "an optional stop with the marker down")
    looks = _over_marks(reading, moves.end[last, :2], lines)
    if expected.heights and not reading.own_heights:
        height = moves.end[last, 2]
        due = np.where(looks, expected.range_of("lift")[1], expected.range_of("swap_height")[1])
        low = np.flatnonzero(~down & (height < due - reading.height_slack))
        faults.add_each(
            "pause",
            lines[low],
            lambda k: (
                f"waits with the marker at {faults.length(height[low[k]])}; "
                f"{'travel is' if looks[low[k]] else 'swaps are'} at {faults.length(due[low[k]])}"
            ),
        )
    if expected.lying is not None:
        slack = PARK_SLACK_MM + expected.coordinate_step(faults.unit)
        apart = np.hypot(*(moves.end[last, :2] - np.asarray(expected.lying.park_in_program)).T)
        away = np.flatnonzero((apart > slack) & ~looks)
        faults.add_each("pause", lines[away], lambda k: f"waits {faults.length(apart[away[k]])} away from park")


def _over_marks(reading: Reading, spots: Array, lines: Index) -> Flags:
    """(k,) whether a pause is over a point that the board was measured at, before anything is drawn."""
    expected = reading.expected
    if expected.lying is None or not expected.lying.measured:
        return np.zeros(len(spots), dtype=np.bool_)
    first = [str(reading.markers[0])] if len(reading.markers) else []
    tips = expected.lying.to_program(np.array(expected.lying.measured))
    tips = tips - (expected.lying.tip_shifts(first) if first else 0.0)
    near = np.hypot(*(spots[:, None] - tips[None]).transpose(2, 0, 1)).min(axis=1)
    drawn = reading.moves.line[reading.first_moves].min(initial=np.iinfo(np.int64).max)
    return np.asarray((near <= PARK_SLACK_MM + expected.coordinate_step(reading.faults.unit)) & (lines < drawn))


def _check_raised_again(reading: Reading) -> None:
    """After a pause the marker is raised before it travels: whoever set its height again may have left it down."""
    if reading.own_heights or not reading.expected.heights:
        return
    moves = reading.moves
    sets = reading.blocks.has("Z")[reading.block_of_move]
    text = "travels after a pause before the marker is raised again: it may rest on the canvas"
    reading.faults.add_all("pause", moves.line[moves.pause & moves.sideways & ~(sets & ~moves.down_at_end)], text)


def _check_stated_again(reading: Reading) -> None:
    """After a pause every mode is stated before anything moves, and a feed before it is used.

    Whoever jogs, or types a word, may leave the machine in other units, in steps, or at another feed.
    """
    dialect, moves, blocks, faults = reading.expected.dialect, reading.moves, reading.blocks, reading.faults
    if dialect is None or not len(moves):
        return
    wanted = dialect.modes.get(faults.unit, frozenset())
    stops = np.flatnonzero(np.isin(blocks.m["stopping"], (*PAUSES, OPTIONAL_STOP)))
    feeding = np.flatnonzero(moves.kind != RAPID)
    for stop in stops.tolist():
        later = np.flatnonzero(reading.block_of_move > stop)
        if not len(later):
            continue
        move = int(reading.block_of_move[later[0]])
        gone = [
            f"{letter}{code:g}" for letter, code in sorted(wanted) if not _stated(reading, letter, code, stop, move)
        ]
        if gone:
            text = f"moves after a pause before {' '.join(gone)} is stated again: a hand may have changed it"
            faults.add("pause", int(blocks.line[move]), text)
        later = feeding[reading.block_of_move[feeding] > stop]
        if len(later):
            first = int(reading.block_of_move[later[0]])
            if not blocks.has("F")[stop + 1 : first + 1].any():
                faults.add("pause", int(blocks.line[first]), "a feed after a pause that is not stated again (F)")


def _stated(reading: Reading, letter: str, code: float, after: int, until: int) -> bool:
    """Whether a modal word stands in a block after one and up to another; true of words that set nothing that lasts."""
    known = (G_CODES if letter == "G" else M_CODES).get(code)
    if known is None or known.group in MODELESS:
        return True
    column = (reading.blocks.g if letter == "G" else reading.blocks.m)[known.group]
    return bool((column[after + 1 : until + 1] == code).any())


def _check_announced(reading: Reading) -> None:
    """The first load that the header announces is of the marker that the first strokes want, and no stroke is gone."""
    drawn, faults = reading.drawn, reading.faults
    if not reading.announced or not drawn.strokes:
        return
    line, first = reading.comments[0][0], reading.announced[0].marker
    known = reading.markers[reading.markers != ""]
    if first and len(known) and not look_alike(body := reading.body_of(str(known[0])), first):
        text = f"the header announces marker {first!r} for the first load; its strokes are of {body!r}"
        faults.add("pause", line, text)
    total = sum(load.strokes for load in reading.announced)
    if reading.comparison is None and total != drawn.strokes:
        code = "missing" if drawn.strokes < total else "extra"
        faults.add(code, line, f"the header announces {total} strokes, and the program draws {drawn.strokes}")


def _check_swaps(reading: Reading) -> None:
    """Between strokes of two loads there is a pause that asks for the marker of the second, and none within a load."""
    faults, moves = reading.faults, reading.moves
    known = np.flatnonzero(reading.loads >= 0)
    if not len(known):
        return
    loads, markers = reading.loads[known], [reading.body_of(name) for name in reading.markers[known].tolist()]
    lines = moves.line[reading.first_moves[known]]
    paused = np.searchsorted(moves.pauses, lines)  # pauses before each stroke
    changes, waits = np.diff(loads) != 0, np.diff(paused) > 0
    for row in (np.flatnonzero(changes & ~waits) + 1).tolist():
        wanted = _fresh(str(markers[row]), bool(markers[row] == markers[row - 1]))
        hint = _not_a_pause(reading, int(lines[row - 1]), int(lines[row]))
        faults.add("pause", int(lines[row]), f"no pause to put in {wanted} before this stroke{hint}")
    for row in np.flatnonzero(~changes & waits).tolist():
        text = "a pause between two strokes of one load" + (f", marker {str(markers[row])!r}" if markers[row] else "")
        faults.add("pause", int(moves.pauses[paused[row]]), text)
    early = np.flatnonzero((np.diff(loads) < 0) & waits) + 1
    faults.add_all("pause", lines[early], "a load that comes before the one drawn last: the loads are exchanged")
    for row in [0, *(np.flatnonzero(changes & waits) + 1).tolist()]:
        if paused[row]:
            _check_text(reading, int(moves.pauses[paused[row] - 1]), str(markers[row]), swap=row > 0)


def _check_text(reading: Reading, pause: int, marker: str, swap: bool) -> None:
    """The message at a pause names the marker that the strokes after it want.

    A program without any comment is one for a machine that shows none.
    """
    dialect = reading.expected.dialect
    text = text_at(reading, pause)
    if dialect is None or not dialect.comments or not reading.comments or not marker:
        return
    found = named_marker(text, [*reading.expected.heights, marker])
    if (found is None and not swap) or (found is not None and look_alike(found, marker)):
        return
    asks = "names no marker" if found is None else f"asks for marker {found!r}"
    reading.faults.add("pause", pause, f"the pause {asks}; the strokes after it are of {marker!r}")


def text_at(reading: Reading, pause: int) -> str:
    """The comments and messages that belong to a pause: on its line, and between the block before it and it."""
    lines = reading.blocks.line
    before = lines[lines < pause]
    first = int(before[-1]) if len(before) else 0
    numbers = np.array([line for line, _ in reading.comments], dtype=np.int64)
    low, high = np.searchsorted(numbers, [first, pause], side="right")
    return " ".join(MESSAGE.sub("", text).strip() for _, text in reading.comments[low:high])


def _fresh(marker: str, same: bool) -> str:
    name = f"marker {marker!r}" if marker else "the next marker"
    return f"a fresh {name}" if same and marker else name


def _not_a_pause(reading: Reading, after: int, before: int) -> str:
    """What stands there that may have been meant for a pause."""
    blocks = reading.blocks
    between = (blocks.line > after) & (blocks.line < before)
    if (between & (blocks.m["stopping"] == OPTIONAL_STOP)).any():
        return ": M1 waits only where a switch is set; use M0"
    if (between & (blocks.g["non-modal"] == 4)).any():
        return ": a dwell (G4) goes on by itself; use M0"
    return ""
