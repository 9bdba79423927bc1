"""Loads: what is drawn between two swaps adds up to the whole."""

import numpy as np
import pytest

from underdraw import Drawing
from underdraw.job.file import job_from_data
from underdraw.machine.clock import Schedule
from underdraw.machine.loads import loads_of
from underdraw.plugins.registry import Registry

JOB = job_from_data(
    {
        "canvas": {"face": "200 x 200 mm", "mount": "stretched"},
        "marker": [{"name": "outline", "ink": "oil-paint"}, {"name": "accent", "ink": "permanent"}],
    },
    "moths",
)


@pytest.fixture(scope="module")
def installed() -> Registry:
    return Registry.installed()


def test_loads_share_out_strokes_length_and_time(installed: Registry) -> None:
    lines = [[[(10 + 5 * row, 10), (10 + 5 * row, 60)]] for row in range(6)]
    markers = np.array(["outline"] * 4 + ["accent"] * 2, dtype=object)
    drawing = Drawing.build(lines, (200, 200), JOB, marker=markers, load=[1, 1, 2, 2, 1, 1])
    schedule = Schedule.of(drawing, installed)
    loads = loads_of(drawing, installed, schedule)
    assert [(load.marker.name, load.number, load.first, load.last) for load in loads] == [
        ("outline", 1, 1, 2),
        ("outline", 2, 3, 4),
        ("accent", 1, 5, 6),
    ]
    assert [load.drawn_mm for load in loads] == [100.0, 100.0, 100.0]
    assert sum(load.seconds for load in loads) == pytest.approx(schedule.total)
    assert loads[0].start == 0.0 and loads[2].start == pytest.approx(loads[0].seconds + loads[1].seconds)
    assert loads[2].seconds < loads[0].seconds  # permanent markers draw twice as fast as oil-paint ones
    assert loads[0].ink.name == "oil-paint"


def test_nothing_drawn_is_no_load(installed: Registry) -> None:
    drawing = Drawing.build([], (200, 200), JOB)
    assert loads_of(drawing, installed, Schedule.of(drawing, installed)) == []
