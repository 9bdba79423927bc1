"""The contract that any controller keeps, and what is peculiar to this machine."""

from example_controller import SERVO_LIFT, in_steps, with_swings
from underdraw.testing import ControllerContract


class TestServoLift(ControllerContract):
    controller = SERVO_LIFT


def test_places_become_steps_after_the_first() -> None:
    blocks = ["G90", "G0 X10 Y0", "G1 X10.5 Y0 F762", "G1 X10.5 Y-2", "G1 X10.5 Y-2 F30", "M2"]
    assert list(in_steps(blocks)) == ["G90", "G0 X10 Y0", "G91", "G1 X0.5 F762", "G1 Y-2", "F30", "M2"]


def test_the_servo_swings_only_to_where_it_is_not_and_is_waited_for() -> None:
    blocks = ["M91", "M91", "M92 F300", "M92", "M91"]
    wait = "G4 P0.25"
    assert list(with_swings(blocks)) == ["M91", wait, "M92 F300", wait, "M92", wait, "M91", wait]
