"""Panels of the night garden, built by hand: a vine, a moth and stars on faces from 4 x 4 in to 48 x 20 in."""

from typing import Any

import numpy as np

from underdraw import Drawing, Job, Panel
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data

OUTLINE = {"name": "outline", "ink": "oil-paint", "tip": "1 mm", "colours": ["#1b1b3a"]}
ACCENT = {"name": "accent", "ink": "acrylic-paint", "tip": "0.7 mm", "colours": ["#d9793a"]}
PALE = {"name": "moonlight", "ink": "permanent", "tip": "1.5 mm", "colours": ["#f4f0d8"]}
PENCIL = {"name": "graphite", "ink": "pencil", "tip": "0.5 mm", "colours": ["#6b6b6b"]}

SIX: dict[str, dict[str, Any]] = {
    "4 x 4 in": {"canvas": {"face": "4 x 4 in", "depth": "3/4 in"}, "marker": [OUTLINE]},
    "stretched 8 x 8 in": {
        "canvas": {"face": "8 x 8 in", "mount": "stretched"},
        "machine": {"bed": "300 x 400 mm"},
        "marker": [OUTLINE, ACCENT],
    },
    "deep square": {
        "canvas": {"face": "300 x 300 mm", "depth": "60 mm", "bleed": "15 mm", "staple": "25 mm"},
        "machine": {"bed": "650 x 900 mm", "park": "-30 x -30 mm", "zero": "centre"},
        "holder": {"offset": "40 x -25 mm"},
        "marker": [OUTLINE, ACCENT],
    },
    "12 x 16 in": {
        "canvas": {"face": "12 x 16 in", "depth": "1.5 in"},
        "machine": {"bed": "24 x 48 in", "units": "in"},
        "marker": [OUTLINE, ACCENT, PALE, PENCIL],
    },
    "16 x 20 in, 2 1/2 in deep": {
        "canvas": {"face": "16 x 20 in", "depth": "2 1/2 in"},
        "machine": {"bed": "24 x 48 in", "zero": "pin", "pin": "1/2 x 1/2 in"},
        "marker": [OUTLINE, ACCENT],
    },
    "48 x 20 in": {
        "canvas": {"face": "48 x 20 in", "depth": "1.5 in"},
        "machine": {"bed": "60 x 30 in", "zero": "face", "park": "2 x 0 in"},
        "marker": [OUTLINE, ACCENT],
    },
}


def panel_drawing(name: str, *, loads: int = 2, strokes: int = 24) -> Drawing:
    """One of the six as strokes of its markers, each in `loads` loads."""
    return garden_strokes(job_from_data(SIX[name], name), loads=loads, strokes=strokes)


def garden_strokes(job: Job, *, loads: int = 2, strokes: int = 24) -> Drawing:
    """Strokes on a job's panel: closed leaves, open tendrils across the folds, and a dot for each marker."""
    panel = Panel.of(job)
    (width, height), each = panel.board, max(1, strokes // max(1, len(job.markers)))
    lines, names, numbers = [], [], []
    for which, marker in enumerate(job.markers):
        for row in range(each):
            share = (row + 0.5) / each
            lines.append(
                leaf(
                    width * (0.1 + 0.8 * share),
                    height * (0.2 + 0.15 * which),
                    min(width, height) * 0.04,
                    closed=row % 2 == 0,
                )
            )
            names.append(marker.name)
            numbers.append(1 + row * loads // each)
        lines.append(np.array([[width * 0.5, height * 0.9]] * 2))
        names.append(marker.name)
        numbers.append(loads)
    sections = [job.marker(name) for name in names]
    return Drawing.build(
        [[line] for line in lines],
        panel.board,
        job,
        marker=np.array(names, dtype=object),
        load=numbers,
        stroke=np.array([section.looks for section in sections], dtype=object),
        stroke_width=[section.tip for section in sections],
        cap="round",
        join="round",
    ).replace(lying=OnBoard(wrapped=True), hides_nothing=True)


def leaf(x: float, y: float, size: float, *, closed: bool) -> np.ndarray:
    """A pointed leaf, or a tendril that curls."""
    turn = np.linspace(0, 2 * np.pi, 33)
    if closed:
        points = np.column_stack([x + size * np.cos(turn), y + size * 1.6 * np.sin(turn)])
        points[-1] = points[0]
        return points
    grow = 1 - turn / 9
    return np.column_stack([x + size * grow * np.cos(2 * turn), y + size * 2 * grow * np.sin(turn)])
