"""Before anything moves: the spindle is stopped, every mode that the standard leaves open is set, places are known.

NISTIR 6556 (2000) sets no units, plane, distance or feed mode for a program: a machine keeps those of the last one.
"""

import numpy as np

from underdraw.program.codes import G_CODES, M_CODES, MODELESS
from underdraw.program.moves import CLOCKWISE, RAPID, held
from underdraw.program.rules.reading import Flags, Index, Reading


def check(reading: Reading) -> None:
    """All of it."""
    moves = reading.moves
    if not len(moves):
        return
    every = np.ones(len(moves), dtype=np.bool_)
    _require(reading, "spindle", every, "moves before M5 stops the spindle", m=True)
    if reading.expected.dialect is None or not reading.expected.dialect.absolute_only:
        _require(reading, "distance", every, "moves before G90 or G91 sets whether coordinates are places or steps")
    text = "moves at a feed before G94 sets that feeds are per minute"
    _require(reading, "feed mode", moves.kind != RAPID, text)
    text = "an arc before G17 sets the plane that it lies in"
    _require(reading, "plane", moves.kind >= CLOCKWISE, text)
    _check_beginning(reading)
    _check_first_move(reading)
    _check_places(reading)


def _require(reading: Reading, group: str, uses: Flags, text: str, m: bool = False) -> None:
    """The first move that uses a modal group before any word has set it is a fault."""
    rows = reading.block_of_move[uses]
    column = held((reading.blocks.m if m else reading.blocks.g)[group])
    if len(rows) and np.isnan(column[rows[0]]):
        reading.faults.add("start", int(reading.blocks.line[rows[0]]), text)


def _check_beginning(reading: Reading) -> None:
    """What the controller's own beginning sets is set before the first move."""
    dialect, blocks = reading.expected.dialect, reading.blocks
    if dialect is None:
        return
    first = int(reading.block_of_move[0])
    gone = []
    for letter, code in sorted(dialect.begins.get(reading.faults.unit, ())):
        known = (G_CODES if letter == "G" else M_CODES).get(code)
        if known is None or known.group in MODELESS:
            continue
        column = (blocks.g if letter == "G" else blocks.m)[known.group]
        if np.isnan(column[: first + 1]).all():
            gone.append(f"{letter}{code:g}")
    asked = {"M5", "G90", "G91", "G20", "G21", "G70", "G71"}  # which have a message of their own
    if set(gone) - asked:
        text = f"moves before {' '.join(gone)}, which controller {dialect.name!r} sets first"
        reading.faults.add("start", int(blocks.line[first]), text)


def _check_first_move(reading: Reading) -> None:
    """The first move raises the marker and nothing else: nobody knows what is between it and where it goes."""
    moves, row = reading.moves, int(reading.block_of_move[0])
    blocks = reading.blocks
    if reading.expected.heights and not np.isnan(moves.end[0, 2]) and (blocks.has("X") | blocks.has("Y"))[row]:
        reading.faults.add(
            "start", int(moves.line[0]), "the first move raises the marker and travels at once; raise it first"
        )


def _check_places(reading: Reading) -> None:
    """A step starts from a place that is known, in every distance mode, and so does what is drawn."""
    moves, faults, blocks = reading.moves, reading.faults, reading.blocks
    rows: Index = reading.block_of_move
    given = np.stack([blocks.has(letter)[rows] for letter in "XYZ"], axis=1)
    lost = (given & np.isnan(moves.end)).any(axis=1)
    faults.add_all("start", moves.line[lost], "a step from a place that no word has set")
    unknown = np.isnan(moves.start[:, :2]).any(axis=1) & ~lost
    feed = moves.kind != RAPID
    faults.add_all("start", moves.line[feed & moves.sideways & unknown], "draws from a place that no word has set")
    nowhere = np.isnan(moves.end[:, :2]).any(axis=1) & ~lost
    lowers = ~moves.down_at_start & moves.down_at_end & nowhere & ~moves.sideways
    faults.add_all("start", moves.line[lowers], "lowers the marker at a place that no word has set")
