"""Markers of one body are one pen with several settings: one trip, one swap, and one length of ink for all of them."""

import numpy as np
import pytest

from underdraw import Drawing
from underdraw.job.file import job_from_data
from underdraw.machine.loads import loads_between
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.stage import order

BLACK = {"name": "black", "ink_length": "2.5 m"}
RED = {"name": "red", "colour": "#ff0000"}
SLOW = {"name": "slow", "body": "black", "speed": "5 mm/s"}


def rows(markers: list[dict[str, str]], names: list[str]) -> Drawing:
    job = job_from_data({"canvas": {"face": "300 x 300 mm", "mount": "stretched"}, "marker": markers}, "moths")
    strokes = [[np.array([[10.0, 5.0 + 9 * row], [110.0, 5.0 + 9 * row]])] for row in range(len(names))]
    return Drawing.build(
        strokes, (300.0, 300.0), job, marker=np.array(names, dtype=object), stroke="#1b1b3a", stroke_width=0.7,
        hides_nothing=True,
    )  # fmt: skip


@pytest.mark.parametrize("lightest_first", [False, True])
def test_a_body_is_put_in_once_whatever_stands_between_its_markers_in_the_job(lightest_first: bool) -> None:
    drawing = rows([BLACK, RED, SLOW], ["black", "red", "slow"] * 4)
    asked = OrderSettings(lightest_first=lightest_first)
    found = order(drawing, asked, TrialContext(Registry.installed()))
    assert [load.marker.name for load in loads_between(found.drawing)] == (
        ["red", "black"] if lightest_first else ["black", "red"]
    )
    assert [(entry["marker"], entry["strokes"]) for entry in found.figures["ink"] if entry["marker"] != "red"] == [
        ("black", 8)
    ]


def test_the_ink_of_a_body_is_what_all_of_its_markers_draw_with() -> None:
    drawing = rows([BLACK, RED, SLOW], ["black"] * 15 + ["slow"] * 15)  # 3 m, of which one marker draws 2.25
    found = order(drawing, OrderSettings(), TrialContext(Registry.installed()))
    loads = loads_between(found.drawing)
    assert [(load.marker.name, load.number) for load in loads] == [("black", 1), ("black", 2)]
    assert all(load.drawn_mm <= 2250 for load in loads)
    assert [entry["left_mm"] >= 250 for entry in found.figures["ink"]] == [True, True]
    assert "black: 3.0 m takes 2 markers" in found.summary and "slow" not in found.summary


def test_a_stroke_is_split_by_the_ink_of_its_body() -> None:
    drawing = rows([{**BLACK, "ink_length": "100 mm"}, SLOW], ["slow"])
    found = order(drawing, OrderSettings(), TrialContext(Registry.installed()))
    assert len(found.drawing) == 2
