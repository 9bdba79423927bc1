"""From the bytes of a program to its words: a letter and a number each, with the line they stand on.

Rules of NISTIR 6556 (RS274/NGC version 3, 2000), sections 3.3.1 to 3.3.5: blanks and letter case carry no meaning
outside comments; comments stand in parentheses and do not nest; a line has at most 256 characters; `%` alone on a
line may open and close a program. What is no word of that language is a fault, never guessed at. Everything is done
on whole arrays of bytes, a few megabytes at a time.
"""

import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from underdraw.program.problems import Faults

LARGEST_PROGRAM_BYTES = 2_000_000_000  # far beyond a day's drawing; refused before it fills the memory
CHUNK_BYTES = 4_000_000  # of text worked on at once: some fifty times as much is held meanwhile
LONGEST_LINE = 256  # NISTIR 6556, section 3.3
MOST_DIGITS = 15  # what a double holds exactly; more digits than that are no coordinate of a router

_COMMENT = re.compile(rb"\([^()\n]*\)")
_NEWLINE, _DOT, _PLUS, _MINUS, _PERCENT, _SLASH = b"\n.+-%/"
_POWERS = 10.0 ** np.arange(2 * MOST_DIGITS + 8)


@dataclass
class Words:
    """(w,) words in program order. `line` counts from 1; `letter` is its ASCII code, a capital.

    percent: lines that hold `%` alone. lines: how many lines the text has.
    """

    line: NDArray[np.int64]
    letter: NDArray[np.uint8]
    value: NDArray[np.float64]
    lines: int
    percent: NDArray[np.int64]
    comments: list[tuple[int, str]] = field(default_factory=list)


def read_words(data: bytes, faults: Faults, longest_line: int = LONGEST_LINE) -> Words:
    """Split a program into words; what is none goes into `faults`."""
    text = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not text.endswith(b"\n"):
        text += b"\n"
    pieces: list[tuple[NDArray[np.int64], NDArray[np.uint8], NDArray[np.float64]]] = []
    percent: list[NDArray[np.int64]] = []
    comments: list[tuple[int, str]] = []
    first_line, start = 1, 0
    while start < len(text):
        end = text.find(b"\n", min(start + CHUNK_BYTES, len(text) - 1)) + 1
        chunk = text[start:end]
        _check_lengths(chunk, first_line, longest_line, faults)
        lines_here = chunk.count(b"\n")
        bare = _without_comments(chunk, first_line, comments, faults)
        codes = np.frombuffer(bare.translate(None, b" \t").upper(), dtype=np.uint8)
        line_of = np.cumsum(codes == _NEWLINE) + first_line
        line_of[codes == _NEWLINE] -= 1
        codes, line_of, percent_here = _without_signs(codes, line_of, faults)
        percent.append(percent_here)
        pieces.append(_words_of(codes, line_of, faults))
        first_line += lines_here
        start = end
    empty = (np.empty(0, np.int64), np.empty(0, np.uint8), np.empty(0))
    line, letter, value = (np.concatenate(parts) for parts in zip(*pieces, strict=True)) if pieces else empty
    every_percent = np.concatenate(percent) if percent else np.empty(0, np.int64)
    return Words(line, letter, value, first_line - 1, every_percent, comments)


def _check_lengths(chunk: bytes, first_line: int, longest: int, faults: Faults) -> None:
    ends = np.flatnonzero(np.frombuffer(chunk, dtype=np.uint8) == _NEWLINE)
    length = np.diff(ends, prepend=-1) - 1
    long = np.flatnonzero(length > longest)
    faults.add_each(
        "long-line",
        long + first_line,
        lambda k: f"has {length[long[k]]} characters; at most {longest} are read",
    )


def _without_comments(chunk: bytes, first_line: int, kept: list[tuple[int, str]], faults: Faults) -> bytes:
    """Take comments out; a parenthesis that is left over belongs to none, or to one inside another."""
    if b"(" not in chunk and b")" not in chunk:
        return chunk
    place, line = 0, first_line
    for match in _COMMENT.finditer(chunk):
        line += chunk.count(b"\n", place, match.start())
        place = match.start()
        kept.append((line, match.group()[1:-1].decode("ascii", "replace").strip()))
    bare = _COMMENT.sub(b"", chunk)
    if b"(" in bare or b")" in bare:
        lines = bare.split(b"\n")
        for index, text in enumerate(lines):
            if b"(" in text or b")" in text:
                faults.add(
                    "comment",
                    first_line + index,
                    "a comment in another, or one that is not closed: its text may be taken for words",
                )
                lines[index] = re.split(rb"[()]", text)[0]
        bare = b"\n".join(lines)
    return bare


