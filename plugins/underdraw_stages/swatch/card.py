"""A card in the making: strokes in drawing order, the marker of each, and which of them are one trial. mm, y down."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.facts import Trial
from underdraw_stages.swatch.letters import DEPTH, HEIGHT, text_length, text_strokes

Points = NDArray[np.float64]

WIDTH = 190.0  # fits on A4 and Letter, and on most beds
MARGIN = 10.0
LETTER_GAP = 3.6  # between two lines of text, at least
LEGIBLE = 0.5  # a letter's grid unit, in tips, at least: a small letter's bowl is then open by a tip


@dataclass
class Card:
    """Strokes from top to bottom; `marker` draws all that no trial asks another way of.

    settings: what a trial's own markers differ in from `marker`, as a job writes it. put_in: those that the operator
    puts in anew, though they are the same pen; all others are in the holder already. left_off: words that this tip
    is too broad to write in the room there is.
    """

    marker: str
    tip: float
    width: float = WIDTH
    strokes: list[Points] = field(default_factory=list)
    markers: list[str] = field(default_factory=list)
    trials: list[Trial] = field(default_factory=list)
    settings: dict[str, dict[str, str]] = field(default_factory=dict)
    put_in: list[str] = field(default_factory=list)
    left_off: list[str] = field(default_factory=list)
    bottom: float = MARGIN

    @property
    def unit(self) -> float:
        """mm of a letter's grid unit: larger for a broad tip, so that bowls stay open."""
        return max(0.6, 0.75 * self.tip)

    @property
    def room(self) -> float:
        """mm between the margins."""
        return self.width - 2 * MARGIN

    @property
    def height(self) -> float:
        """The card's length, its lower margin included."""
        return float(np.ceil(self.bottom + MARGIN))

    def down(self, height: float) -> float:
        """Take that much of the card's length; the new lower edge."""
        self.bottom += height
        return self.bottom

    def add(self, strokes: Sequence[Points], marker: str | None = None) -> None:
        """Strokes that are no trial: labels, and what leads up to something."""
        self.strokes += strokes
        self.markers += [marker or self.marker] * len(strokes)

    def write(self, text: str, x: float, baseline: float, room: float | None = None, unit: float | None = None) -> None:
        """A line of text, made smaller where the room is short, and left off where it could not be read."""
        size = unit or self.unit
        size *= min(1.0, (room or self.room) / max(text_length(text, size), 1e-9))
        if size < LEGIBLE * self.tip:
            self.left_off.append(text)
        else:
            self.add(text_strokes(text, x, baseline, size))

    def small(self, unit: float) -> float:
        """mm of the grid unit of small figures: as given, or as much larger as a broad tip needs."""
        return max(unit, LEGIBLE * self.tip)

    def heading(self, text: str) -> None:
        """A line of text over its own block."""
        self.write(text, MARGIN, self.down(HEIGHT * self.unit))
        self.down(max(LETTER_GAP, DEPTH * self.unit + 2 * self.tip))

    def trial(
        self, kind: str, words: str, strokes: Sequence[Points], settings: dict[str, str] | None = None, name: str = ""
    ) -> None:
        """Strokes that try something. settings: what differs from the marker's own, under a name beside its own."""
        marker = f"{self.marker} {name}" if name else self.marker
        if name:
            self.settings[marker] = settings or {}
        first = len(self.strokes) + 1
        self.add(strokes, marker)
        self.trials.append(Trial(kind, words, first, len(self.strokes)))


def segment(x0: float, y0: float, x1: float, y1: float) -> Points:
    """(2, 2) a straight stroke."""
    return np.array([[x0, y0], [x1, y1]])


def circle(x: float, y: float, radius: float, turns: float = 1.0) -> Points:
    """(n, 2) a circle from its top, clockwise as seen on the card; negative turns: the other way."""
    steps = max(2, round(abs(turns) * max(48, radius * 16)))
    angle = np.linspace(0.0, 2 * np.pi * turns, steps + 1)
    return np.column_stack([x + radius * np.sin(angle), y - radius * np.cos(angle)])
