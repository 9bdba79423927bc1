"""Where the job's board, bed and park are: drawing within the image, all motion within reach, no travel far from it."""

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.boxes import Box
from underdraw.program.drawn import Drawn
from underdraw.program.problems import Faults
from underdraw.program.rules.reading import Index, Reading
from underdraw.words.lengths import format_length

Array = NDArray[np.float64]
SLACK_MM = 0.01  # what rounding in a program and on the wire may add up to
IMAGE_SLACK_MM = 0.05  # an arc along the image's edge may bulge past it by what a program may stray from its drawing
ROOM_SLACK_MM = 1.0  # travel beyond board, park and zero by less meets nothing that they do not


def check(reading: Reading) -> None:
    """All three; nothing where it is not known how the board lies."""
    _check_image(reading)
    _check_reach(reading.drawn, reading.faults)
    _check_room(reading.drawn, reading.faults)


def _check_room(drawn: Drawn, faults: Faults) -> None:
    """Travel has nothing to look for beyond the board, park and program zero: clamps, stops and hands are there."""
    room, moves = drawn.expected.room, drawn.moves
    if room is None or not len(moves):
        return
    spot = moves.end[:, :2]
    over = np.nan_to_num(np.maximum(np.array(room[:2]) - spot, spot - np.array(room[2:]))).max(axis=1)
    stray = np.flatnonzero((over > ROOM_SLACK_MM) & ~moves.drawing)
    faults.add_each(
        "outside-reach",
        moves.line[stray],
        lambda k: f"travels {faults.length(over[stray[k]])} beyond the board, park and program zero",
    )


def _check_image(reading: Reading) -> None:
    """The marker is down within the image, which is the board, or on the scrap that the job names to prime on."""
    drawn, faults = reading.drawn, reading.faults
    board = drawn.expected.board
    if board is None:
        return
    lying = drawn.expected.lying
    boxes = [(0.0, 0.0, *board)] + ([lying.prime_box] if lying is not None and lying.prime_box else [])
    _, offsets, at = drawn.lines
    worst = np.empty(0)
    if len(at):
        tips = (np.repeat(each, np.diff(offsets), axis=0) for each in _tips(reading, at))
        worst = np.minimum.reduce(
            [np.maximum.reduceat(_beyond(drawn.on_board + each, boxes), offsets[:-1]) for each in tips]
        )
    outside = np.flatnonzero(worst > IMAGE_SLACK_MM)
    faults.add_each(
        "outside-image",
        drawn.moves.line[at[outside]],
        lambda k: f"draws {faults.length(worst[outside[k]])} outside the image of {faults.size(board)}",
    )
    dots, touches = drawn.dots
    past = np.minimum.reduce([_beyond(dots + each, boxes) for each in _tips(reading, touches)])
    stray = np.flatnonzero(past > IMAGE_SLACK_MM)
    faults.add_each(
        "outside-image",
        drawn.moves.line[touches[stray]],
        lambda k: f"touches {faults.length(past[stray[k]])} outside the image of {faults.size(board)}",
    )


def _tips(reading: Reading, moves: Index) -> list[Array]:
    """(k, 2) mm on the board from the first marker's tip to that of the marker of each of these moves.

    Where that is not known, one of them is right: there is one for each marker that it may be.
    """
    lying = reading.expected.lying
    if lying is None or not reading.expected.shifts_tips:
        return [np.zeros((len(moves), 2))]
    names = np.array(reading.markers, dtype=object)[reading.drawn.stroke[moves] - 1]
    unknown = names == ""
    may_be = [marker.name for marker in lying.job.markers] if unknown.any() else [""]
    return [lying.tip_shifts_on_board(np.where(unknown, name, names).tolist()) for name in may_be]


def _beyond(points: Array, boxes: list[Box]) -> Array:
    """(n,) mm by which points lie outside all of these boxes; 0 or less inside one."""
    by_box = [np.maximum(np.array(box[:2]) - points, points - np.array(box[2:])).max(axis=1) for box in boxes]
    return np.asarray(np.minimum.reduce(by_box))


def _check_reach(drawn: Drawn, faults: Faults) -> None:
    """The controlled point stays on the bed, however the board may lie there."""
    expected, moves = drawn.expected, drawn.moves
    reach, bed = expected.reach, expected.machine.bed
    if reach is None or bed is None or not len(moves):
        return
    origin = np.add(expected.zero, (0.0, 0.0) if expected.lying is None else expected.lying.axis_beside)
    spot = moves.end[:, :2] + origin
    coords, offsets, at = drawn.lines
    low, high = spot.copy(), spot.copy()
    if len(at):  # arcs bulge beyond their ends
        on_bed = coords + origin
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