def _without_signs(
    codes: NDArray[np.uint8], line_of: NDArray[np.int64], faults: Faults
) -> tuple[NDArray[np.uint8], NDArray[np.int64], NDArray[np.int64]]:
    """Take `%` lines and block-delete slashes out, and report every byte that no word can hold."""
    percent = line_of[codes == _PERCENT]
    slash = codes == _SLASH
    if slash.any():
        faults.add_all(
            "optional-block",
            np.unique(line_of[slash]),
            "begins with / and may be skipped by a switch: what is drawn depends on it",
        )
    letters = (codes >= ord("A")) & (codes <= ord("Z"))
    digits = (codes >= ord("0")) & (codes <= ord("9"))
    fits = letters | digits | (codes == _NEWLINE) | (codes == _DOT) | (codes == _PLUS) | (codes == _MINUS)
    odd = ~fits & ~slash & (codes != _PERCENT)
    if odd.any():
        lines, first = np.unique(line_of[odd], return_index=True)
        shown = [chr(code) if 32 < code < 127 else f"byte {code}" for code in codes[odd][first]]
        faults.add_each("unknown", lines, lambda k: f"{shown[k]!r} is no part of a word of RS274/NGC")
    if len(percent):
        others = np.isin(percent, line_of[letters | digits])
        faults.add_all("unknown", percent[others], "'%' is not alone on its line")
    return codes[fits], line_of[fits], percent


def _words_of(
    codes: NDArray[np.uint8], line_of: NDArray[np.int64], faults: Faults
) -> tuple[NDArray[np.int64], NDArray[np.uint8], NDArray[np.float64]]:
    """Words of a chunk: each letter with the number that follows it on its line."""
    kept = codes != _NEWLINE
    codes, line_of = codes[kept], line_of[kept]
    is_letter = codes >= ord("A")
    starts = np.flatnonzero(is_letter)
    count = len(starts)
    word_of_byte = np.cumsum(is_letter) - 1
    line = line_of[starts]
    orphan = np.ones(len(codes), dtype=np.bool_)  # a number with no letter before it on its line
    if count:
        orphan = (word_of_byte < 0) | (line_of != line[word_of_byte])
    if orphan.any():
        faults.add_all("unknown", np.unique(line_of[orphan]), "a number stands without a letter before it")
        word_of_byte[orphan] = -1
    digit = np.flatnonzero((codes <= ord("9")) & (codes >= ord("0")) & (word_of_byte >= 0))
    of_digit = word_of_byte[digit]
    digits = np.bincount(of_digit, minlength=count)
    ends = np.cumsum(digits)
    place = np.minimum(ends[of_digit] - 1 - np.arange(len(digit)), len(_POWERS) - 1)  # power of ten without the point
    mantissa = np.bincount(of_digit, weights=(codes[digit] - ord("0")) * _POWERS[place], minlength=count)
    dot = np.flatnonzero((codes == _DOT) & (word_of_byte >= 0))
    dots = np.bincount(word_of_byte[dot], minlength=count)
    fraction = np.zeros(count, dtype=np.int64)
    fraction[word_of_byte[dot]] = ends[word_of_byte[dot]] - np.searchsorted(digit, dot)
    sign = np.flatnonzero(((codes == _PLUS) | (codes == _MINUS)) & (word_of_byte >= 0))
    misplaced = (
        np.bincount(word_of_byte[sign][sign != starts[word_of_byte[sign]] + 1], minlength=count) if count else sign
    )
    value = mantissa / _POWERS[np.minimum(fraction, len(_POWERS) - 1)]
    value[word_of_byte[sign[codes[sign] == _MINUS]]] *= -1
    wrong = (digits == 0) | (digits > MOST_DIGITS) | (dots > 1) | (misplaced > 0)
    if wrong.any():
        letters = codes[starts[wrong]]
        faults.add_each("unknown", line[wrong], lambda k: f"what follows {chr(letters[k])} is no number")
    return line[~wrong], codes[starts[~wrong]], value[~wrong]
