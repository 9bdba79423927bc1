"""Forty small constructs with known answers, in widths of the ink: what will not read, and what reads well.

The answers follow from geometry: lines g apart touch where g is less than one width; two lines that meet at an angle a
are less than a width apart for 1 / sin a widths from there, of which three are no fault; a loop of diameter d is open
where d is more than one width. What the eye takes for a fault is common practice, no source.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

TIP = 0.7
Points = NDArray[np.float64]


@dataclass(frozen=True)
class Construct:
    """name; lines (n, 2) in widths of the ink; the kinds of spot that are there."""

    name: str
    lines: tuple[Points, ...]
    kinds: frozenset[str]


def construct(name: str, lines: list[object], *kinds: str) -> Construct:
    return Construct(name, tuple(np.asarray(line, dtype=np.float64) for line in lines), frozenset(kinds))


def pair(gap: float, length: float = 30.0) -> list[object]:
    return [[(0, 0), (length, 0)], [(0, gap), (length, gap)]]


def loop(diameter: float) -> list[object]:
    turn = np.linspace(0, 2 * np.pi, 49)
    ring = np.column_stack([diameter / 2 * np.cos(turn), diameter / 2 * np.sin(turn)])
    ring[-1] = ring[0]
    return [ring]


def ray(degrees: float, length: float = 60.0) -> tuple[float, float]:
    return length * float(np.cos(np.radians(degrees))), length * float(np.sin(np.radians(degrees)))


def wedge(degrees: float) -> list[object]:
    """Two strokes from one point."""
    return [[(0, 0), ray(0)], [(0, 0), ray(degrees)]]


def corner(degrees: float) -> list[object]:
    """One stroke with that angle between its legs."""
    return [[ray(0), (0, 0), ray(degrees)]]


def crossing(degrees: float) -> list[object]:
    x, y = ray(degrees, 30)
    return [[(-30, 0), (30, 0)], [(-x, -y), (x, y)]]


def t_junction(degrees: float) -> list[object]:
    return [[(-30, 0), (30, 0)], [(0, 0), ray(degrees, 30)]]


def rounded(radius: float) -> list[object]:
    """A right angle with a round join."""
    turn = np.linspace(0, np.pi / 2, 24)
    bend = np.column_stack([radius * np.sin(turn), radius * (1 - np.cos(turn))])
    return [np.concatenate([[(-30, 0)], bend, [(radius, 30)]])]


def back(radius: float, legs: float) -> list[object]:
    """A bend that turns a line back, with legs of that length."""
    turn = np.linspace(np.pi, 0, 33)
    bend = np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])
    return [np.concatenate([[(-radius, -legs)], bend, [(radius, -legs)]])]


def zigzag(height: float, step: float, teeth: int = 20) -> list[object]:
    x = np.arange(teeth) * step
    return [np.column_stack([x, height * (np.arange(teeth) % 2)])]


def wave(height: float, period: float) -> list[object]:
    x = np.linspace(0, 30, 1200)
    return [np.column_stack([x, height / 2 * np.sin(x * 2 * np.pi / period)])]


def comb(step: float, gap: float) -> list[object]:
    """Short lines that end on a line's side, or so far from it: none runs beside it."""
    return [[(0, 0), (30, 0)], *([(x, gap), (x + 4.8, gap + 4.0)] for x in np.arange(1.0, 24.0, step))]


def branch(radius: float) -> list[object]:
    """A line that leaves another one along an arc that begins on it, as stems do."""
    turn = np.linspace(0, np.pi / 2, 60)
    return [[(-30, 0), (60, 0)], np.column_stack([radius * np.sin(turn), radius * (1 - np.cos(turn))])]


CONSTRUCTS = [
    *(construct(f"a pair {gap} widths apart", pair(gap), "merge") for gap in (0.3, 0.5, 0.7, 0.9)),
    *(construct(f"a pair {gap} widths apart", pair(gap)) for gap in (1.1, 1.3, 1.5)),
    construct("a pair 0.5 widths apart for 2.5 widths", pair(0.5, 2.5)),
    construct("a pair 0.5 widths apart for 4 widths", pair(0.5, 4.0), "merge"),
    construct("three lines 0.57 widths apart", [*pair(0.57), [(0, 1.14), (30, 1.14)]], "merge"),
    *(construct(f"a loop of {size} widths", loop(size), "close") for size in (0.4, 0.6, 0.8)),
    *(construct(f"a loop of {size} widths", loop(size)) for size in (1.2, 1.5, 2.0, 3.0)),
    *(construct(f"a wedge of {angle} degrees", wedge(angle), "merge") for angle in (0.5, 1.3, 3.0, 6.0)),
    *(construct(f"a wedge of {angle} degrees", wedge(angle)) for angle in (12.0, 20.0)),
    *(construct(f"a corner of {angle} degrees", corner(angle), "merge") for angle in (1.3, 5.0)),
    *(construct(f"a corner of {angle} degrees", corner(angle)) for angle in (12.0, 20.0, 45.0, 90.0)),
    *(construct(f"a crossing at {angle} degrees", crossing(angle)) for angle in (15.0, 30.0, 90.0)),
    construct("a crossing at 3 degrees", crossing(3.0), "merge"),
    *(construct(f"a T-junction at {angle} degrees", t_junction(angle)) for angle in (15.0, 45.0, 90.0)),
    *(construct(f"a right angle with a round join of {size} widths", rounded(size)) for size in (0.3, 1.0, 5.0)),
    construct("a branch that leaves along an arc of 5 widths", branch(5.0)),
    construct("a branch that leaves along an arc of 60 widths", branch(60.0), "merge"),
    construct("a comb whose teeth end half a width from a line", comb(2.2, 0.5)),
    construct("a bend back of 0.3 widths, legs of 1.2", back(0.3, 1.2), "fine"),
    construct("a bend back of 0.3 widths, legs of 20", back(0.3, 20.0), "merge"),
    construct("a bend back of 0.8 widths, legs of 20", back(0.8, 20.0)),
    construct("a zigzag of 0.4 widths", zigzag(0.4, 0.45), "fine"),
    construct("a zigzag of 3 widths", zigzag(3.0, 2.0)),
    construct("a wave of 0.3 widths", wave(0.3, 0.8), "fine"),
    construct("a wave of 3 widths", wave(3.0, 8.0)),
    construct("a stroke of 0.7 widths", [[(0, 0), (0.7, 0)]], "fine"),
    construct("a stroke of 2 widths", [[(0, 0), (2.0, 0)]]),
    construct("a dot", [[(0, 0), (0, 0)]]),
]
