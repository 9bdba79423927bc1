"""Single-line letters of our own: small letters, figures and signs, each a few strokes of the marker.

Drawn on a grid: the base line at 0, small letters 4 high, tall ones and figures 6, tails down to -2. A stroke that
begins with ~ is rounded at its inner points (by cutting corners, Chaikin 1974), with @ it is rounded and closed; a
point with ! stays sharp. Strokes are parted by |.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

GLYPHS = {
    "a": "~3,3 2,4 1,4 0,3 0,1 1,0 2,0 3,1|3,4 3,0",
    "b": "0,6 0,0|~0,3 1,4 2,4 3,3 3,1 2,0 1,0 0,1",
    "c": "~3,3.2 2,4 1,4 0,3 0,1 1,0 2,0 3,.8",
    "d": "~3,3 2,4 1,4 0,3 0,1 1,0 2,0 3,1|3,6 3,0",
    "e": "~0,2! 3,2! 3,3 2,4 1,4 0,3 0,1 1,0 2,0 3,.7",
    "f": "~2.4,5.8 1.7,6.1 1,5.4 1,0|0,4 2.2,4",
    "g": "~3,3 2,4 1,4 0,3 0,1 1,0 2,0 3,1|~3,4 3,-1 2,-2 1,-2 .1,-1.5",
    "h": "0,6 0,0|~0,2.8 1,4 2,4 3,3 3,0",
    "i": ".3,4 .3,0|.3,5.5 .3,5.8",
    "j": "~1.2,4 1.2,-1 .6,-2 -.2,-1.8|1.2,5.5 1.2,5.8",
    "k": "0,6 0,0|2.7,4 0,1.6|.9,2.4 2.8,0",
    "l": "~.2,6 .2,1 .5,0 1.2,.1",
    "m": "0,4 0,0|~0,2.8 .8,4 1.7,4 2.3,3 2.3,0|~2.3,2.8 3.1,4 4,4 4.6,3 4.6,0",
    "n": "0,4 0,0|~0,2.8 1,4 2,4 3,3 3,0",
    "o": "@0,1 0,3 1,4 2,4 3,3 3,1 2,0 1,0",
    "p": "0,4 0,-2|~0,3 1,4 2,4 3,3 3,1 2,0 1,0 0,1",
    "q": "~3,3 2,4 1,4 0,3 0,1 1,0 2,0 3,1|3,4 3,-2",
    "r": "0,4 0,0|~0,2.6 .7,4 1.6,4.1 2.1,3.7",
    "s": "~2.7,3.4 2,4 .8,4 0,3.4 .2,2.4 2.6,1.7 2.8,.7 2,0 .8,0 0,.6",
    "t": "~1,5.4 1,.8 1.5,0 2.3,.2|0,4 2.2,4",
    "u": "~0,4 0,1 1,0 2,0 3,1.2|3,4 3,0",
    "v": "0,4 1.5,0 3,4",
    "w": "0,4 1.1,0 2.3,3.6 3.5,0 4.6,4",
    "x": "0,4 3,0|3,4 0,0",
    "y": "0,4 1.6,.2|~3.1,4 1.2,-1.2 .6,-2 -.2,-1.9",
    "z": "0,4 3,4 0,0 3,0",
    "0": "@0,1.5 0,4.5 1,6 2.4,6 3.4,4.5 3.4,1.5 2.4,0 1,0",
    "1": "0,4.7 1.4,6 1.4,0",
    "2": "~0,4.8 .4,6 2.8,6 3.4,4.6 2.8,3.2 0,0! 3.4,0",
    "3": "~.1,5.4 1,6 3,6 3.2,4.4 2.6,3.4 1.2,3.2! 2.8,3.1 3.5,2 3.2,.4 2.2,0 .8,0 0,.7",
    "4": "2.6,0 2.6,6 0,1.7 3.5,1.7",
    "5": "~3.1,6! .6,6! .3,3.2! 1.4,3.9 3,3.6 3.5,2.2 3.2,.5 2,0 .8,0 0,.7",
    "6": "~3,5.4 2.2,6 1,5.8 .2,4 0,2 .2,.6 1.2,0 2.4,0 3.4,.8 3.4,2.6 2.4,3.6 1,3.4 .1,2.2",
    "7": "0,6 3.4,6 1.2,0",
    "8": "@.3,4.7 1,6 2.4,6 3.1,4.7 2.6,3.5 .6,2.7 0,1.4 .6,0 2.8,0 3.4,1.4 2.8,2.7 .8,3.5",
    "9": "~.4,.6 1.2,0 2.4,.2 3.2,2 3.4,4 3.2,5.4 2.2,6 1,6 0,5.2 0,3.4 1,2.4 2.4,2.6 3.3,3.8",
    ".": ".2,0 .2,.3",
    ",": "~.4,.3 .4,-.3 0,-1",
    ":": ".2,.3 .2,.6|.2,3.2 .2,3.5",
    "-": "0,2.1 2,2.1",
    "+": "1.2,.8 1.2,3.4|0,2.1 2.4,2.1",
    "=": "0,1.4 2.4,1.4|0,2.8 2.4,2.8",
    "/": "0,-.6 2.4,6.4",
    "×": "0,.8 2.4,3.2|0,3.2 2.4,.8",
    "%": "0,0 3.4,6|@0,4.6 0,5.6 .5,6 1,5.6 1,4.6 .5,4.2|@2.4,.4 2.4,1.4 2.9,1.8 3.4,1.4 3.4,.4 2.9,0",
    "(": "~1,6.6 0,5 0,1 1,-.6",
    ")": "~0,6.6 1,5 1,1 0,-.6",
    "'": ".2,5 .2,6.2",
    '"': ".2,5 .2,6.2|1.2,5 1.2,6.2",
    "#": ".6,0 1.4,6|2.2,0 3,6|0,2 3.4,2|.2,4 3.6,4",
    "_": "0,-.4 3,-.4",
    "?": "~0,4.8 .4,6 2.4,6 2.8,4.6 1.5,3.2 1.4,1.6|1.4,0 1.4,.3",
}
UNKNOWN = "0,0 3,0 3,5 0,5 0,0"  # a box, so that a letter which is not here shows as missing
BLANK = 2.4  # grid units
BETWEEN = 1.6  # grid units from one letter to the next
HEIGHT = 6.0  # of tall letters and figures
DEPTH = 2.0  # of those that go below the line
ROUNDS = 3  # corner cuttings: each halves the bends; three look round at this size


def glyph(letter: str) -> list[Points]:
    """The strokes of a letter, (n, 2) grid units with y up; a capital is drawn as its small letter."""
    return [_stroke(written) for written in GLYPHS.get(letter.lower(), UNKNOWN).split("|")]


def _stroke(written: str) -> Points:
    closed, rounded = written.startswith("@"), written[0] in "~@"
    words = written.lstrip("~@").split()
    points = np.array([[float(number) for number in word.rstrip("!").split(",")] for word in words])
    if closed:
        ring = _cut_corners(np.vstack([points, points[:1], points[1:2]]))[1:-1]
        return np.vstack([ring, ring[:1]])
    if not rounded:
        return points
    sharp = [0, *(place for place, word in enumerate(words) if word.endswith("!") and place), len(points) - 1]
    pieces = [_cut_corners(points[first : last + 1]) for first, last in pairwise(sharp)]
    return np.vstack([pieces[0], *(piece[1:] for piece in pieces[1:] if len(piece) > 1)])


def _cut_corners(points: Points) -> Points:
    """Chaikin's corner cutting, ends kept."""
    for _ in range(ROUNDS):
        if len(points) < 3:
            break
        cut = np.empty((2 * (len(points) - 1), 2))
        cut[0::2] = 0.75 * points[:-1] + 0.25 * points[1:]
        cut[1::2] = 0.25 * points[:-1] + 0.75 * points[1:]
        cut[0], cut[-1] = points[0], points[-1]
        points = cut
    return points


def text_strokes(text: str, x: float, baseline: float, unit: float) -> list[Points]:
    """A line of text as strokes, (n, 2) mm with y down; x: its left edge, unit: mm of one grid unit."""
    strokes, at = [], 0.0
    for letter in text:
        if letter == " ":
            at += BLANK
            continue
        drawn = glyph(letter)
        strokes += [np.column_stack([x + (at + line[:, 0]) * unit, baseline - line[:, 1] * unit]) for line in drawn]
        at += max(float(line[:, 0].max()) for line in drawn) + BETWEEN
    return strokes


def text_length(text: str, unit: float) -> float:
    """How long a line of text is, in mm."""
    wide = sum(BLANK if letter == " " else max(line[:, 0].max() for line in glyph(letter)) + BETWEEN for letter in text)
    return float(max(0.0, wide - BETWEEN) * unit)
