"""What a marker's card tries: speeds, presses, waits, lines near each other, sealing, and how far it lasts."""

import numpy as np

from underdraw_stages.swatch.card import MARGIN, Card, Points, circle, segment
from underdraw_stages.swatch.letters import DEPTH, HEIGHT

LABELS = 46.0  # room for the words before a trial's line
ROW = 9.0  # from one trial's line to the next, at least
SWING = 7.5  # how far a trial's line swings up and down, together
GAP = 8.0
ROWS_A_METRE = 6  # even, so that every metre ends at the same margin
TICK = 4.0  # how far a metre's tick sticks out: part of the run, so that the marker never lifts
NUMBER_LEFT = 5.0  # how far a metre's number begins in the margin
LEAST_PITCH = 1.5
PAIRS = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0)  # tips from the middle of one line to that of the next
BEGINNINGS = 8  # strokes of a trial of waits
COLUMNS = ("plain", "sealed", "coated", "sealed + coated")
COLUMN_GAP = 6.0
PATCH = 34.0  # height of a column's lines


def put_speeds(card: Card, speeds: dict[str, float]) -> None:
    """The same line at each speed, in mm/s by the words for it."""
    trials = {words: {"speed": f"{speed:.9g} mm/s"} for words, speed in speeds.items()}
    _put_lines(card, "speed: the fastest that is solid", "speed", "at", trials)


def put_presses(card: Card, presses: dict[str, float]) -> None:
    """The same line pressed in by so much, in mm by the words for it."""
    trials = {words: {"press": f"{press:.9g} mm"} for words, press in presses.items()}
    _put_lines(card, "pressed in: the least without gaps", "press", "pressed", trials)


def _put_lines(card: Card, heading: str, kind: str, verb: str, trials: dict[str, dict[str, str]]) -> None:
    """The same line once for each trial, with settings of its own by the words before it."""
    if not trials:
        return
    card.heading(heading)
    for words, settings in trials.items():
        y = _row(card, words)
        card.trial(kind, words, [trial_line(MARGIN + LABELS, card.width - MARGIN, y)], settings, f"{verb} {words}")
    card.down(GAP)


def put_settles(card: Card, settles: dict[str, float]) -> None:
    """Short strokes after a wait with the tip down, in s by the words for it: a slow ink misses their beginnings."""
    card.heading("waits: the least with whole beginnings")
    step = (card.width - 2 * MARGIN - LABELS) / BEGINNINGS
    for words, settle in settles.items():
        y = _row(card, words)
        starts = MARGIN + LABELS + step * np.arange(BEGINNINGS)
        card.trial("settle", words, [segment(x, y, x + 0.6 * step, y) for x in starts],
                   {"settle": f"{settle:.9g} s"}, f"waits {words}")  # fmt: skip
    card.down(GAP)


def put_pairs(card: Card) -> None:
    """Two lines side by side, nearer and nearer: below some distance they read as one."""
    card.heading("tips apart: the least that stays two lines")
    step = card.room / len(PAIRS)
    unit, below = card.small(0.6), max(4.0, 1.5 * card.tip)
    top = card.down(HEIGHT * unit)
    for index, tips in enumerate(PAIRS):
        x = MARGIN + index * step
        words = f"{tips:g}"
        card.write(words, x, top, 0.9 * step, unit)
        y = top + below
        card.trial("pair", words, [segment(x, y, x + 0.8 * step, y),
                                   segment(x + 0.8 * step, y + tips * card.tip, x, y + tips * card.tip)])  # fmt: skip
    card.down(below + max(PAIRS) * card.tip)
    card.down(GAP)


def put_patches(card: Card) -> None:
    """Alike patches, to be left plain, sealed, coated, and sealed and coated."""
    card.heading("cut here, then seal and coat:")
    wide = (card.room - COLUMN_GAP * (len(COLUMNS) - 1)) / len(COLUMNS)
    baseline = card.down(HEIGHT * card.unit)
    below = max(4.0, DEPTH * card.unit + card.tip)
    top = baseline + below
    for index, words in enumerate(COLUMNS):
        x = MARGIN + index * (wide + COLUMN_GAP)
        card.write(words, x, baseline, wide)
        card.trial("patch", words, patch(x, top, wide, PATCH - 8.0))
    card.down(PATCH + below - 4.0)
    card.down(GAP)


def put_run(card: Card, length: float) -> None:
    """A line of so many mm that goes to and fro without a lift, with a tick and a number at the left for each metre."""
    metres = int(np.ceil(length / 1000.0))
    card.heading(f"run of {length / 1000:g} m: where does it fade?")
    pitch = max(LEAST_PITCH, 2.2 * card.tip)
    left = MARGIN + max(8.0, 6.5 + card.tip)
    room = left - TICK - card.tip - (MARGIN - NUMBER_LEFT)
    row = (1000.0 - 2 * TICK) / ROWS_A_METRE - pitch  # rows, the steps between them and one tick: a metre exactly
    top = card.down(2.0)
    for metre in range(1, int(length / 1000.0) + 1):
        y = top + metre * ROWS_A_METRE * pitch
        card.write(f"{metre}", MARGIN - NUMBER_LEFT, y + 1.0, room, card.small(0.45))
    card.trial("run", f"{length / 1000:g} m", [cut_to(meander(left, row, top, pitch, metres), length)])
    card.down(metres * ROWS_A_METRE * pitch)


def _row(card: Card, words: str) -> float:
    """The height of the next trial's line, its words written before it."""
    row = max(ROW, SWING + card.tip + 0.5)
    y = card.down(row)
    unit = min(card.unit, (row - 1.0 - card.tip) / HEIGHT)
    card.write(words, MARGIN, y + HEIGHT * unit / 3, LABELS - 4, unit)
    return y


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


def patch(x: float, y: float, wide: float, tall: float) -> list[Points]:
    """Lines alone, lines that cross, lines close together, and a dot: where ink runs, it shows here."""
    lines = [segment(x, y + tall * share, x + wide, y + tall * share) for share in (0.0, 0.25, 0.31)]
    lines += [segment(x + wide * share, y + tall * 0.5, x + wide * share, y + tall) for share in (0.1, 0.3, 0.5)]
    lines += [segment(x, y + tall * share, x + wide * 0.6, y + tall * share) for share in (0.6, 0.8)]
    lines.append(circle(x + wide * 0.8, y + tall * 0.75, 4.0))
    lines.append(segment(x + wide * 0.8, y + tall * 0.75, x + wide * 0.8, y + tall * 0.75))
    return lines
