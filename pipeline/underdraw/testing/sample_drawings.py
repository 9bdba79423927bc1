"""Drawings to try parts on: a corner of a night garden, of our own making, as artwork and as strokes in order."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing, Record
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.sections import Job

FACE = (120.0, 160.0)
BOARD = (170.0, 210.0)  # the face, and 20 mm depth with 5 mm bleed on every side
INK, GOLD, LEAF = "#1b1b3a", "#c8963c", "#3f6b4a"
TIP = 0.7


def sample_job(**sections: Any) -> Job:
    """A wrapped panel with two markers; `sections` go before its own, key by key, as a job file holds them."""
    data: dict[str, Any] = {
        "canvas": {"face": "120 x 160 mm", "depth": "20 mm", "bleed": "5 mm", "staple": "20 mm", "mount": "board"},
        "machine": {"bed": "600 x 1200 mm"},
        "marker": [
            {"name": "outline", "tip": f"{TIP} mm", "colours": [INK]},
            {"name": "accent", "tip": f"{TIP} mm", "colours": [GOLD]},
        ],
    }
    for section, held in sections.items():
        data[section] = {**data.get(section, {}), **held} if isinstance(held, dict) else held
    return job_from_data(data, "night-garden")


def artwork(job: Job | None = None) -> Drawing:
    """As it comes from a drawing program: stacked fills, an open stroke, two parts in one shape, a dot."""
    moon, wing = _circle((60.0, 50.0), 24.0), _circle((78.0, 66.0), 12.0)
    leaf = np.array([(20, 120), (40, 100), (62, 118), (40, 136), (20, 120)], dtype=np.float64)
    return Drawing.build(
        [[moon], [wing, _circle((78.0, 66.0), 5.0)], [leaf], [leaf], [_vine()], [[(100.0, 20.0)]]],
        FACE,
        job or sample_job(),
        (Record("sample", {"drawn": "by hand"}, {"shapes": 6}),),
        fill=[GOLD, INK, LEAF, "", "", ""],
        evenodd=[False, True, False, False, False, False],
        stroke=["", "", INK, INK, INK, INK],
        stroke_width=[0.0, 0.0, 1.2, 0.7, 0.7, 0.7],
        marker=["accent", "outline", "outline", "outline", "outline", "outline"],
        layer=["moon", "moth", "leaves", "leaves", "vine", "stars"],
        element=["m1", "w1", "l1", "l2", "v1", "s1"],
    )


def on_board(drawing: Drawing) -> Drawing:
    """The same on its board: the page on the face, nothing carried round the sides."""
    side = (BOARD[0] - FACE[0]) / 2
    page = tuple((side + x, side + y) for x, y in ((0.0, 0.0), (FACE[0], 0.0), FACE, (0.0, FACE[1])))
    return drawing.replace(coords=drawing.coords + side, sheet=BOARD, lying=OnBoard(page=page))


def strokes(job: Job | None = None) -> Drawing:
    """As it goes to a program: strokes in drawing order, two markers, a closed stroke, a dot, fold to fold."""
    across = np.array([(0.0, 105.0), (25.0, 104.0), (85.0, 98.0), (145.0, 101.5), (170.0, 100.25)])
    return Drawing.build(
        [[_vine() + 25.0], [_circle((85.0, 75.0), 24.0)], [across], [[(125.0, 45.0)]], [_circle((103.0, 91.0), 12.0)]],
        BOARD,
        job or sample_job(),
        (Record("sample", {"drawn": "by hand"}, {"strokes": 5}),),
        stroke=[INK, INK, INK, INK, GOLD],
        stroke_width=TIP,
        cap="round",
        join="round",
        marker=["outline"] * 4 + ["accent"],
        load=[1, 1, 2, 2, 1],
        layer="vine",
        lying=OnBoard(wrapped=True),
        hides_nothing=True,
    )


def nothing(job: Job | None = None) -> Drawing:
    """A drawing with no shapes at all."""
    return Drawing.build([], BOARD, job or sample_job(), (Record("sample"),), lying=OnBoard(wrapped=True))


def many_strokes(count: int, job: Job | None = None) -> Drawing:
    """A meadow: `count` short strokes in rows over the board, four points each, no two alike."""
    columns = int(np.ceil(np.sqrt(count)))
    row, column = np.divmod(np.arange(count), columns)
    pitch = np.array(BOARD) * 0.98 / columns
    foot = np.stack([column, row], axis=1) * pitch + 1.0
    sway = np.sin(np.arange(count) * 0.7)[:, None] * pitch * 0.3
    share = np.array([0.0, 0.3, 0.6, 0.85])
    blades = foot[:, None, :] + share[None, :, None] * (pitch * (0.2, 0.9) + sway)[:, None, :]
    return Drawing(
        coords=blades.reshape(-1, 2),
        parts=np.arange(count + 1) * len(share),
        shapes=np.arange(count + 1),
        sheet=BOARD,
        job=job or sample_job(),
        history=(Record("sample"),),
        stroke=np.full(count, INK, dtype=object),
        stroke_width=np.full(count, TIP),
        marker=np.full(count, "outline", dtype=object),
        load=np.ones(count, dtype=np.int32),
        lying=OnBoard(wrapped=True),
        hides_nothing=True,
    )


def _circle(centre: tuple[float, float], radius: float, points: int = 96) -> NDArray[np.float64]:
    angle = np.linspace(0.0, 2 * np.pi, points + 1)
    circle = np.asarray(centre) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    circle[-1] = circle[0]
    return circle


def _vine() -> NDArray[np.float64]:
    """An S that a marker draws in one go."""
    along = np.linspace(0.0, 1.0, 120)
    return np.stack([10.0 + 100.0 * along, 80.0 + 40.0 * np.sin(2 * np.pi * along)], axis=1)
