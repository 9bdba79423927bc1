"""A Z axis slower than X and Y: both clocks, the drawing's and the program's, count it.

A small router's Z is often two to four times slower: from memory. Times of single moves: any dynamics text.
"""

import pytest

from underdraw.machine.clock import Schedule
from underdraw.machine.timing import rest_to_rest

RATES = [{}, {"rapid_z": "40 in/min"}, {"rapid_z": "20 in/min", "acceleration_z": "50 mm/s2"}]


@pytest.mark.slow
@pytest.mark.parametrize("holder", [{}, {"swap_lift": "40 mm"}])
@pytest.mark.parametrize("rates", RATES)
def test_both_clocks_agree_whatever_z_takes(garden, write, read_back, registry, rates, holder):
    drawing = garden(gold=3, machine={"rapid": "120 in/min", **rates}, holder=holder)
    report = read_back(write(drawing).files[0].data, drawing)
    assert report.ok, report.problems
    assert report.drawn.total_seconds == pytest.approx(Schedule.of(drawing, registry).total, abs=1.0)


def test_a_lift_takes_what_dynamics_says_at_the_speed_of_z(garden, write, read_back):
    drawing = garden(machine={"rapid_z": "6 mm/s", "acceleration_z": "40 mm/s2"}, holder={"touch-speed": "9 mm/s"})
    drawn = read_back(write(drawing).files[0].data, drawing).drawn
    moves = drawn.moves
    up = moves.down_at_start & ~moves.down_at_end
    assert drawn.seconds[up] == pytest.approx(float(rest_to_rest(6.5, 6.0, 40.0)))  # 5 mm of lift and 1.5 mm of press
    touch = (moves.kind == 1) & ~moves.sideways
    assert moves.feed[touch] == pytest.approx(6.0)  # no faster than Z can
    assert drawn.seconds[touch] == pytest.approx(float(rest_to_rest(2.5, 6.0, 40.0)))


def test_a_slow_z_makes_the_job_longer_by_its_lifts_alone(garden, registry):
    fast, slow = (
        Schedule.of(garden(machine={"rapid": "120 in/min", **rates}), registry) for rates in (RATES[0], RATES[2])
    )
    assert slow.total - fast.total > len(garden())
    assert slow.lift - slow.touch == pytest.approx(fast.lift - fast.touch)
    assert slow.travel_mm == fast.travel_mm
