"""From words to blocks: one row a line that holds words, one column a letter or modal group."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.program.codes import ENDS, G_CODES, KNOWN_LETTERS, M_CODES, Code
from underdraw.program.problems import Faults
from underdraw.program.tokens import Words

Column = NDArray[np.float64]  # (b,) the number, nan where the block does not say


@dataclass
class Blocks:
    """(b,) blocks in order, up to the end of the program.

    line: from 1. word: numbers by letter. g, m: codes by modal group. ended: whether the program marks its end.
    """

    line: NDArray[np.int64]
    word: Mapping[str, Column]
    g: Mapping[str, Column]
    m: Mapping[str, Column]
    ended: bool

    def __len__(self) -> int:
        return len(self.line)

    def has(self, letter: str) -> NDArray[np.bool_]:
        """(b,) whether the block has a word of this letter."""
        return ~np.isnan(self.word[letter])


def read_blocks(words: Words, faults: Faults) -> Blocks:
    """Lay words out in rows and columns; unknown words and words that exclude each other go into `faults`."""
    change = np.ones(len(words.line), dtype=np.bool_)
    change[1:] = words.line[1:] != words.line[:-1]
    row = np.cumsum(change) - 1
    line = words.line[change]
    letters = np.frombuffer(KNOWN_LETTERS.encode(), dtype=np.uint8)
    odd = ~np.isin(words.letter, letters)
    if odd.any():
        shown = words.letter[odd], words.value[odd]
        faults.add_each("unknown", words.line[odd], lambda k: f"{chr(shown[0][k])}{shown[1][k]:g} is not understood")
    word: dict[str, Column] = {}
    for letter in KNOWN_LETTERS:
        here = words.letter == ord(letter)
        if letter in "GM":
            continue
        word[letter] = _column(letter, row[here], words.value[here], line, faults)
    g = _codes("G", row, words, line, G_CODES, faults)
    m = _codes("M", row, words, line, M_CODES, faults)
    last, ended = _end(line, words.percent, m)
    late = line[last:]
    faults.add_all("after-end", late, "comes after the end of the program: it may be run, or not")
    return Blocks(
        line=line[:last],
        word={letter: column[:last] for letter, column in word.items()},
        g={group: column[:last] for group, column in g.items()},
        m={group: column[:last] for group, column in m.items()},
        ended=ended,
    )


def _column(name: str, row: NDArray[np.int64], value: Column, line: NDArray[np.int64], faults: Faults) -> Column:
    column = np.full(len(line), np.nan)
    column[row] = value
    twice = row[1:][row[1:] == row[:-1]]
    if len(twice):
        faults.add_all("same-group", line[np.unique(twice)], f"two {name} words in one block")
    return column


def _codes(
    letter: str,
    row: NDArray[np.int64],
    words: Words,
    line: NDArray[np.int64],
    known: Mapping[float, Code],
    faults: Faults,
) -> dict[str, Column]:
    """One column a modal group. Two codes of a group in one block exclude each other (NISTIR 6556, section 3.4)."""
    here = np.flatnonzero(words.letter == ord(letter))
    tenths = np.round(words.value[here] * 10)
    exact = np.abs(words.value[here] * 10 - tenths) < 1e-6
    rows_of: dict[str, list[NDArray[np.int64]]] = {}
    values_of: dict[str, list[Column]] = {}
    for tenth in np.unique(tenths[exact]).tolist():
        code = tenth / 10
        code_meaning = known.get(code)
        at = row[here[exact & (tenths == tenth)]]
        if code_meaning is None:
            faults.add_all("unknown", line[at], f"{letter}{code:g} is not understood")
            continue
        if code_meaning.fault:
            faults.add_all(code_meaning.fault, line[at], code_meaning.text)
        rows_of.setdefault(code_meaning.group, []).append(at)
        values_of.setdefault(code_meaning.group, []).append(np.full(len(at), code))
    odd = words.value[here[~exact]]
    faults.add_each("unknown", words.line[here[~exact]], lambda k: f"{letter}{odd[k]:g} is not understood")
    columns = {group: np.full(len(line), np.nan) for group in {code.group for code in known.values()}}
    for group, rows in rows_of.items():
        at, values = np.concatenate(rows), np.concatenate(values_of[group])
        columns[group][at] = values
        if len(at) > 1:
            ordered = np.sort(at)
            twice = ordered[1:][ordered[1:] == ordered[:-1]]
            faults.add_all("same-group", line[np.unique(twice)], f"two words of one group ({group})")
    return columns


def _end(line: NDArray[np.int64], percent: NDArray[np.int64], m: Mapping[str, Column]) -> tuple[int, bool]:
    """How many blocks the program has, and whether it marks its end: M2, M30, or a `%` after the first block."""
    ends = np.flatnonzero(np.isin(m["stopping"], ENDS))
    last, ended = (int(ends[0]) + 1, True) if len(ends) else (len(line), False)
    closing = percent[percent > line[0]] if len(line) else percent[1:]
    if len(closing):
        last, ended = min(last, int(np.searchsorted(line, closing[0]))), True
    return last, ended
