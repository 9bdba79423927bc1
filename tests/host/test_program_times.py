"""How long a program takes: rest-to-rest moves and corners by their formulas, loads, and the stroke at a time."""

import math

import pytest

from underdraw.job.sections import MachineSection
from underdraw.program import check_program
from underdraw.program.expected import Expected

RAPID, ACCELERATION, CORNER = 50.0, 300.0, 0.05
PLACE = Expected(MachineSection(rapid=RAPID, acceleration=ACCELERATION, corner=CORNER))
HEAD = "M5\nG21\nG90 G94\nG0 Z5\nG0 X0 Y0\n"


def rest_to_rest(d: float, v: float, a: float = ACCELERATION) -> float:
    """Any dynamics text."""
    return d / v + v / a if d >= v * v / a else 2 * math.sqrt(d / a)


def corner_speed(interior: float) -> float:
    """Geometry of the circle tangent to both legs, leaving the corner by at most CORNER."""
    half = math.sin(interior / 2)
    return math.sqrt(ACCELERATION * CORNER * half / (1 - half))


def seconds(text: str) -> list[float]:
    return check_program(text.encode(), PLACE).drawn.seconds.tolist()


@pytest.mark.parametrize("distance", [0.5, 3.0, 8.33, 8.34, 200.0])
@pytest.mark.parametrize("feed", [600, 3000])
def test_a_move_between_two_stands_takes_what_dynamics_says(distance, feed):
    found = seconds(f"{HEAD}G1 Z-1 F600\nX{distance} F{feed}\nG0 Z5\nM2\n")
    assert found[-2] == pytest.approx(rest_to_rest(distance, feed / 60))
    assert found[-1] == pytest.approx(rest_to_rest(6, RAPID))
    assert found[-3] == pytest.approx(rest_to_rest(6, 10))


@pytest.mark.parametrize("turn", [10, 45, 90, 135, 170])
def test_a_corner_is_passed_at_the_speed_its_geometry_allows(turn):
    # Two legs of 100 mm at 40 mm/s: each speeds up from rest or down to it, and meets the corner's speed.
    x, y = 100 + 100 * math.cos(math.radians(turn)), 100 * math.sin(math.radians(turn))
    found = seconds(f"{HEAD}G1 Z-1 F600\nX100 F2400\nX{x:.6f} Y{y:.6f}\nG0 Z5\nM2\n")
    through, top = min(corner_speed(math.pi - math.radians(turn)), 40.0), 40.0
    ramps = top / ACCELERATION + (top - through) / ACCELERATION
    path = top**2 / (2 * ACCELERATION) + (top**2 - through**2) / (2 * ACCELERATION)
    assert found[-3] == pytest.approx(ramps + (100 - path) / top, rel=1e-6)
    assert found[-2] == pytest.approx(found[-3])


def test_straight_on_costs_nothing_and_a_reversal_stops():
    whole = seconds(f"{HEAD}G1 Z-1 F600\nX100 F2400\nG0 Z5\nM2\n")[-2]
    halves = seconds(f"{HEAD}G1 Z-1 F600\nX50 F2400\nX100\nG0 Z5\nM2\n")
    assert sum(halves[-3:-1]) == pytest.approx(whole)
    back = seconds(f"{HEAD}G1 Z-1 F600\nX50 F2400\nX0\nG0 Z5\nM2\n")
    assert back[-3] == pytest.approx(rest_to_rest(50, 40))


@pytest.mark.parametrize(
    "arc", ["G3 X100 Y50 I0 J50\nG1 X100 Y90", "G2 X100 Y-50 I0 J-50\nG1 X100 Y-90"], ids=["left", "right"]
)
def test_an_arc_that_goes_on_as_the_line_came_is_entered_and_left_without_slowing_down(arc):
    """A line of 50 mm, a quarter circle of 50 mm, a line of 40 mm: one way, at a speed that the radius allows."""
    found = seconds(f"{HEAD}G17\nG1 Z-1 F600\nX50 F1200\n{arc}\nG0 Z5\nM2\n")
    assert math.sqrt(ACCELERATION * 50) > 20.0
    assert sum(found[-4:-1]) == pytest.approx(rest_to_rest(50 + 25 * math.pi + 40, 20.0), rel=1e-6)


def test_an_arc_is_no_faster_than_its_radius_allows():
    # Centripetal acceleration: v² = a·r.
    radius = 1.0
    found = seconds(f"{HEAD}G1 Z-1 F600\nG2 X0 Y0 I{radius} F6000\nG0 Z5\nM2\n")
    assert found[-2] == pytest.approx(rest_to_rest(2 * math.pi * radius, math.sqrt(ACCELERATION * radius)))


def test_feeds_beyond_the_machine_are_capped_and_waits_counted():
    one = check_program(f"{HEAD}G1 Z-1 F600\nG4 P1.5\nX100 F99999\nG0 Z5\nM2\n".encode(), PLACE).drawn
    assert one.seconds[-2] == pytest.approx(rest_to_rest(100, RAPID))
    assert one.total_seconds == pytest.approx(one.seconds.sum() + 1.5)


PROGRAM = HEAD + "".join(f"G0 X{10 * k} Y0\nG1 Z-1 F600\nG1 Y60 F600\nG0 Z5\n" for k in range(1, 5)) + "M0\n"
PROGRAM += "".join(f"G0 X{10 * k} Y0\nG1 Z-1 F600\nG1 Y60 F600\nG0 Z5\n" for k in range(5, 7)) + "M2\n"


def test_loads_are_counted_between_pauses():
    drawn = check_program(PROGRAM.encode(), PLACE).drawn
    assert [load["strokes"] for load in drawn.loads] == [4, 2]
    assert sum(load["seconds"] for load in drawn.loads) == pytest.approx(drawn.total_seconds, abs=0.02)
    assert [load["drawn_mm"] for load in drawn.loads] == [240, 120]


def test_the_stroke_at_a_time_is_the_one_under_the_marker_or_the_next():
    drawn = check_program(PROGRAM.encode(), PLACE).drawn
    assert drawn.stroke_at(0.0)[0] == 1  # on the way to it
    for number in range(1, 7):
        rows = [k for k in range(len(drawn.moves)) if drawn.stroke[k] == number and drawn.moves.drawing[k]]
        middle = drawn.clock[rows[0]] - drawn.seconds[rows[0]] / 2
        assert drawn.stroke_at(middle)[0] == number
        line = drawn.stroke_at(middle)[1]
        assert PROGRAM.splitlines()[line - 1].startswith("G1 Z-1")
    assert drawn.stroke_at(drawn.total_seconds + 1) is None


def test_a_stroke_that_was_just_lifted_is_done():
    drawn = check_program(PROGRAM.encode(), PLACE).drawn
    raising = next(k for k in range(len(drawn.moves)) if drawn.stroke[k] == 2 and drawn.moves.end[k, 2] > 0)
    assert drawn.stroke_at(drawn.clock[raising] - drawn.seconds[raising] / 2)[0] == 3
