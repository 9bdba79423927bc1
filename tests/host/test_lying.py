"""How a drawing lies: one answer, for programs, checks, pictures and sheets."""

from dataclasses import replace

import numpy as np
import pytest

from underdraw import CannotDo, Drawing, InputError, Panel
from underdraw.drawing.facts import Motion, OnBoard
from underdraw.job.file import job_from_data
from underdraw.job.sections import Job
from underdraw.panel import SIDES, Lying
from underdraw.panel.lying import must_turn, placed
from underdraw.plugins.registry import Registry

CANVAS = {"face": "300 x 400 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm"}
LINES = [[[(0, 0), (100, 200)]]]


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def job(**sections: dict[str, str]) -> Job:
    return job_from_data({"canvas": {**CANVAS, **sections.pop("canvas", {})}, **sections}, "moth")


def on_board(the_job: Job, lying: OnBoard | None = OnBoard()) -> Drawing:  # noqa: B008
    panel = Panel.of(the_job)
    panel = panel.turned() if lying is not None and lying.turned else panel
    return Drawing.build(LINES, panel.board, the_job, lying=lying)


def test_a_drawing_that_is_not_on_its_board_is_refused_with_the_stage_that_puts_it_there(registry: Registry) -> None:
    with pytest.raises(CannotDo, match="not on its board yet") as refused:
        Lying.of(on_board(job(), None), registry)
    assert "try: underdraw fit" in str(refused.value)


def test_without_a_face_the_sheet_is_a_stretched_canvas(registry: Registry) -> None:
    lying = Lying.of(Drawing.build(LINES, (210, 297), Job()), registry)
    assert lying.panel.face == lying.board == (210, 297)
    assert not lying.panel.wraps and lying.reach is None


def test_a_drawing_of_other_sizes_than_its_jobs_is_refused(registry: Registry) -> None:
    drawing = on_board(job()).replace(job=job(canvas={"face": "310 x 400 mm"}))
    with pytest.raises(InputError, match="the drawing is 400 × 500 mm and the job's board is 410 × 500 mm"):
        Lying.of(drawing, registry)


@pytest.mark.parametrize(
    ("zero", "expected"),
    [("board", (0.0, 0.0)), ("face", (50.0, 50.0)), ("centre", (200.0, 250.0)), ("pin", (12.0, 7.0))],
)
def test_program_zero_is_where_the_job_sets_it(registry: Registry, zero: str, expected: tuple[float, float]) -> None:
    lying = Lying.of(on_board(job(machine={"zero": zero, "pin": "12 x 7 mm"})), registry)
    assert lying.zero == expected
    x, y = lying.zero_on_board
    assert (x, 500 - y) == expected
    assert lying.to_program(np.array([[x, y]])).tolist() == [[0.0, 0.0]]


@pytest.mark.parametrize("turned", [False, True])
def test_the_face_zero_of_a_turned_panel_has_the_sides_as_they_lie(registry: Registry, turned: bool) -> None:
    """Canvas that gives by 5 % one way alone makes sides of two widths, so left and lower are told apart."""
    stretched = job(canvas={"stretch": "5 % x 0 %"}, machine={"zero": "face"})
    lying = Lying.of(on_board(stretched, OnBoard(turned=turned)), registry)
    across, up = 40 / 1.05 + 10 / 1.05, 50.0
    assert lying.zero == pytest.approx((up, across) if turned else (across, up), abs=1e-3)


def test_turned_the_left_side_lies_at_the_top_and_the_top_at_the_right(registry: Registry) -> None:
    lying = Lying.of(on_board(job(), OnBoard(turned=True)), registry)
    assert lying.board == (500, 400)
    assert {side: lying.hung_side(side) for side in SIDES} == {
        "top": "left",
        "right": "top",
        "bottom": "right",
        "left": "bottom",
    }
    corner = lying.as_hung(np.array([[500.0, 0.0]]))  # the upper right corner on the bed
    assert corner.tolist() == [[0.0, 0.0]]  # is the upper left one of the panel as it hangs


def test_a_drawing_as_it_hangs_has_its_top_up(registry: Registry) -> None:
    drawing = on_board(job(), OnBoard(turned=True))
    lying = Lying.of(drawing, registry)
    hung = lying.hung_drawing(drawing)
    assert hung.sheet == (400, 500)
    assert hung.coords.tolist() == [[0, 500], [200, 400]]
    assert Lying.of(hung, registry).panel == lying.hung


