"""Where the line is: zero set with the tip or with the axis, turned or not, any zero, tips that are elsewhere.

Common practice, no source: what is set over zero is where the program's X0 Y0 is.
"""

import itertools
import re

import numpy as np
import pytest
from plain_machine import run

from underdraw import Drawing
from underdraw.drawing.facts import Motion, OnBoard
from underdraw.errors import CannotDo
from underdraw.panel import Lying
from underdraw.program import check_program
from underdraw.program.expected import Expected

HOLDER, GOLD = (30.0, -4.0), (2.5, -1.25)
LINES = [np.array([(60.0, 80.0), (90.0, 80.0)]), np.array([(20.0, 100.0), (20.0, 160.0), (70.0, 160.0)])]
CASES = list(
    itertools.product(
        ("tip", "axis"),
        (False, True),
        ("board", "face", "centre", "pin"),
        ((0.0, 0.0), GOLD),
        (None, Motion(0.4, (3.0, -2.0))),
    )
)


def asked(offset: tuple[float, float]) -> str:
    return f"{offset[0]:g} x {offset[1]:g} mm"


def panel(garden, *, turned=False, shift=GOLD, motion=None, lines=LINES, **sections) -> Drawing:
    sections.setdefault("machine", {})
    markers = [{"name": "outline"}, {"name": "gold (fine)", "offset": asked(shift)}]
    board = (240.0, 200.0) if turned else (200.0, 240.0)
    drawing = garden(strokes=lines, board=board, gold=1, marker=markers, **sections)
    return drawing.replace(lying=OnBoard(turned=turned, motion=motion))


@pytest.mark.parametrize(("zero_with", "turned", "zero", "shift", "motion"), CASES)
def test_the_tip_draws_where_the_drawing_says(garden, write, read_back, zero_with, turned, zero, shift, motion):
    drawing = panel(
        garden,
        turned=turned,
        shift=shift,
        motion=motion,
        machine={"zero": zero, "pin": "12 x 8 mm"},
        holder={"offset": asked(HOLDER), "zero_with": zero_with},
    )
    data = write(drawing).files[0].data
    report = read_back(data, drawing)
    assert report.ok, report.problems
    w, h = drawing.sheet
    at = {"board": (0, 0), "face": (50, 50), "centre": (w / 2, h / 2), "pin": (12, 8)}[zero]
    off = HOLDER if zero_with == "axis" else (0.0, 0.0)  # what the axis is beside the tip that draws
    for line, points, tip in zip(run(data.decode()).lines, LINES, ((0.0, 0.0), shift), strict=True):
        drawn = np.array(line.points) + off + tip  # of that marker's own tip, from zero
        if motion is not None:
            turn = np.radians(motion.angle_deg)
            drawn = (drawn - motion.shift_mm) @ np.array([(np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))])
        drawn = drawn + at
        assert np.column_stack([drawn[:, 0], h - drawn[:, 1]]) == pytest.approx(points, abs=2e-4)


def test_the_reach_counts_the_offset_however_zero_is_set(garden, write, registry):
    for zero_with in ("tip", "axis"):
        holder = {"offset": asked(HOLDER), "zero_with": zero_with}
        drawing = panel(
            garden, machine={"bed": "280 x 300 mm"}, holder=holder
        )  # 250 x 290 mm of canvas: 30 x 10 to spare
        assert write(drawing).files
        lying = Lying.of(drawing, registry)
        other = panel(garden, machine={"bed": "280 x 300 mm"}, holder={**holder, "zero_with": "tip"})
        assert lying.reach == Lying.of(other, registry).reach
        with pytest.raises(CannotDo, match="does not fit the bed"):
            write(panel(garden, machine={"bed": "228 x 300 mm"}, holder=holder))


def test_lines_that_a_step_put_off_the_image_are_no_fault_of_the_controller(garden, write):
    drawing = panel(garden, shift=(0.0, 0.0))
    moved = drawing.replace(coords=np.add(drawing.coords, (0.0, 100.0)))
    with pytest.raises(CannotDo, match=r"^stroke 2 of the drawing lies 20 mm outside the image\n  try: "):
        write(moved)


def test_a_program_without_notes_may_have_been_drawn_with_any_tip(garden, write, registry):
    edge = [LINES[0], np.array([(0.0, 0.0), (200.0, 0.0), (200.0, 240.0), (0.0, 240.0)])]
    drawing = panel(garden, lines=edge, shift=(12.0, -8.0))
    alone = Expected.of(drawing.job, Lying.of(drawing, registry), registry, "lines")
    data = write(drawing, controller="lines").files[0].data
    assert b"(" not in data and check_program(data, alone).ok
    beyond = re.sub(rb"X(-?[\d.]+)", lambda found: b"X%.3f" % (float(found[1]) + 15.0), data)
    assert "outside-image" in {problem.code for problem in check_program(beyond, alone).problems}
    dots = panel(garden, lines=[LINES[0], np.array([(199.0, 2.0), (199.0, 2.0)])], shift=(12.0, -8.0))
    assert check_program(write(dots, controller="lines").files[0].data, alone).ok


def test_a_tip_elsewhere_may_draw_to_the_images_edge_and_no_farther(garden, write, read_back):
    edge = [LINES[0], np.array([(0.0, 0.0), (200.0, 0.0), (200.0, 240.0), (0.0, 240.0)])]
    drawing = panel(garden, lines=edge)
    data = write(drawing).files[0].data
    assert read_back(data, drawing).ok
    plain = panel(garden, lines=edge, shift=(0.0, 0.0))
    assert {problem.code for problem in read_back(data, plain).problems} >= {"outside-image"}


def test_the_first_marker_has_no_offset_of_its_own(garden, write):
    markers = [{"name": "outline", "offset": "1 x 0 mm"}, {"name": "gold (fine)"}]
    with pytest.raises(CannotDo, match="'outline' is the first marker"):
        write(garden(gold=2, marker=markers))


def test_the_header_says_which_tip_sets_zero(garden, write):
    text = re.sub(r"\)\n\(", " ", write(panel(garden)).files[0].data.decode())
    assert "X0 Y0 is the board's lower left corner, under the tip of marker outline" in text
