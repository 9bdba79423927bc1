"""Waits: with the tip down as long as its marker needs to start, before it draws, and nowhere else for long."""

import numpy as np

from underdraw.job.sections import LONGEST_DOWN_S
from underdraw.program.rules.reading import Reading
from underdraw.words.quantities import duration

SLACK_S = 0.05  # rounding of waits as they are written, and less than a person notices
LONGEST_LIFTED_S = 60.0  # in any program: nobody waits so long for a machine; a person is waited for by a pause


def check(reading: Reading) -> None:
    """What any program shows, then what the markers' own waits are."""
    moves, drawn, faults, dialect = reading.moves, reading.drawn, reading.faults, reading.expected.dialect
    if not len(moves):
        return
    down = np.where(moves.down_at_start, moves.wait, 0.0)
    before = np.where(reading.has_drawn, 0.0, down)
    by_stroke = [np.bincount(drawn.stroke, weights=held, minlength=drawn.strokes + 1)[1:] for held in (before, down)]
    settled, stood = by_stroke[0], by_stroke[1] - by_stroke[0]
    lines = moves.line[reading.first_moves]
    slack = SLACK_S + (dialect.swing_s if dialect is not None else 0.0)
    longest = np.full(drawn.strokes, LONGEST_DOWN_S)
    if reading.expected.heights:
        least, most = reading.height_bounds("settle")
        waits = dialect is None or dialect.dwells
        longest, least = (most, least) if waits else (np.zeros(len(most)), np.zeros(len(least)))
        short = np.flatnonzero(settled < least - SLACK_S)
        faults.add_each(
            "wait",
            lines[short],
            lambda k: f"waits {settled[short[k]]:.2g} s with the tip down before it draws, not {least[short[k]]:.2g} s",
        )
        middle = np.flatnonzero(stood > slack)
        faults.add_each(
            "wait",
            lines[middle],
            lambda k: f"stands {_seconds(stood[middle[k]])} with the tip down after it has begun to draw",
        )
    else:
        settled = settled + stood
    long = np.flatnonzero(settled > longest + slack)
    faults.add_each(
        "wait",
        lines[long],
        lambda k: f"stands {_seconds(settled[long[k]])} with the tip down; {_seconds(longest[long[k]])} is the most",
    )
    idle = np.flatnonzero(moves.wait - down > LONGEST_LIFTED_S)
    faults.add_each(
        "wait",
        moves.line[idle],
        lambda k: f"waits {_seconds(moves.wait[idle[k]])} with the marker lifted; a pause (M0) waits for a person",
    )


def _seconds(seconds: float) -> str:
    return f"{seconds:.2g} s" if seconds < 10 else duration(seconds)
