"""Hops: a lower lift between strokes that lie near to each other, and nowhere else."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from underdraw import Drawing, Result
from underdraw.errors import CannotDo
from underdraw.machine.clock import Schedule
from underdraw.plugins.registry import Registry
from underdraw.program import Report

LINES = [[(20, 200), (60, 200)], [(70, 200), (90, 200)], [(150, 200), (180, 200)], [(180, 195), (150, 195)]]
HOP = {"hop": "2 mm", "hop_within": "15 mm"}


def lifts(report: Report) -> list[float]:
    """mm: how high the marker is on each way sideways, from the first stroke to the last."""
    moves = report.drawn.moves
    rows = np.flatnonzero(moves.sideways & ~moves.drawing & (report.drawn.stroke > 0))
    return np.round(np.minimum(moves.start[rows, 2], moves.end[rows, 2]), 2).tolist()


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_marker_is_lifted_less_to_a_near_stroke_alone(
    units: str, garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    drawing = garden(LINES, holder=HOP)
    report = read_back(write(drawing, units=units).files[0].data, drawing)
    assert report.problems == []
    assert lifts(report) == [2.0, 5.0, 2.0, 5.0]  # 10 mm, 60 mm, 5 mm, back to park
    plain = garden(LINES)
    assert lifts(read_back(write(plain).files[0].data, plain)) == [5.0] * 4


def test_no_hop_leads_to_a_swap_or_past_an_optional_stop(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    drawing = garden(LINES, gold=1, holder=HOP)
    assert lifts(read_back(write(drawing).files[0].data, drawing)) == [2.0, 5.0, 5.0, 5.0, 5.0]
    drawing = garden(LINES, holder=HOP)
    data = write(drawing, **{"optional-stops": True}).files[0].data
    stops = read_back(data, drawing)
    assert stops.problems == []
    assert set(lifts(stops)) == {5.0}
    raised = re.findall(r"Z(\S+)(?=[^Z]*^M1$)", data.decode(), flags=re.MULTILINE)
    assert raised == ["5"] * (len(LINES) - 1)


def test_no_hop_leads_over_a_keep_out(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    low = {"name": "staple", "at": "62 x 30 mm", "size": "4 x 20 mm", "height": "3 mm"}
    drawing = garden(LINES, holder=HOP, machine={"keep_out": [low]})
    report = read_back(write(drawing).files[0].data, drawing)
    assert report.problems == []
    assert lifts(report) == [5.0, 5.0, 2.0, 5.0]


def test_check_takes_a_low_lift_for_such_hops_and_only_for_such(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    data = write(garden(LINES, holder=HOP)).files[0].data

    def problems(**holder: Any) -> set[str]:
        return {item.text for item in read_back(data, garden(LINES, holder=holder)).problems}

    assert problems(**HOP) == set()
    assert problems() == {"travels 2.00 mm above the canvas; the lift is 5.00 mm"}
    assert problems(hop="2 mm", hop_within="9 mm") == {"travels 2.00 mm above the canvas; the lift is 5.00 mm"}
    assert problems(hop="3 mm", hop_within="15 mm")
    blocks = data.decode().splitlines()
    far = next(index for index, block in enumerate(blocks) if block.startswith("N3 "))
    assert blocks[far - 1] == "G0 Z5"
    blocks[far - 1] = "G0 Z2"
    hurt = read_back("\n".join(blocks).encode(), garden(LINES, holder=HOP))
    assert [(item.line, item.code) for item in hurt.problems] == [(far + 1, "lift")]


def test_summary_and_clock_agree_on_what_hops_save(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report], registry: Registry
) -> None:
    machine = {"rapid_z": "20 in/min"}
    with_hops, without = garden(LINES, holder=HOP, machine=machine), garden(LINES, machine=machine)
    seconds = [read_back(write(each).files[0].data, each).drawn.total_seconds for each in (without, with_hops)]
    saved = Schedule.saved_by_hops(with_hops, registry)
    assert saved == pytest.approx(seconds[0] - seconds[1], rel=0.02)
    assert saved == pytest.approx(2 * 2 * 3 / (20 * 25.4 / 60), rel=0.1)  # two hops, up and down, 3 mm less each
    assert Schedule.saved_by_hops(without, registry) == 0.0
    assert re.search(r"hops of up to 15 mm are lifted by 2 mm and save about", write(with_hops).summary)
    assert "hops" not in write(without).summary


def test_a_hop_higher_than_the_lift_is_refused(garden: Callable[..., Drawing], write: Callable[..., Result]) -> None:
    with pytest.raises(CannotDo, match=r"\[holder\] hop: 9 mm is more than the lift of 5 mm"):
        write(garden(LINES, holder={"hop": "9 mm"}))
