"""From blocks to moves: where the machine goes, following the modal state as a machine would.

Kramer, Proctor, Messina: The NIST RS274/NGC Interpreter, version 3, NISTIR 6556 (2000): units and distance modes
(3.5.7, 3.5.17), feeds (3.5.19), straight moves (3.5.1, 3.5.2), arcs in centre and radius format (3.5.3), axis
offsets (3.5.18), dwell (3.5.4). Positions are the controlled point's, in mm from program zero, whatever G92 calls it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.program.arcs import centre_of, sweep_of
from underdraw.program.blocks import Blocks, Column
from underdraw.program.codes import INCHES, PAUSES
from underdraw.program.problems import Faults

MM_PER_INCH = 25.4
RAPID, STRAIGHT, CLOCKWISE, COUNTER = 0, 1, 2, 3
ARC_TOLERANCE_MM = 0.002  # NISTIR 6556, section 3.5.3.2, for programs in mm
ARC_TOLERANCE_INCH = 0.0002  # there, for programs in inches
FARTHEST_MM = 1e6  # a kilometre: beyond any machine, and what lengths in a job may be at most
TOUCH_MM = 1e-6  # Z 0 is the tip touching the canvas: at or below this the marker is down


@dataclass
class Moves:
    """(m,) moves in order.

    line: of the block. kind: RAPID, STRAIGHT, CLOCKWISE or COUNTER. start, end: (m, 3) mm, nan where the program has
    not given. centre: (m, 2) mm, of arcs. feed: mm/s, nan of rapids. wait: s, of dwells between the move before and
    this one. pause: whether the operator is waited for before this move. pauses: lines of all pauses.
    """

    line: NDArray[np.int64]
    kind: NDArray[np.int64]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    centre: NDArray[np.float64]
    feed: NDArray[np.float64]
    wait: NDArray[np.float64]
    pause: NDArray[np.bool_]
    pauses: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.line)

    @property
    def sideways(self) -> NDArray[np.bool_]:
        """(m,) whether the move leaves its place on the canvas; a full circle does."""
        here, there = self.start[:, :2], self.end[:, :2]
        differs = ((here != there) & ~np.isnan(there)).any(axis=1)
        return np.asarray(differs | (self.kind >= CLOCKWISE))

    @property
    def down_at_start(self) -> NDArray[np.bool_]:
        """(m,) whether the marker is down before the move."""
        return self.start[:, 2] <= TOUCH_MM

    @property
    def down_at_end(self) -> NDArray[np.bool_]:
        """(m,) whether the marker is down after the move."""
        return self.end[:, 2] <= TOUCH_MM

    @property
    def drawing(self) -> NDArray[np.bool_]:
        """(m,) whether the move leaves a line on the canvas."""
        return self.sideways & (self.down_at_start | self.down_at_end)


def read_moves(blocks: Blocks, faults: Faults, dwell_s: float = 1.0) -> Moves:
    """Follow the modal state through all blocks. dwell_s: s a unit of dwells."""
    axis_words = [blocks.has(letter) for letter in "XYZ"]
    has_axis = axis_words[0] | axis_words[1] | axis_words[2]
    non_modal = blocks.g["non-modal"]
    offsets_axes = np.isin(non_modal, (92, 92.1))
    elsewhere = ~np.isnan(non_modal) & ~offsets_axes & (non_modal != 4)  # G28 and the like: refused already
    mode = held(blocks.g["motion"])
    moving = has_axis & ~offsets_axes & ~elsewhere & np.isin(mode, (RAPID, STRAIGHT, CLOCKWISE, COUNTER))
    _check_use_of_words(blocks, has_axis, mode, moving, offsets_axes | elsewhere, faults)

    inches, factor = _units(blocks, moving | (offsets_axes & has_axis), faults)
    incremental = held(blocks.g["distance"]) == 91
    position = _positions(blocks, factor, incremental, moving, offsets_axes)
    far = moving & (np.abs(position) > FARTHEST_MM).any(axis=1)
    faults.add_all("too-far", blocks.line[far], f"goes farther than {FARTHEST_MM / 1e6:g} km from zero")
    position = np.clip(position, -FARTHEST_MM, FARTHEST_MM)
    before = np.vstack([np.full((1, 3), np.nan), position[:-1]]) if len(blocks) else position
    at = np.flatnonzero(moving)
    moves = Moves(
        line=blocks.line[at],
        kind=mode[at].astype(np.int64),
        start=before[at],
        end=position[at],
        centre=np.full((len(at), 2), np.nan),
        feed=np.full(len(at), np.nan),
        wait=np.zeros(len(at)),
        pause=np.zeros(len(at), dtype=np.bool_),
        pauses=blocks.line[np.isin(blocks.m["stopping"], PAUSES)],
    )
    _place_centres(moves, blocks, at, factor, inches, faults)
    _set_feeds(moves, blocks, at, factor)
    _set_waits(moves, blocks, at, dwell_s)
    return moves


def held(column: Column) -> Column:
    """(b,) the modal value at each block: the last one given, nan before the first."""
    last = np.maximum.accumulate(np.where(np.isnan(column), -1, np.arange(len(column))))
    return np.where(last >= 0, column[np.maximum(last, 0)], np.nan) if len(column) else column


def _check_use_of_words(
    blocks: Blocks,
    has_axis: NDArray[np.bool_],
    mode: Column,
    moving: NDArray[np.bool_],
    offsets: NDArray[np.bool_],
    faults: Faults,
) -> None:
    """Words that nothing in their block uses, and moves without words (NISTIR 6556, sections 3.5 and 3.7)."""
    line, dwell = blocks.line, blocks.g["non-modal"] == 4
    modeless = has_axis & ~moving & ~offsets & ~np.isin(mode, np.arange(81, 90)) & (mode != 38.2)
    faults.add_all("mode", line[modeless], "coordinates without a move: no G0, G1, G2 or G3 is in force")
    given = np.isin(blocks.g["motion"], (0, 1, 2, 3))
    faults.add_all("mode", line[given & ~has_axis & ~dwell], "a move without coordinates")
    faults.add_all("mode", line[dwell & has_axis], "coordinates in the block of a dwell")
    faults.add_all("unknown", line[blocks.has("P") & ~dwell], "a P word that nothing uses")
    faults.add_all("feed", line[dwell & ~(blocks.word["P"] >= 0)], "a dwell without a time of 0 s or more in P")
    curved = moving & (mode >= CLOCKWISE)
    for letter in "IJKR":
        faults.add_all("unknown", line[blocks.has(letter) & ~curved], f"{letter} word outside an arc")
    faults.add_all("feed", line[blocks.word["F"] < 0], "a feed below 0")


def _units(blocks: Blocks, uses: NDArray[np.bool_], faults: Faults) -> tuple[NDArray[np.bool_], Column]:
    """(b,) whether in inches, and mm a unit. Motion before the units are set is a fault, and read as mm."""
    units = held(blocks.g["units"])
    unset = np.flatnonzero(uses & np.isnan(units))
    if len(unset):
        faults.add("units", int(blocks.line[unset[0]]), "coordinates before G20 or G21 (G70 or G71) sets their units")
    inches = np.isin(units, INCHES)
    return inches, np.where(inches, MM_PER_INCH, 1.0)


def _positions(
    blocks: Blocks,
    factor: Column,
    incremental: NDArray[np.bool_],
    moving: NDArray[np.bool_],
    offsets: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """(b, 3) mm: where the machine is after each block.

    G92 divides the program: it renames places, and moves nothing.
    """
    count = len(blocks)
    position = np.full((count, 3), np.nan)
    place, offset = np.full(3, np.nan), np.zeros(3)
    values = np.stack([blocks.word[letter] * factor for letter in "XYZ"], axis=1)
    renames = np.flatnonzero(offsets)
    for first, last in zip([0, *(renames + 1)], [*renames, count], strict=True):
        part = slice(first, last)
        for axis in range(3):
            value = np.where(moving[part], values[part, axis], np.nan)
            position[part, axis] = _along(value, incremental[part], place[axis], offset[axis])
        if last > first:
            place = position[last - 1].copy()
        if last < count:
            position[last] = place
            named = values[last]
            renamed = place - np.where(np.isnan(place), np.nan, named)
            cleared = blocks.g["non-modal"][last] == 92.1
            offset = np.zeros(3) if cleared else np.where(np.isnan(named), offset, renamed)
    return position


def _along(value: Column, incremental: NDArray[np.bool_], start: float, offset: float) -> Column:
    """(k,) one axis after each block: the last absolute word, and every increment since."""
    if not len(value):
        return value
    moved = ~np.isnan(value)
    step = np.cumsum(np.where(moved & incremental, value, 0.0))
    last = np.maximum.accumulate(np.where(moved & ~incremental, np.arange(len(value)), -1))
    known = np.maximum(last, 0)
    base = np.where(last >= 0, value[known] + offset - step[known], start)
    return np.asarray(base + step)


def _place_centres(
    moves: Moves, blocks: Blocks, at: NDArray[np.int64], factor: Column, inches: NDArray[np.bool_], faults: Faults
) -> None:
    """Find every arc's centre, and hold the arc against the standard's rules; a bad one is read as a straight move."""
    arc = np.flatnonzero(moves.kind >= CLOCKWISE)
    if not len(arc):
        return
    block, line = at[arc], moves.line[arc]
    word = {letter: blocks.word[letter][block] * factor[block] for letter in "IJR"}
    by_centre = ~(np.isnan(word["I"]) & np.isnan(word["J"]))
    by_radius = ~np.isnan(word["R"])
    plane = held(blocks.g["plane"])[block]
    here = blocks.has("X")[block] | blocks.has("Y")[block]
    start, end = moves.start[arc, :2], moves.end[arc, :2]
    tolerance = np.where(inches[block], ARC_TOLERANCE_INCH * MM_PER_INCH, ARC_TOLERANCE_MM)
    centre, gap = centre_of(start, end, moves.kind[arc] == CLOCKWISE, word["I"], word["J"], word["R"])
    same_place = (start == end).all(axis=1)
    wrong = (
        ("an arc in another plane than that of the canvas (G17)", (plane == 18) | (plane == 19)),
        ("K in an arc of the XY plane", blocks.has("K")[block]),
        ("an arc without X and Y", ~here),
        ("an arc with both a radius and a centre", by_centre & by_radius),
        ("an arc with neither a centre (I, J) nor a radius (R)", ~by_centre & ~by_radius),
        ("an arc by radius that ends where it starts", by_radius & ~by_centre & same_place),
        ("an arc of a radius beyond a kilometre", np.hypot(*(start - centre).T) > FARTHEST_MM),
        ("an arc of no radius", by_centre & ~by_radius & (np.hypot(word["I"], word["J"]) == 0)),
    )
    bad = np.zeros(len(arc), dtype=np.bool_)
    for text, mask in wrong:
        faults.add_all("arc", line[mask & ~bad], text)
        bad |= mask
    apart = ~bad & (gap > tolerance + 1e-9)
    shown = gap[apart]
    faults.add_each(
        "arc",
        line[apart],
        lambda k: (
            f"the arc's radii at start and end differ by {faults.length(shown[k], 4)} (or its radius is that much too "
            "short)"
        ),
    )
    bad |= np.isnan(centre).any(axis=1)
    moves.centre[arc] = centre
    moves.kind[arc[bad]] = STRAIGHT
    moves.centre[arc[bad]] = np.nan


def _set_feeds(moves: Moves, blocks: Blocks, at: NDArray[np.int64], factor: Column) -> None:
    """mm/s of each move at a feed: units a minute (G94, and if not set), or moves a minute (G93)."""
    inverse = held(blocks.g["feed mode"]) == 93
    given = blocks.word["F"]
    per_minute = held(np.where(inverse, np.nan, given * factor))
    by_unit = per_minute[at] / 60
    length = move_lengths(moves)
    by_move = length * given[at] / 60
    moves.feed[:] = np.where(moves.kind == RAPID, np.nan, np.where(inverse[at], by_move, by_unit))


def _set_waits(moves: Moves, blocks: Blocks, at: NDArray[np.int64], dwell_s: float) -> None:
    if not len(at):
        return
    seconds = np.where(blocks.g["non-modal"] == 4, np.maximum(np.nan_to_num(blocks.word["P"]), 0.0) * dwell_s, 0.0)
    stops = np.isin(blocks.m["stopping"], PAUSES)
    waited = np.concatenate([[0.0], np.cumsum(seconds)])
    stopped = np.concatenate([[0], np.cumsum(stops)])
    since = np.concatenate([[0], at[:-1]])
    moves.wait[:] = waited[at] - waited[since]
    moves.pause[:] = stopped[at] > stopped[since]


def move_lengths(moves: Moves) -> NDArray[np.float64]:
    """(m,) mm along each move in space; 0 where its start is not known."""
    step = moves.end - moves.start
    flat = np.hypot(step[:, 0], step[:, 1])
    arc = np.flatnonzero(moves.kind >= CLOCKWISE)
    if len(arc):
        radius = np.hypot(*(moves.start[arc, :2] - moves.centre[arc]).T)
        flat[arc] = radius * sweep_of(
            moves.start[arc, :2], moves.end[arc, :2], moves.centre[arc], moves.kind[arc] == CLOCKWISE
        )
    return np.asarray(np.nan_to_num(np.hypot(np.nan_to_num(flat), np.nan_to_num(step[:, 2]))))
