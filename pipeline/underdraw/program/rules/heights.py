"""Heights that a job knows: travel at the lift, the slow approach, each marker's press, the machine's top."""

import numpy as np

from underdraw.program.codes import PAUSES
from underdraw.program.moves import RAPID
from underdraw.program.rules.motion import SAME_MM
from underdraw.program.rules.reading import Flags, Reading
from underdraw.words.lengths import LENGTH_UNITS

STOPS = (*PAUSES, 1)  # with M1, which may wait


def check(reading: Reading) -> None:
    """Of a controller with words of its own for the marker's height, that no other height is reached."""
    _check_top(reading)
    if not reading.expected.heights:
        return
    if reading.own_heights:
        _check_own(reading)
        return
    _check_travel(reading)
    _check_approach(reading)
    _check_press(reading)


def _check_top(reading: Reading) -> None:
    """Nothing goes higher than the machine can."""
    top, moves, faults = reading.expected.machine.height, reading.moves, reading.faults
    if top is None:
        return
    high = np.flatnonzero(moves.end[:, 2] > top + reading.height_slack)
    faults.add_each(
        "lift",
        moves.line[high],
        lambda k: f"rises to {faults.length(moves.end[high[k], 2])}; the machine ends at {faults.length(top)}",
    )


def _check_own(reading: Reading) -> None:
    dialect, moves = reading.expected.dialect, reading.moves
    assert dialect is not None
    known = np.array(sorted(dialect.own_heights)) * LENGTH_UNITS[reading.faults.unit]
    height = moves.end[:, 2]
    off = np.abs(height[:, None] - known).min(axis=1) > reading.height_slack
    text = f"a height that no word of controller {dialect.name!r} means"
    reading.faults.add_all("lift", moves.line[off & (height != moves.start[:, 2])], text)


def _check_travel(reading: Reading) -> None:
    """Between the lift and the height for swaps, and no higher: a lift in another unit is found without a top."""
    moves, faults, slack = reading.moves, reading.faults, reading.height_slack
    lift, _ = reading.expected.range_of("lift")
    _, highest = reading.expected.range_of("swap_height")
    highest = max([highest, *(box.height for box in reading.expected.machine.keep_out)])
    lower = np.fmin(moves.start[:, 2], moves.end[:, 2])
    low = np.flatnonzero(
        moves.sideways & ~moves.drawing & (lower < np.where(_hops(reading), _hop(reading), lift) - slack)
    )
    faults.add_each(
        "lift",
        moves.line[low],
        lambda k: f"travels {faults.length(lower[low[k]])} above the canvas; the lift is {faults.length(lift)}",
    )
    high = np.flatnonzero((moves.end[:, 2] > highest + slack) & ~(moves.start[:, 2] >= moves.end[:, 2]))
    faults.add_each(
        "lift",
        moves.line[high],
        lambda k: f"rises to {faults.length(moves.end[high[k], 2])}; {faults.length(highest)} is the most expected",
    )


def _hop(reading: Reading) -> float:
    """mm: the lift of hops; infinite where the job has none."""
    return min(
        (heights.hop for heights in reading.expected.heights.values() if heights.hop is not None), default=np.inf
    )


def _hops(reading: Reading) -> Flags:
    """(m,) whether a move is between two strokes near enough to each other for a hop, with no wait for the operator."""
    moves, drawn = reading.moves, reading.drawn
    near = np.zeros(len(moves), dtype=np.bool_)
    if not np.isfinite(_hop(reading)) or not len(moves):
        return near
    within = max(heights.hop_within for heights in reading.expected.heights.values())
    travels = moves.sideways & ~moves.drawing
    length = np.bincount(drawn.stroke, weights=np.where(travels, drawn.lengths, 0.0))
    between = (np.arange(len(length)) > 0) & (np.arange(len(length)) < drawn.strokes)
    stops = reading.blocks.line[np.isin(reading.blocks.m["stopping"], STOPS)]
    first = np.searchsorted(stops, moves.line[np.searchsorted(drawn.stroke, np.arange(len(length)))])
    waits = np.append(np.diff(first) > 0, True)
    return np.asarray((between & (length <= within + reading.height_slack) & ~waits)[drawn.stroke])


def _check_approach(reading: Reading) -> None:
    """A rapid ends where the slow approach begins, or above."""
    moves, faults = reading.moves, reading.faults
    clearance, _ = reading.expected.range_of("clearance")
    height = moves.end[:, 2]
    falls = (moves.kind == RAPID) & (height < moves.start[:, 2] - SAME_MM)
    low = np.flatnonzero(falls & ~moves.down_at_end & (height < clearance - reading.height_slack))
    faults.add_each(
        "rapid-down",
        moves.line[low],
        lambda k: (
            f"a rapid (G0) comes down to {faults.length(height[low[k]])} above the canvas; the slow approach begins at "
            f"{faults.length(clearance)}"
        ),
    )


def _check_press(reading: Reading) -> None:
    """Each stroke is drawn with its marker pressed in as far as that should be."""
    moves, drawn, faults, slack = reading.moves, reading.drawn, reading.faults, reading.height_slack
    least, most = reading.height_bounds("press")
    depth = -moves.end[:, 2]
    sinks = moves.down_at_end & ~(np.abs(moves.start[:, 2] - moves.end[:, 2]) <= SAME_MM)
    inside = np.flatnonzero(sinks & (drawn.stroke > 0))
    deep = inside[depth[inside] > reading.of_moves(most, inside) + slack]
    due = reading.of_moves(most, deep)
    faults.add_each(
        "depth",
        moves.line[deep],
        lambda k: f"goes {faults.length(depth[deep[k]])} below Z0; the press is {faults.length(due[k])}",
    )
    reached = np.full(drawn.strokes, -np.inf)  # how deep it is when it begins to draw, or, of a dot, at the deepest
    down = np.flatnonzero(moves.down_at_end & ~reading.has_drawn & ~moves.drawing)
    np.maximum.at(reached, drawn.stroke[down] - 1, depth[down])
    begins = np.flatnonzero(moves.drawing & ~reading.has_drawn)
    reached[drawn.stroke[begins] - 1] = -moves.start[begins, 2]
    shallow = np.flatnonzero(reached < least - slack)
    faults.add_each(
        "depth",
        moves.line[reading.first_moves[shallow]],
        lambda k: (
            f"draws {faults.length(-reached[shallow[k]])} above Z0; the press is {faults.length(least[shallow[k]])}"
            if reached[shallow[k]] < 0
            else f"draws with the marker pressed in by {faults.length(reached[shallow[k]] + 0.0)}; the press is "
            f"{faults.length(least[shallow[k]])}"
        ),
    )
