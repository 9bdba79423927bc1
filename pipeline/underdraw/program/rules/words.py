"""Words that the job's controller does not have: arcs, comments, pauses, waits, modes, letters, more decimals."""

from collections.abc import Mapping

import numpy as np

from underdraw.program.codes import ENDS, INCHES
from underdraw.program.moves import CLOCKWISE, held
from underdraw.program.rules.reading import Flags, Reading
from underdraw.words.lengths import LENGTH_UNITS

SAFE = {("M", 5.0), ("M", 9.0), *(("M", float(code)) for code in ENDS)}  # stop something: any controller may have them
ROUNDED = 1e-3  # of the last digit: what doubles lose


def check(reading: Reading) -> None:
    """Held against the controller's limits, and against the words that it writes itself."""
    dialect, moves, blocks, faults = reading.expected.dialect, reading.moves, reading.blocks, reading.faults
    if dialect is None:
        return
    name = f"controller {dialect.name!r}"
    if not dialect.arcs:
        faults.add_all("dialect", moves.line[moves.kind >= CLOCKWISE], f"an arc, which {name} does not have")
    if not dialect.comments:
        lines = np.unique(np.array([line for line, _ in reading.comments], dtype=np.int64))
        faults.add_all("dialect", lines, f"a comment, which {name} does not skip")
    if not dialect.pauses:
        faults.add_all("dialect", moves.pauses, f"a pause, which {name} does not have")
    if not dialect.dwells and ("G", 4.0) not in dialect.words:
        faults.add_all("dialect", blocks.line[blocks.g["non-modal"] == 4], f"a dwell, which {name} does not have")
    if dialect.longest_number is not None:
        high = blocks.word["N"] > dialect.longest_number
        faults.add_all(
            "dialect", blocks.line[high], f"an N above {dialect.longest_number}, the highest that {name} reads"
        )
    _check_decimals(reading, name)
    if dialect.words:
        _check_codes(reading, name)
        _check_letters(reading, name)


def _check_decimals(reading: Reading, name: str) -> None:
    dialect, blocks, faults = reading.expected.dialect, reading.blocks, reading.faults
    assert dialect is not None
    inches = np.isin(held(blocks.g["units"]), INCHES)
    for unit, here in (("in", inches), ("mm", ~inches)):
        decimals = dialect.decimals.get(unit)
        if decimals is None or unit not in LENGTH_UNITS:
            continue
        letters = "XYIJKR" if reading.own_heights else "XYZIJKR"
        fine = np.zeros(len(blocks), dtype=np.bool_)
        for letter in letters:
            fine |= _finer(blocks.word[letter], decimals)
        faults.add_all("dialect", blocks.line[here & fine], f"more than the {decimals} decimals that {name} reads")
    feed = _finer(blocks.word["F"], dialect.feed_decimals)
    faults.add_all("dialect", blocks.line[feed], f"more than the {dialect.feed_decimals} decimals of a feed in {name}")


def _finer(values: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]", decimals: int) -> Flags:
    """(b,) whether a number has more digits after the point than that."""
    scaled = np.nan_to_num(values) * 10.0**decimals
    return np.asarray(np.abs(scaled - np.round(scaled)) > ROUNDED)


def _check_codes(reading: Reading, name: str) -> None:
    dialect, blocks, faults = reading.expected.dialect, reading.blocks, reading.faults
    assert dialect is not None
    groups: Mapping[str, Mapping[str, np.ndarray[tuple[int], np.dtype[np.float64]]]] = {"G": blocks.g, "M": blocks.m}
    for letter, columns in groups.items():
        for column in columns.values():
            for code in np.unique(column[~np.isnan(column)]).tolist():
                if (letter, code) not in dialect.words and (letter, code) not in SAFE:
                    lines = blocks.line[column == code]
                    faults.add_all("dialect", lines, f"{letter}{code:g} is no word that {name} writes")


def _check_letters(reading: Reading, name: str) -> None:
    dialect, blocks = reading.expected.dialect, reading.blocks
    assert dialect is not None
    for letter, column in blocks.word.items():
        if letter not in dialect.letters:
            lines = blocks.line[~np.isnan(column)]
            reading.faults.add_all("dialect", lines, f"{letter} is no word that {name} writes")
