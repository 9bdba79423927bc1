"""What a program draws held against a drawing: how far off, what is missing, what is extra, in any order and cut."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from underdraw.job.file import job_from_data
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.expected import Expected
from underdraw.program.expected.strokes import Strokes

HEAD = "M5\nG21\nG90 G94\nG0 Z5\n"
LINES = [
    np.array([(10.0, 10.0), (60.0, 10.0), (60.0, 40.0)]),
    np.array([(10.0, 50.0), (80.0, 70.0)]),
    np.array([(20.0, 90.0), (30.0, 95.0), (40.0, 90.0), (20.0, 90.0)]),
    np.array([(90.0, 90.0), (90.0, 90.0)]),
]


def strokes(lines=LINES) -> Strokes:
    counts = [len(line) for line in lines]
    return Strokes(np.vstack(lines), np.concatenate([[0], np.cumsum(counts)]), np.arange(1, len(lines) + 1))


def program(lines) -> str:
    held = HEAD
    for line in lines:
        held += f"G0 X{line[0][0]} Y{line[0][1]}\nG1 Z-1 F600\n"
        held += "".join(f"G1 X{x} Y{y}\n" for x, y in line[1:] if len(np.unique(line, axis=0)) > 1)
        held += "G0 Z5\n"
    return held + "M2\n"


def compared(text: str, asked=None, tolerance: float = 0.02):
    expected = replace(Expected.unknown(), strokes=strokes() if asked is None else asked)
    return check_program(text.encode(), expected, tolerance)


def test_the_same_strokes_in_order_agree():
    report = compared(program(LINES))
    assert report.ok, report.problems
    assert report.comparison.of.tolist() == [1, 2, 3, 4]
    assert (report.comparison.missing_mm, report.comparison.extra_mm) == (0, 0)
    assert report.comparison.deviation == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("order", [[1, 0, 2, 3], [3, 2, 1, 0], [2, 0, 3, 1]])
def test_another_order_agrees_too(order):
    report = compared(program([LINES[k] for k in order]))
    assert report.ok, report.problems
    assert report.comparison.of.tolist() == [k + 1 for k in order]


def test_strokes_drawn_backwards_or_cut_in_two_agree():
    assert compared(program([line[::-1] for line in LINES])).ok
    cut = [LINES[0][:2], LINES[0][1:], *LINES[1:]]
    assert compared(program(cut)).ok


def test_a_closed_stroke_may_begin_anywhere():
    turned = np.vstack([LINES[2][1:-1], LINES[2][0], LINES[2][1]])
    assert compared(program([LINES[0], LINES[1], turned, LINES[3]])).ok


@pytest.mark.parametrize("gone", range(4))
def test_a_stroke_left_out_is_missing_by_its_number_and_length(gone):
    report = compared(program([line for k, line in enumerate(LINES) if k != gone]))
    length = np.hypot(*np.diff(LINES[gone], axis=0).T).sum()
    assert list(report.comparison.missing) == [gone + 1]
    assert report.comparison.missing_mm == pytest.approx(length, abs=0.1)
    assert report.comparison.extra_mm == 0
    assert f"stroke {gone + 1}" in report.problems[0].text


@pytest.mark.parametrize("again", range(4))
def test_a_stroke_drawn_twice_is_extra(again):
    report = compared(program([*LINES, LINES[again]]))
    length = np.hypot(*np.diff(LINES[again], axis=0).T).sum()
    assert report.comparison.extra_mm == pytest.approx(length, rel=0.05, abs=0.1)
    assert report.comparison.missing_mm == 0
    assert {problem.code for problem in report.problems} == {"extra"}


def test_going_back_over_a_line_within_a_stroke_is_extra():
    doubled = np.vstack([LINES[1], LINES[1][:1]])
    report = compared(program([LINES[0], doubled, *LINES[2:]]))
    assert report.comparison.extra_mm == pytest.approx(np.hypot(70, 20), rel=0.05)


def test_a_stroke_of_its_own_is_extra_by_its_length_and_line():
    text = program([*LINES, np.array([(5.0, 5.0), (5.0, 30.0)])])
    report = compared(text)
    assert report.comparison.extra_mm == pytest.approx(25, abs=0.1)
    assert report.comparison.deviation == pytest.approx(
        shapely.distance(shapely.Point(5, 30), shapely.LineString(LINES[1])), rel=0.3
    )
    line = report.problems[0].line
    assert text.splitlines()[line - 1] == "G1 Z-1 F600"


def test_a_stray_dot_and_a_missing_dot_are_found():
    assert compared(program([*LINES, np.array([(50.0, 50.0)] * 2)])).comparison.extra_mm > 0
    assert compared(program(LINES[:3])).comparison.missing_mm > 0


@pytest.mark.parametrize(("off", "fine"), [(0.015, True), (0.03, False), (0.5, False)])
def test_the_deviation_is_the_farthest_that_a_point_lies_off(off, fine):
    bent = LINES[1].copy()
    bent[1, 1] += off
    report = compared(program([LINES[0], bent, *LINES[2:]]))
    exact = shapely.hausdorff_distance(shapely.LineString(LINES[1]), shapely.LineString(bent))
    assert report.comparison.deviation == pytest.approx(exact, rel=0.02)
    assert report.ok is fine


def test_half_a_stroke_is_half_missing():
    half = np.array([LINES[1][0], LINES[1].mean(axis=0)])
    report = compared(program([LINES[0], half, *LINES[2:]]))
    assert report.comparison.missing_mm == pytest.approx(np.hypot(70, 20) / 2, rel=0.05)


def test_place_takes_offset_and_zero_into_account():
    machine = {"zero": "pin", "pin": "7 x 3 mm"}
    job = job_from_data(
        {
            "canvas": {"face": "100 x 100 mm", "mount": "stretched"},
            "machine": machine,
            "holder": {"offset": "-2 x 1 mm", "zero_with": "axis"},
        },
        "moth",
    )
    lying = Lying.of_job(job, Registry())
    moved = Expected(job.machine, lying, strokes=strokes())
    shifted = [line - np.array([5.0, 4.0]) for line in LINES]
    report = check_program(program(shifted).encode(), moved)
    assert report.ok, report.problems


def test_a_drawing_without_strokes_makes_everything_extra():
    nothing = Strokes(np.empty((0, 2)), np.zeros(1, dtype=np.int64), np.empty(0, dtype=np.int64))
    report = compared(program(LINES[:2]), nothing)
    assert report.comparison.extra_mm == pytest.approx(80 + np.hypot(70, 20), rel=0.01)
