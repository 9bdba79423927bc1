"""A panel's fold marks pass through: `wrap` put them there to be folded by, and each stays as it is."""

import numpy as np
import pytest
from night_artwork import artwork, blobs, lines_of, run, stroke

# As `wrap` draws them: twelve ticks in the bleed, on the folds and at the middles of the sides, in the layer so named.
TICKS = [
    *(((x, 0.0), (x, 8.0)) for x in (50.8, 100.0, 149.2)),
    *(((x, 200.0), (x, 192.0)) for x in (50.8, 100.0, 149.2)),
    *(((0.0, y), (8.0, y)) for y in (50.8, 100.0, 149.2)),
    *(((200.0, y), (192.0, y)) for y in (50.8, 100.0, 149.2)),
]


def marks(length: float) -> list[dict[str, object]]:
    ticks = np.array(TICKS)
    ticks[:, 1] = ticks[:, 0] + (ticks[:, 1] - ticks[:, 0]) * length / 8.0
    return [stroke(*tick.tolist(), width=0.7, layer="fold marks", cap="butt") for tick in ticks]


def test_fold_marks_stay_as_they_are() -> None:
    """Neither leftovers, nor joined, nor merged with the petals round about; even ticks below the shortest stroke."""
    petals = blobs(30, 3, side=120)
    for length in (8.0, 0.4):
        drawing = run(artwork(*petals, *marks(length))).drawing
        left = drawing.select(drawing.layer == "fold marks")
        wanted = sorted(sorted(map(tuple, mark["parts"][0].round(4).tolist())) for mark in marks(length))  # type: ignore[index]
        assert sorted(sorted((line[0], line[-1])) for line in lines_of(left)) == wanted
        assert left.part_lengths() == pytest.approx([length] * 12)


def test_a_line_drawn_across_a_fold_mark_takes_nothing_from_it() -> None:
    vine = stroke((20, 4), (180, 4), width=0.5)
    drawing = run(artwork(vine, *marks(8.0))).drawing
    assert drawing.drawn_mm == 160 + 12 * 8
    assert {(100.0, 0.0), (100.0, 8.0)} <= {point for line in lines_of(drawing) for point in line}