def test_park_and_reach_count_the_holders_offset(registry: Registry) -> None:
    sections = {
        "machine": {"bed": "600 x 700 mm", "park": "10 x 20 mm"},
        "holder": {"offset": "30 x -5 mm", "zero_with": "axis"},
    }
    lying = Lying.of(on_board(job(**sections)), registry)
    assert lying.offset == (30.0, -5.0)
    assert lying.park_in_program == (-20.0, 25.0)
    assert lying.reach is not None
    x0, y0, x1, y1 = lying.reach
    assert (x1 - x0, y1 - y0) == pytest.approx((600 + 145, 700 + 150))  # the bed, and how far the board may move on it


@pytest.mark.parametrize(
    ("offset", "park", "off"),
    [("40 x 0 mm", "-60 x 0 mm", True), ("40 x 0 mm", "60 x 0 mm", False), ("-40 x 0 mm", "360 x 0 mm", True)],
)
def test_park_is_off_the_bed_where_the_axis_cannot_put_the_tip_there(
    registry, offset: str, park: str, off: bool
) -> None:
    """A canvas of 300 mm on a bed of 340: the tip, 40 mm right (left) of the axis, gets 0 mm beyond its left edge
    (right edge), and 40 mm beyond the other."""
    machine = {"bed": "340 x 300 mm", "park": park}
    data = {"canvas": {"face": "300 x 300 mm", "mount": "stretched"}, "machine": machine, "holder": {"offset": offset}}
    job = job_from_data(data, "moths")
    drawing = Drawing.build([[[(10, 10), (20, 20)]]], (300, 300), job, marker="outline").replace(lying=OnBoard())
    lying = Lying.of(drawing, registry)
    if off:
        with pytest.raises(CannotDo, match=r"park: .* is off the bed"):
            lying.require_in_reach()
    else:
        lying.require_in_reach()


def test_a_turned_panels_reach_is_that_of_the_panel_as_it_lies(registry: Registry) -> None:
    made = job(machine={"bed": "600 x 500 mm"})
    lying = Lying.of(on_board(made, OnBoard(turned=True)), registry)
    assert lying.reach is not None
    x0, y0, x1, y1 = lying.reach  # 500 x 400 mm of board and 25 mm of strip all round leave 50 mm to move it either way
    assert (x1 - x0, y1 - y0) == pytest.approx((600 + 50, 500 + 50))


def test_to_the_program_and_back_is_the_same_place_for_any_zero_offset_and_motion(registry: Registry) -> None:
    rng = np.random.default_rng(7)
    for zero in ("board", "face", "centre", "pin"):
        for turned in (False, True):
            offset = f"{rng.uniform(-50, 50):.3f} x {rng.uniform(-50, 50):.3f} mm"
            made = job(machine={"zero": zero, "pin": "3 x 4 mm"}, holder={"offset": offset, "zero_with": "axis"})
            motion = Motion(float(rng.uniform(-2, 2)), (float(rng.uniform(-9, 9)), float(rng.uniform(-9, 9))))
            lying = Lying.of(on_board(made, OnBoard(turned=turned, motion=motion)), registry)
            points = rng.uniform((0, 0), lying.board, (50, 2))
            back = lying.from_program(lying.to_program(points))
            assert np.column_stack([back[:, 0], lying.board[1] - back[:, 1]]) == pytest.approx(points)
            step = lying.to_program(points[1:]) - lying.to_program(points[:1])
            assert np.hypot(*step.T) == pytest.approx(np.hypot(*(points[1:] - points[0]).T))  # rigid


def test_a_motion_turns_about_program_zero_counter_clockwise_then_shifts(registry: Registry) -> None:
    fact = OnBoard(motion=Motion(90.0, (5.0, 1.0)))
    lying = Lying.of(on_board(job(), fact), registry)
    assert lying.to_program(np.array([[10.0, 500.0]])).tolist() == [[5.0, 11.0]]  # 10 mm to the right of zero


def test_a_panel_is_turned_only_where_the_bed_takes_it_in_no_other_way() -> None:
    long = replace(Panel.of(job()), bed=(600.0, 450.0))
    assert must_turn(long, (0.0, 0.0)) and placed(long, (0.0, 0.0))
    assert not must_turn(replace(long, bed=(600.0, 600.0)), (0.0, 0.0))
    with pytest.raises(CannotDo):
        placed(long, (0.0, 0.0), may_turn=False)
    with pytest.raises(CannotDo):
        placed(replace(long, bed=(440.0, 440.0)), (0.0, 0.0))


def test_a_job_alone_lies_as_its_bed_takes_it(registry: Registry) -> None:
    lying = Lying.of_job(job(machine={"bed": "600 x 450 mm"}), registry)
    assert lying is not None and lying.turned and lying.board == (500, 400)
    assert Lying.of_job(job_from_data({}, "plain"), registry) is None
