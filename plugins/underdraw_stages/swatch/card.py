"""The card: where each trial lies and what its strokes are. In mm, y down; the card is as long as it must be."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.swatch.letters import HEIGHT, text_length, text_strokes

Points = NDArray[np.float64]

WIDTH = 190.0  # lies on A4 and Letter, and on most beds
MARGIN = 10.0
LABELS = 46.0  # room for the words before a trial's line
ROW = 9.0
GAP = 8.0
ROWS_A_METRE = 6  # even, so that every metre ends at the same margin
TICK = 4.0  # how far a metre's tick sticks out: part of the run, so that the marker never lifts
LEAST_PITCH = 1.5
COLUMNS = ("bare", "coated", "sealed + coated")
COLUMN_GAP = 8.0
PATCH = 34.0  # height of a column's trials


@dataclass
class Card:
    """Strokes by who draws them: trial names in drawing order, each with its strokes."""

    tip: float
    trials: dict[str, list[Points]] = field(default_factory=dict)
    bottom: float = MARGIN

    @property
    def unit(self) -> float:
        """mm of a letter's grid unit: larger for a broad tip, so that bowls stay open."""
        return max(0.6, 0.75 * self.tip)

    def write(self, trial: str, text: str, x: float, baseline: float, room: float = WIDTH - 2 * MARGIN) -> None:
        """A line of text, made smaller where the room is short."""
        unit = self.unit * min(1.0, room / max(text_length(text, self.unit), 1e-9))
        self.add(trial, *text_strokes(text, x, baseline, unit))

    def add(self, trial: str, *strokes: Points) -> None:
        """Strokes of a trial."""
        self.trials.setdefault(trial, []).extend(strokes)

    def line_down(self, height: float) -> float:
        """Take that much of the card's length; the new lower edge."""
        self.bottom += height
        return self.bottom


def put_heading(card: Card, trial: str, lines: list[str]) -> None:
    """What the card is of."""
    for line in lines:
        card.write(trial, line, MARGIN, card.line_down(HEIGHT * card.unit))
        card.line_down(3.6)


def put_ladder(card: Card, first: str, heading: str, rows: list[tuple[str, str]]) -> None:
    """The same line once for each row: (trial that draws it, words before it). The words are the first marker's."""
    card.line_down(GAP - 3.6)
    card.write(first, heading, MARGIN, card.line_down(HEIGHT * card.unit))
    card.line_down(2.0)
    for trial, words in rows:
        y = card.line_down(ROW)
        card.write(first, words, MARGIN, y + HEIGHT * card.unit / 3, LABELS - 4)
        card.add(trial, trial_line(MARGIN + LABELS, WIDTH - MARGIN, y))
    card.line_down(ROW * 0.5)


def trial_line(x0: float, x1: float, y: float) -> Points:
    """One stroke with all that an outline asks of a marker: straight, corners, a wave, a small loop."""
    wide = x1 - x0
    straight = np.array([[x0, y], [x0 + 0.4 * wide, y]])
    teeth = x0 + wide * np.array([0.44, 0.48, 0.52, 0.56])
    zigzag = np.column_stack([teeth, y + np.array([-2.5, 2.5, -2.5, 0.0])])
    turn = np.linspace(0, 2 * np.pi, 97)[1:]
    wave = np.column_stack([teeth[-1] + wide * 0.2 * turn / (2 * np.pi), y - 2.5 * np.sin(2 * turn)])
    loop = np.column_stack([wave[-1, 0] + wide * 0.1 + 2.5 * np.sin(turn), y + 2.5 * np.cos(turn) - 2.5])
    end = np.array([[x1, y]])
    return np.vstack([straight, zigzag, wave, [[loop[-1, 0], y]], loop, end])


def put_run(card: Card, first: str, trial: str, metres: float) -> None:
    """A line that goes to and fro without a lift, with a tick at the left for each metre of it."""
    card.line_down(GAP)
    heading = f"run of {metres:g} m: where it fades is its ink length"
    card.write(first, heading, MARGIN, card.line_down(HEIGHT * card.unit))
    pitch = max(LEAST_PITCH, 2.2 * card.tip)
    left = MARGIN + 8.0
    row = (1000.0 - 2 * TICK) / ROWS_A_METRE - pitch  # rows, the steps between them and one tick: a metre exactly
    top = card.line_down(5.0)
    for metre in range(1, int(metres) + 1):
        y = top + metre * ROWS_A_METRE * pitch
        card.add(first, *text_strokes(f"{metre}", MARGIN - 5.0, y + 1.0, 0.45))
    card.add(trial, cut_to(meander(left, row, top, pitch, int(np.ceil(metres))), metres * 1000.0))
    card.line_down(np.ceil(metres) * ROWS_A_METRE * pitch)


def meander(left: float, row: float, top: float, pitch: float, metres: int) -> Points:
    """(n, 2) the run: rows of one length, joined by steps at their ends, out and back at each metre."""
    points = [(left, top)]
    for step in range(metres * ROWS_A_METRE):
        y = top + step * pitch
        right = step % 2 == 0
        points += [(left + row if right else left, y), (left + row if right else left, y + pitch)]
        if (step + 1) % ROWS_A_METRE == 0:
            points += [(left - TICK, y + pitch), (left, y + pitch)]
    return np.array(points)


def cut_to(points: Points, length: float) -> Points:
    """(m, 2) the first `length` mm of a polyline (n, 2)."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if along[-1] <= length:
        return points
    last = int(np.searchsorted(along, length))
    share = (length - along[last - 1]) / (along[last] - along[last - 1])
    return np.vstack([points[:last], points[last - 1] + share * (points[last] - points[last - 1])])


def put_columns(card: Card, trial: str) -> None:
    """Three alike patches, to be left bare, coated, and sealed and coated."""
    card.line_down(GAP)
    wide = (WIDTH - 2 * MARGIN - COLUMN_GAP * (len(COLUMNS) - 1)) / len(COLUMNS)
    baseline = card.line_down(HEIGHT * card.unit)
    top = baseline + 4.0
    for place, words in enumerate(COLUMNS):
        x = MARGIN + place * (wide + COLUMN_GAP)
        card.write(trial, words, x, baseline, wide)
        card.add(trial, *patch(x, top, wide, PATCH - 8.0))
    card.line_down(PATCH)


def patch(x: float, y: float, wide: float, tall: float) -> list[Points]:
    """Lines alone, lines that cross, lines close together, and a dot: where ink runs, it shows here."""
    lines: list[Points] = [
        np.array([[x, y + tall * share], [x + wide, y + tall * share]]) for share in (0.0, 0.25, 0.31)
    ]
    lines += [np.array([[x + wide * share, y + tall * 0.5], [x + wide * share, y + tall]]) for share in (0.1, 0.3, 0.5)]
    lines += [np.array([[x, y + tall * share], [x + wide * 0.6, y + tall * share]]) for share in (0.6, 0.8)]
    turn = np.linspace(0, 2 * np.pi, 49)
    lines.append(np.column_stack([x + wide * 0.8 + 4 * np.sin(turn), y + tall * 0.75 - 4 * np.cos(turn)]))
    lines.append(np.array([[x + wide * 0.8, y + tall * 0.75]] * 2))
    return lines


def height_of(card: Card) -> float:
    """The card's length, its lower margin included."""
    return float(np.ceil(card.bottom + MARGIN))
