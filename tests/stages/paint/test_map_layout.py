"""The map can be read: no text on another or in the margin, columns apart, whatever the panel, unit and colours."""

from itertools import product

import numpy as np
import pytest
from laid_out import beyond, overlaps, text_boxes
from test_plane import box, garden, ring

from underdraw import Drawing
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.page.canvas_page import MARGIN
from underdraw.testing.trial import TrialContext
from underdraw_stages.paint import PaintSettings
from underdraw_stages.paint.stage import paint

LEVELS = (30, 110, 190, 250), (20, 130, 240), (0, 128, 255)
COLOURS = [f"#{red:02x}{green:02x}{blue:02x}" for red, green, blue in product(*LEVELS)]


def meadow(face: str, colours: int, slivers: int) -> Drawing:
    """Petals of many colours, and slivers of 0.7 mm among them, on a stretched canvas."""
    job = job_from_data({"canvas": {"face": face, "mount": "stretched"}}, "moths round a moonflower vine")
    assert job.canvas.face is not None
    wide, tall = job.canvas.face
    rng = np.random.default_rng(colours)
    places = rng.uniform((0.1 * wide, 0.1 * tall), (0.9 * wide, 0.9 * tall), (colours + slivers, 2))
    shapes = [[ring(x, y, 0.06 * min(wide, tall))] for x, y in places[:colours]]
    shapes += [[box(x - 8, y, x + 8, y + 0.7)] for x, y in places[colours:]]
    fill = [COLOURS[at % len(COLOURS)] for at in range(len(shapes))]
    return Drawing.build(shapes, (wide, tall), job, fill=fill).replace(lying=OnBoard())


def maps(drawing: Drawing, bench: TrialContext, **written: object) -> list[str]:
    files = paint(drawing, read_settings(PaintSettings, written), bench).files
    assert files
    return [file.data.decode() for file in files]


CASES = [
    ("8 x 10 in", 5, 0),
    ("8 x 10 in", 30, 25),
    ("200 x 300 mm", 27, 80),
    ("600 x 200 mm", 12, 40),
    ("48 x 36 in", 27, 200),
]


@pytest.mark.parametrize(("face", "colours", "slivers"), CASES)
def test_no_text_lies_on_another_or_in_the_margin(bench: TrialContext, face: str, colours: int, slivers: int) -> None:
    [svg] = maps(meadow(face, colours, slivers), bench)
    size, boxes = text_boxes(svg)
    assert len(boxes) > 8 and ("Narrower than" in svg) == (slivers > 0)
    assert overlaps(boxes) == []
    assert beyond(size, boxes, MARGIN) == []


@pytest.mark.parametrize("seed", range(3))
def test_nor_on_a_panel_that_wraps(bench: TrialContext, seed: int) -> None:
    [svg] = maps(garden(seed), bench)
    size, boxes = text_boxes(svg)
    assert overlaps(boxes) == [] and beyond(size, boxes, MARGIN) == []


def test_figures_stand_under_the_heads_of_their_columns(bench: TrialContext) -> None:
    """Right edges of area, paint and narrowest, of every row, of the sums, and of the heads."""
    [svg] = maps(meadow("200 x 300 mm", 5, 4), bench)
    _, boxes = text_boxes(svg)
    heads = {words: (right, bottom) for words, _, _, right, bottom in boxes if words in ("cm²", "ml", "narrowest")}
    assert len(heads) == 3
    [together] = [each for each in boxes if each[0] == "together"]
    assert {each[1] for each in boxes if each[0] in ("together", "bare canvas", "colour")} == {together[1]}
    sums = sorted(
        (left, right)
        for words, left, _, right, bottom in boxes
        if abs(bottom - together[4]) < 1 and words != "together"
    )
    assert [right for _, right in sums] == pytest.approx([heads["cm²"][0], heads["ml"][0]], abs=0.01)
    rows = [each for each in boxes if each[0].startswith("#")]
    assert len(rows) == 9
    for _, left, _, right, bottom in rows:
        beside = sorted(each[3] for each in boxes if abs(each[4] - bottom) < 1 and each[1] > right)
        assert beside == pytest.approx([heads[name][0] for name in ("cm²", "ml", "narrowest")][: len(beside)], abs=0.01)
        assert left < heads["cm²"][0]
