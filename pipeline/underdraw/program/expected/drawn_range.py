"""Which strokes of a drawing a program draws: by its own header, else by the record of who wrote it."""

import re
from collections.abc import Sequence

import numpy as np

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import WrittenProgram
from underdraw.errors import UnderdrawError
from underdraw.program.dialect import Dialect
from underdraw.program.problems import Faults
from underdraw.program.tokens import Words, read_words

Runs = list[tuple[int, int]]  # first and last stroke of each run, from 1
HEADER = re.compile(
    r"(?<!\d)(?P<count>\d{1,9}) strokes? [(\[](?P<first>\d{1,9}) to (?P<last>\d{1,9}) of (?P<all>\d{1,9})[)\]]"
)
BEGINS = re.compile(r"stroke (?P<stroke>\d{1,9}) begins at (?P<share>0\.\d+) of its length")
LOAD = re.compile(r"load \d{1,9}: strokes (?P<first>\d{1,9}) to (?P<last>\d{1,9})(?!\d)")


def runs_of(data: bytes, drawing: Drawing, dialect: Dialect | None, file: str) -> Runs | None:
    """The runs of strokes that a program should draw of a drawing; None if nothing limits them: all of them.

    From the notes in its header, from the N words of its strokes, or from the drawing's own record of a program of
    that file name. What does not fit the drawing is not taken.
    """
    try:
        plain = data if dialect is None else dialect.in_standard_words(data)
    except UnderdrawError:
        return None
    words = read_words(plain, Faults())
    all_numbered = dialect is None or dialect.highest_number is None or len(drawing) <= dialect.highest_number
    numbered = _of_numbers(words) if all_numbered else None
    for runs in (_of_notes(words, drawing), numbered, _of_record(drawing, file)):
        if runs is not None and _fit(runs, len(drawing)):
            return runs
    return None


def beginning_of(data: bytes, runs: Runs | None, drawing: Drawing, dialect: Dialect | None, file: str) -> float:
    """The share of its first stroke that a program leaves out, as its header or the drawing's record has it; else 0."""
    try:
        plain = data if dialect is None else dialect.in_standard_words(data)
    except UnderdrawError:
        return 0.0
    match = BEGINS.search(" ".join(text for _, text in read_words(plain, Faults()).comments))
    if match is not None:
        return float(match["share"]) if runs and int(match["stroke"]) == runs[0][0] else 0.0
    record = record_of(drawing, file)
    return record.begins if record is not None and runs and record.first == runs[0][0] else 0.0


def _fit(runs: Sequence[tuple[int, int]], count: int) -> bool:
    return bool(runs) and all(1 <= first <= last <= count for first, last in runs)


def _of_notes(words: Words, drawing: Drawing) -> Runs | None:
    """The range in the header, and, where it leaves strokes out (a file for each marker), each load's note."""
    text = " ".join(text for _, text in words.comments)
    header = HEADER.search(text)
    if header is None or int(header["all"]) != len(drawing):
        return None
    first, last, count = int(header["first"]), int(header["last"]), int(header["count"])
    if last - first + 1 == count:
        return [(first, last)]
    runs = [(int(match["first"]), int(match["last"])) for match in LOAD.finditer(text)]
    whole = sum(end - begin + 1 for begin, end in runs) == count
    return runs if whole and runs[0][0] == first and runs[-1][1] == last else None


def _of_numbers(words: Words) -> Runs | None:
    """N words that number strokes, not blocks: one in the first block of each, and rising."""
    numbers = words.letter == ord("N")
    if not numbers.any():
        return None
    values = words.value[numbers].astype(np.int64)
    blocks = len(np.unique(words.line))
    if len(values) * 2 > blocks or (np.diff(values) <= 0).any():
        return None
    breaks = np.flatnonzero(np.diff(values) > 1)
    return list(zip(values[[0, *(breaks + 1)]].tolist(), values[[*breaks, -1]].tolist(), strict=True))


def _of_record(drawing: Drawing, file: str) -> Runs | None:
    record = record_of(drawing, file)
    return None if record is None else [(load.first, load.last) for load in record.loads]


def record_of(drawing: Drawing, file: str) -> WrittenProgram | None:
    """What the drawing has on record of the program of that name, if its strokes are those still."""
    match = [item for item in drawing.programs if item.file == file and item.digest == drawing.digest]
    return match[-1] if match else None
