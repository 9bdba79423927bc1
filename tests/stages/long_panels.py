"""Panels longer than the bed: vines from end to end, rings across the bands, leaves all over, and the board's marks."""

import numpy as np

from underdraw import Drawing, Panel
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel import Lying, band_marks, corner_marks
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.stage import order

PANELS = {  # face, bed, and how many sections the sums below give
    "16 x 60 in": ("16 x 60 in", "24 x 48 in", 2),
    "30 x 30 in": ("30 x 30 in", "24 x 48 in", 2),
    "16 x 120 in": ("16 x 120 in", "24 x 48 in", 3),
    "120 x 16 in": ("120 x 16 in", "48 x 24 in", 3),
}


def long_panel(name: str, seed: int = 5, **machine: object) -> Drawing:
    """Vines along the whole board and rings across the bands, small leaves all over, and the board's marks."""
    face, bed, _ = PANELS[name]
    data = {
        "canvas": {"face": face},
        "machine": {"bed": bed, "sections": "auto", **machine},
        "marker": [{"name": "outline", "colours": ["#1b1b3a"]}, {"name": "accent", "colours": ["#d9793a"]}],
    }
    job = job_from_data(data, "frieze")
    lying = Lying.of_job(job, Registry.installed())
    assert lying is not None and lying.sections is not None
    panel, sections, rng = lying.panel, lying.sections, np.random.default_rng(seed)
    marks = (*corner_marks(panel), *band_marks(panel, sections))
    lines = vines(panel, sections.axis, rng) + rings(panel, sections.axis, rng) + leaves(panel, rng)
    names = ["outline"] * len(lines)
    names[1::3] = ["accent"] * len(names[1::3])
    crosses = [np.array(line) for mark in marks for line in mark.strokes]
    return Drawing.build(
        [[line] for line in [*lines, *crosses]],
        panel.board,
        job,
        marker=np.array([*names, *["outline"] * len(crosses)], dtype=object),
    ).replace(
        lying=OnBoard(turned=lying.turned, wrapped=True, marks=tuple(mark.at for mark in marks)), hides_nothing=True
    )


def turned(points: np.ndarray, axis: int) -> np.ndarray:
    return points if axis == 0 else points[:, ::-1]


def vines(panel: Panel, axis: int, rng: np.random.Generator) -> list[np.ndarray]:
    """From end to end, swaying; one with corners, one that is a single straight segment."""
    long, short = panel.image[axis], panel.image[1 - axis]
    along = np.linspace(30, long - 30, 400)
    made = []
    for share in (0.2, 0.35, 0.7):
        sway = 20 * np.sin(along / 60 + rng.uniform(0, 6)) + short * share
        made.append(turned(np.column_stack([along, sway]), axis))
    steps = np.linspace(25, long - 25, 30)
    zigzag = short * 0.5 + np.where(np.arange(30) % 2, 15, -15)
    made.append(turned(np.column_stack([steps, zigzag]), axis))
    made.append(turned(np.array([(20.0, short * 0.85), (long - 20.0, short * 0.87)]), axis))
    return made


def rings(panel: Panel, axis: int, rng: np.random.Generator) -> list[np.ndarray]:
    """Closed, as long as the board, and one that goes to and fro through the bands."""
    long, short = panel.image[axis], panel.image[1 - axis]
    turn = np.linspace(0, 2 * np.pi, 500)
    made = []
    for lobes in (0, 5):
        r = 0.45 + (0.04 * np.cos(lobes * turn) if lobes else 0)
        ring = np.column_stack([long / 2 + r * long * np.cos(turn), short / 2 + r * short * np.sin(turn)])
        ring[-1] = ring[0]
        made.append(turned(np.roll(ring[:-1], int(rng.integers(400)), axis=0)[[*range(499), 0]], axis))
    return made


def leaves(panel: Panel, rng: np.random.Generator) -> list[np.ndarray]:
    turn = np.linspace(0, 2 * np.pi, 25)
    at = rng.uniform((40, 40), np.array(panel.image) - 40, (80, 2))
    made = [np.column_stack([x + 12 * np.cos(turn), y + 18 * np.sin(turn)]) for x, y in at.tolist()]
    for ring in made:
        ring[-1] = ring[0]
    return [*made, np.array([(60.0, 60.0), (60.0, 60.0)])]  # and a dot


def ordered(drawing: Drawing, **asked: object) -> tuple[Drawing, dict[str, object]]:
    result = order(drawing, read_settings(OrderSettings, {"seconds": 0, **asked}), TrialContext(Registry.installed()))
    return result.drawing, result.figures
