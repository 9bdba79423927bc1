"""The rules a program is held against once its moves are known: each a few lines over all moves at once."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.program.drawn import Drawn
from underdraw.program.moves import RAPID, Moves
from underdraw.program.problems import Faults
from underdraw.words.lengths import format_length

Array = NDArray[np.float64]
SLACK_MM = 0.01  # what rounding in a program and on the wire may add up to
IMAGE_SLACK_MM = 0.05  # an arc along the image's edge may bulge past it by what a program may stray from its drawing
SPEED_SLACK = 1.01  # rounding of feeds: a hundredth of the speed is no other line


def check_moves(moves: Moves, ended: bool, faults: Faults) -> None:
    """What a program alone can show."""
    line, sideways = moves.line, moves.sideways
    rapid, down = moves.kind == RAPID, moves.down_at_start | moves.down_at_end
    lowers, raises = ~moves.down_at_start & moves.down_at_end, moves.down_at_start & ~moves.down_at_end
    unknown_start = np.isnan(moves.start[:, :2]).any(axis=1)

    unsaid = np.flatnonzero(sideways & np.isnan(moves.end[:, 2]))
    if len(unsaid):
        faults.add("height", int(line[unsaid[0]]), "moves sideways before any Z says that the marker is lifted")
    lost = np.flatnonzero(~rapid & sideways & unknown_start)
    faults.add_all("start", line[lost], "draws from a place that no word before it says")
    faults.add_all("feed", line[~rapid & ~(moves.feed > 0)], "a move at a feed of 0, or at none that is said")
    dragged = rapid & sideways & down
    faults.add_all("rapid-down", line[dragged], "a rapid (G0) moves sideways with the marker down")
    plunged = rapid & lowers & ~sideways
    faults.add_all("rapid-down", line[plunged], "a rapid (G0) puts the marker down: the tip strikes the canvas")
    faults.add_all("slanted", line[~rapid & sideways & lowers], "lowers the marker while it moves sideways")
    faults.add_all("slanted", line[~rapid & sideways & raises], "raises the marker while it moves sideways")
    if len(moves) and moves.down_at_end[-1]:
        faults.add("ends-down", int(line[-1]), "the program ends with the marker down")
    if not ended:
        faults.add("no-end", int(line[-1]) if len(moves) else 0, "no M2, M30 or closing % says the end")


def check_place(drawn: Drawn, faults: Faults) -> None:
    """What a job adds: the image and the reach."""
    _check_image(drawn, faults)
    _check_reach(drawn, faults)


def check_speeds(drawn: Drawn, markers: NDArray[Any] | None, faults: Faults) -> None:
    """No stroke is faster than its ink takes; than the job's fastest where its marker is not known.

    markers: (k,) names by program stroke, or None.
    """
    expected, moves = drawn.expected, drawn.moves
    if not expected.speeds:
        return
    fastest = max(expected.speeds.values())
    limit = np.full(len(moves), fastest)
    if markers is not None and len(markers):
        by_stroke = np.array([expected.speeds.get(name, fastest) for name in markers.tolist()])
        within = drawn.stroke > 0
        limit[within] = by_stroke[drawn.stroke[within] - 1]
    fast = np.flatnonzero(moves.drawing & (moves.feed > limit * SPEED_SLACK))
    faults.add_each(
        "too-fast",
        moves.line[fast],
        lambda k: f"draws at {faults.speed(moves.feed[fast[k]])}; its ink takes {faults.speed(limit[fast[k]])}",
    )


def _check_image(drawn: Drawn, faults: Faults) -> None:
    """The marker is down within the image, which is the board."""
    board = drawn.expected.board
    if board is None:
        return
    size = np.array(board)
    _, offsets, at = drawn.lines
    beyond = _beyond(drawn.on_board, size)
    worst = np.maximum.reduceat(beyond, offsets[:-1]) if len(at) else np.empty(0)
    outside = np.flatnonzero(worst > IMAGE_SLACK_MM)
    faults.add_each(
        "outside-image",
        drawn.moves.line[at[outside]],
        lambda k: f"draws {faults.length(worst[outside[k]])} outside the image of {faults.size(board)}",
    )
    dots, touches = drawn.dots
    past = _beyond(dots, size)
    stray = np.flatnonzero(past > IMAGE_SLACK_MM)
    faults.add_each(
        "outside-image",
        drawn.moves.line[touches[stray]],
        lambda k: f"touches {faults.length(past[stray[k]])} outside the image of {faults.size(board)}",
    )


def _beyond(points: Array, size: Array) -> Array:
    """(n,) mm by which points lie outside a box from (0, 0) to `size`; 0 or less inside."""
    return np.asarray(np.maximum(-points, points - size).max(axis=1))


def _check_reach(drawn: Drawn, faults: Faults) -> None:
    """The controlled point stays on the bed, however the board may lie there."""
    expected, moves = drawn.expected, drawn.moves
    reach, bed = expected.reach, expected.machine.bed
    if reach is None or bed is None or not len(moves):
        return
    spot = moves.end[:, :2] + np.asarray(expected.zero)
    coords, offsets, at = drawn.lines
    low, high = spot.copy(), spot.copy()
    if len(at):  # arcs bulge beyond their ends
        on_bed = coords + np.asarray(expected.zero)
        low[at] = np.fmin(low[at], np.minimum.reduceat(on_bed, offsets[:-1]))
        high[at] = np.fmax(high[at], np.maximum.reduceat(on_bed, offsets[:-1]))
    room = np.array(reach)
    over = np.nan_to_num(np.maximum(room[:2] - low, high - room[2:])).max(axis=1)
    outside = np.flatnonzero(over > SLACK_MM)
    faults.add_each(
        "outside-reach",
        moves.line[outside],
        lambda k: (
            f"goes {faults.length(over[outside[k]])} off the bed of {faults.size(bed)}, however the board lies on it"
        ),
    )
    if len(outside):
        return
    span = np.fmax.reduce(high, axis=0) - np.fmin.reduce(low, axis=0)  # nan along an axis that no word places
    for axis, name in ((0, "X"), (1, "Y")):
        if span[axis] > bed[axis] + SLACK_MM:
            middle = np.nanmean(spot[:, axis])
            far = int(np.nanargmax(np.abs(spot[:, axis] - middle)))
            needs, has = faults.length(span[axis], 1), format_length(bed[axis], faults.unit)
            text = f"the program needs {needs} of travel along {name} and the bed has {has}"
            faults.add("outside-reach", int(moves.line[far]), text)
