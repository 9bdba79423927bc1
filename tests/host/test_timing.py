"""The clock: sums of dynamics that every estimate, preview and check rests on."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import HolderSection, Job, MachineSection, MarkerSection
from underdraw.machine.clock import Schedule
from underdraw.machine.heights import Heights
from underdraw.machine.timing import corner_speed_squared, move_seconds, rest_to_rest, stroke_seconds
from underdraw.machine.travel import travel_legs
from underdraw.plugins.parts import Holder

A = 300.0


def line_job(**machine: object) -> Job:
    values = {"rapid": 50.0, "acceleration": A, "corner": 0.05, "park": (0.0, 0.0), **machine}
    return Job(machine=MachineSection(**values), markers=(MarkerSection(name="a"), MarkerSection(name="b")))


def strokes(*lines: list[tuple[float, float]], **columns: object) -> Drawing:
    given = {"marker": "a", "load": 1, **columns}
    return Drawing.build([[line] for line in lines], (100.0, 80.0), line_job(), **given)


HEIGHTS = Heights(lift=5.0, press=1.5, clearance=1.0, touch_speed=10.0, settle=0.25)


def test_a_move_from_rest_to_rest_takes_what_dynamics_says() -> None:
    # d/v + v/a if d >= v^2/a, else 2*sqrt(d/a): any dynamics text.
    assert rest_to_rest(100.0, 50.0, A) == pytest.approx(100 / 50 + 50 / A)
    assert rest_to_rest(1.0, 50.0, A) == pytest.approx(2 * math.sqrt(1 / A))
    one, ahead = np.array([1.0]), np.array([[1.0, 0.0]])
    for length in (0.01, 1.0, 50**2 / A, 9.0, 700.0):
        moved = move_seconds(length * one, 50 * one, ahead, ahead, np.array([True]), acceleration=A, corner=0.05)
        assert moved[0] == pytest.approx(float(rest_to_rest(length, 50.0, A)))


def test_a_right_angle_is_passed_at_the_speed_of_the_circle_tangent_to_its_legs() -> None:
    # The circle that touches both legs and passes the corner at distance d has r = d*sin/(1-sin); v^2 = a*r.
    radius = 0.05 * math.sin(math.pi / 4) / (1 - math.sin(math.pi / 4))
    passed = corner_speed_squared(np.array([[1.0, 0.0]]), np.array([[0.0, 1.0]]), A, 0.05)
    assert passed[0] == pytest.approx(A * radius)


def test_straight_on_does_not_slow_and_turning_back_stops() -> None:
    ahead = np.array([[1.0, 0.0]])
    assert np.isinf(corner_speed_squared(ahead, ahead, A, 0.05))[0]
    assert corner_speed_squared(ahead, -ahead, A, 0.05)[0] == 0.0


def test_a_line_cut_in_pieces_takes_as_long_as_the_line() -> None:
    cuts = np.column_stack([np.linspace(0, 90, 41), np.zeros(41)])
    whole = stroke_seconds(cuts[[0, -1]], np.array([0, 2]), np.array([20.0]), A, 0.05)
    pieces = stroke_seconds(cuts, np.array([0, 41]), np.array([20.0]), A, 0.05)
    assert pieces[0] == pytest.approx(whole[0], rel=1e-9)
    assert whole[0] == pytest.approx(90 / 20 + 20 / A)


def test_a_small_circle_is_drawn_at_the_speed_its_radius_allows() -> None:
    turn = np.linspace(0, 2 * np.pi, 400)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])  # radius 1 mm: sqrt(a*r) = 17.3 mm/s, below 25
    taken = stroke_seconds(circle, np.array([0, 400]), np.array([25.0]), A, 0.05)[0]
    steady = math.sqrt(A * 1.0)
    assert taken == pytest.approx(2 * math.pi / steady + steady / A, rel=0.01)


def simulated(limit: np.ndarray, length: np.ndarray) -> np.ndarray:
    """Two plain passes, forward and back: the textbook way to keep to an acceleration."""
    speed = limit.copy()
    for i in range(len(length)):
        speed[i + 1] = min(speed[i + 1], speed[i] + 2 * A * length[i])
    for i in reversed(range(len(length))):
        speed[i] = min(speed[i], speed[i + 1] + 2 * A * length[i])
    return speed


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 30), st.floats(0, 30)), min_size=2, max_size=30))
def test_any_stroke_takes_what_two_plain_passes_give(points: list[tuple[float, float]]) -> None:
    coords = np.round(np.array(points), 2)
    coords = coords[np.append(True, np.any(np.diff(coords, axis=0) != 0, axis=1))]
    if len(coords) < 2:
        return
    step = np.diff(coords, axis=0)
    length = np.hypot(*step.T)
    heading = step / length[:, None]
    stands = np.zeros(len(length), dtype=bool)
    taken = move_seconds(length, np.full(len(length), 20.0), heading, heading, stands, acceleration=A, corner=0.05)
    limit = np.full(len(length) + 1, 400.0)
    limit[[0, -1]] = 0
    limit[1:-1] = np.minimum(limit[1:-1], corner_speed_squared(heading[:-1], heading[1:], A, 0.05))
    speed = np.sqrt(simulated(limit, length))
    for i, seconds in enumerate(taken):
        top = min(20.0, math.sqrt((speed[i] ** 2 + speed[i + 1] ** 2) / 2 + A * length[i]))
        ramps = (2 * top - speed[i] - speed[i + 1]) / A
        run = length[i] - (2 * top**2 - speed[i] ** 2 - speed[i + 1] ** 2) / (2 * A)
        assert seconds == pytest.approx(ramps + max(run, 0) / top, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("pieces", [1, 7, 50])
def test_a_leg_takes_as_long_in_pieces_as_in_one_before_a_corner_and_behind_it(pieces: int) -> None:
    """Short pieces bind: over a tenth of a millimetre no machine gains much speed."""
    ahead, aside = np.array([[1.0, 0.0]]), np.array([[0.0, 1.0]])
    whole = rest_to_rest(5.0, 20.0, A) * 2  # of two legs with a stop between, as good as one corner of 0 mm
    heading = np.vstack([np.repeat(ahead, pieces, axis=0), np.repeat(aside, pieces, axis=0)])
    length, stands = np.full(2 * pieces, 5.0 / pieces), np.zeros(2 * pieces, dtype=bool)
    speed = np.full(2 * pieces, 20.0)
    taken = move_seconds(length, speed, heading, heading, stands, acceleration=A, corner=1e-12)
    assert taken.sum() == pytest.approx(whole, rel=1e-4)
    assert taken[:pieces].sum() == pytest.approx(taken[pieces:].sum())


def test_the_clock_adds_travel_lowering_drawing_and_lifting() -> None:
    drawing = strokes([(0, 40), (30, 40)], [(30, 10), (60, 10)])
    clock = Schedule.from_speeds(drawing, np.array([20.0, 20.0]), HEIGHTS)
    draw = 30 / 20 + 20 / A
    down = float(rest_to_rest(4.0, 50.0, A) + rest_to_rest(2.5, 10.0, A)) + 0.25
    up = float(rest_to_rest(6.5, 50.0, A))
    there = float(rest_to_rest(40.0, 50.0, A))  # park is the board's lower left corner, (0, 80) with y down
    between = float(rest_to_rest(30.0, 50.0, A))
    home = float(rest_to_rest(math.hypot(60, 70), 50.0, A))
    assert clock.touch[0] == pytest.approx(there + down)
    assert clock.lift[1] == pytest.approx(there + 2 * down + 2 * draw + up + between)
    assert clock.total == pytest.approx(clock.lift[1] + up + home)
    assert clock.travel_mm == pytest.approx(40 + 30 + math.hypot(60, 70))


def test_a_swap_goes_by_way_of_park_and_its_wait_takes_no_time_of_the_clock() -> None:
    drawing = strokes([(0, 40), (30, 40)], [(30, 40), (60, 40)], marker=np.array(["a", "b"], dtype=object))
    clock = Schedule.from_speeds(drawing, np.array([20.0, 20.0]), HEIGHTS)
    legs, swaps = travel_legs(drawing)
    assert swaps.tolist() == [0, 1]
    assert legs.points.tolist()[1:3] == [[[30, 40], [0, 80]], [[0, 80], [30, 40]]]
    up = HEIGHTS.up_seconds(50.0, A)
    assert clock.swap_times.tolist() == pytest.approx([0, clock.lift[0] + up + float(rest_to_rest(50.0, 50.0, A))])


def test_the_stroke_at_a_time_is_the_one_on_the_canvas_or_the_next() -> None:
    drawing = strokes([(0, 40), (30, 40)], [(30, 10), (60, 10)])
    clock = Schedule.from_speeds(drawing, np.array([20.0, 20.0]), HEIGHTS)
    assert clock.stroke_at(0.0) == 1
    assert clock.stroke_at(float(clock.lift[0]) - 0.01) == 1
    assert clock.stroke_at(float(clock.lift[0]) + 0.01) == 2
    assert clock.stroke_at(clock.total) is None


def test_dots_and_drawings_without_strokes_have_times_too() -> None:
    empty = Schedule.from_speeds(strokes(), np.empty(0), HEIGHTS)
    assert (empty.total, empty.travel_mm) == (0.0, 0.0)
    dot = Schedule.from_speeds(strokes([(10, 10)], [(10, 10), (10, 10)]), np.array([20.0, 20.0]), HEIGHTS)
    assert (dot.lift - dot.touch).tolist() == [0.0, 0.0]


def test_the_jobs_heights_go_before_the_holders() -> None:
    holder = Holder("tube", "a sprung tube", sprung=True, press=1.0, settle=0.5)
    job = Job(holder=HolderSection(press=2.0, clearance=9.0))
    heights = Heights.of(job, holder)
    assert (heights.lift, heights.press, heights.clearance, heights.settle) == (5.0, 2.0, 5.0, 0.5)


def test_a_markers_own_press_and_wait_go_before_those_of_all() -> None:
    holder = Holder("tube", "a sprung tube", sprung=True, press=1.0)
    own = Heights.of(Job(), holder).for_marker(MarkerSection(press=0.4, settle=0.3))
    assert (own.press, own.settle) == (0.4, 0.3)
    assert own.down_seconds(50.0, A) < HEIGHTS.down_seconds(50.0, A)


def test_nothing_gives_in_a_rigid_holder_so_nothing_is_pressed() -> None:
    clamp = Holder("clamp", "a rigid clamp", sprung=False)
    heights = Heights.of(Job(holder=HolderSection(press=2.0, clearance=0.0)), clamp)
    assert heights.press == 0.0 and heights.for_marker(MarkerSection(press=1.0)).press == 0.0
    assert heights.clearance == 0.2  # a rapid that ended on the canvas would strike it


def test_strokes_of_a_marker_that_waits_take_longer() -> None:
    lines = [[(0, 40), (30, 40)]], [[(30, 10), (60, 10)]]
    job = Job(machine=line_job().machine, markers=(MarkerSection(name="a"), MarkerSection(name="b", settle=0.75)))
    pens = np.array(["a", "b"], dtype=object)
    drawing = Drawing.build(lines, (100.0, 80.0), job, marker=pens, load=1)
    clock = Schedule.from_speeds(drawing, np.array([20.0, 20.0]), HEIGHTS)
    plain = Schedule.from_speeds(drawing.replace(job=line_job()), np.array([20.0, 20.0]), HEIGHTS)
    assert clock.total - plain.total == pytest.approx(0.5)


def test_without_leave_to_round_corners_the_tip_stands_at_each_and_none_is_straight_on() -> None:
    east, north = np.array([[1.0, 0.0]]), np.array([[0.0, 1.0]])
    assert corner_speed_squared(east, east, 300.0, 0.0).tolist() == [np.inf]
    assert corner_speed_squared(east, north, 300.0, 0.0).tolist() == [0.0]


def test_a_machine_that_blends_rounds_corners_more_than_one_that_keeps_to_the_path_unless_the_job_has_it() -> None:
    blended, exact = MachineSection(path="blend"), MachineSection(path="exact")
    assert blended.rounding > exact.rounding > 0
    assert replace(blended, corner=0.7).rounding == replace(exact, corner=0.7).rounding == 0.7
