"""Speeds that a job or the header knows: of each stroke, both ways, and of the tip as it touches down."""

import numpy as np

from underdraw.program.moves import RAPID
from underdraw.program.rules.motion import SAME_MM
from underdraw.program.rules.reading import Array, Index, Reading
from underdraw.words.lengths import LENGTH_UNITS

SLACK = 0.01  # of a speed: a hundredth more or less is no other line; the rounding of feeds comes on top


def check(reading: Reading) -> None:
    """Drawing, and touching down."""
    moves, drawn, expected = reading.moves, reading.drawn, reading.expected
    low, high = reading.speed_bounds()
    rows = np.flatnonzero(moves.drawing & (moves.kind != RAPID))
    due = "its ink takes" if expected.speeds else "the header announces"
    _hold(reading, rows, reading.of_moves(low, rows), reading.of_moves(high, rows), "draws", due)
    if expected.heights and not reading.own_heights:
        low, high = (
            np.minimum(side, min(expected.machine.rapid, expected.machine.up_and_down[0]))
            for side in reading.height_bounds("touch_speed")
        )
        falls = (moves.end[:, 2] < moves.start[:, 2] - SAME_MM) & (moves.kind != RAPID) & (drawn.stroke > 0)
        rows = np.flatnonzero(falls & moves.down_at_end & ~moves.sideways)
        text = "lowers the marker", "the touch speed is"
        _hold(reading, rows, reading.of_moves(low, rows), reading.of_moves(high, rows), *text)
        clearance, _ = expected.range_of("clearance")
        short = np.flatnonzero(falls & ~moves.down_at_end & (moves.end[:, 2] < clearance - reading.height_slack))
        _hold(reading, short, np.zeros(len(short)), reading.of_moves(high, short), *text)  # slower harms nothing


def _hold(reading: Reading, rows: Index, low: Array, high: Array, does: str, due: str) -> None:
    """Moves faster or slower than they should be, mm/s; a feed is written to the step below, or to the least one."""
    faults, speed = reading.faults, reading.moves.feed[rows]
    dialect, a_minute = reading.expected.dialect, LENGTH_UNITS[faults.unit] / 60
    step = reading.expected.feed_step(faults.unit) if dialect else a_minute  # of a writer unknown: whole numbers
    fast = np.flatnonzero(speed > np.maximum(high, step) * (1 + SLACK))
    slow = np.flatnonzero((speed > 0) & (speed < low * (1 - SLACK) - step))
    for code, which, limit in (("too-fast", fast, high), ("too-slow", slow, low)):
        _tell(reading, code, rows[which], limit[which], does, due)


def _tell(reading: Reading, code: str, rows: Index, limit: Array, does: str, due: str) -> None:
    faults, speed = reading.faults, reading.moves.feed[rows]
    faults.add_each(
        code, reading.moves.line[rows], lambda k: f"{does} at {faults.speed(speed[k])}; {due} {faults.speed(limit[k])}"
    )
