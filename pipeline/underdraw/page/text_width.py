"""How wide a text may come out: measured with a wide common face, so that it fits in whichever one a reader has."""

import re
import unicodedata

# Advance widths of space to tilde in hundredths of the font size: the bold cut of a wide sans-serif that many systems
# fall back to. Narrower faces (most are 10 to 25 % narrower) only leave more air.
BOLD = (
    "35 46 52 84 70 100 87 31 46 46 52 84 38 42 38 37 70 70 70 70 70 70 70 70 70 70 40 40 84 84 84 58 "
    "100 77 76 73 83 68 68 82 84 37 37 77 64 100 84 85 73 85 77 72 68 81 77 110 77 72 73 46 37 46 84 50 "
    "50 67 72 59 72 68 44 72 71 34 34 67 34 104 71 69 72 72 49 60 48 71 65 92 65 65 58 71 37 71 84"
)
WIDTHS = {chr(32 + place): int(width) / 100 for place, width in enumerate(BOLD.split())}
REGULAR = 0.92  # of the bold widths, at most, letter by letter on average
UNITS = re.compile(r" (in|mm|m|min|s|h)\b")  # a unit stays on the line of its number
OTHER, WIDE = 0.84, 1.05  # of the font size: other letters and signs; East Asian ones and pictographs


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """The most that a text of this font size takes, in the unit of `size`."""
    total = sum(
        WIDTHS.get(letter) or (WIDE if unicodedata.east_asian_width(letter) in "WF" else OTHER) for letter in text
    )
    return total * size * (1.0 if bold else REGULAR)


def fitted(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """The text, shortened with an ellipsis where it would be wider than `room`."""
    if text_width(text, size, bold=bold) <= room:
        return text
    while text and text_width(text + "…", size, bold=bold) > room:
        text = text[:-1].rstrip()
    return text + "…"


def broken(text: str, size: float, room: float, *, most: int = 2, bold: bool = False) -> list[str]:
    """The text in lines no wider than `room`, broken at blanks; the last of `most` lines is shortened to fit."""
    lines: list[str] = []
    words = UNITS.sub("\u00a0\\1", text).split(" ")
    while words and len(lines) < most - 1:
        taken = 1
        while taken < len(words) and text_width(" ".join(words[: taken + 1]), size, bold=bold) <= room:
            taken += 1
        lines.append(fitted(" ".join(words[:taken]), size, room, bold=bold))
        words = words[taken:]
    if words:
        lines.append(fitted(" ".join(words), size, room, bold=bold))
    return lines
