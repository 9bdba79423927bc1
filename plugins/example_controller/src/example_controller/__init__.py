"""The controller `servo-lift`: steps instead of places, a servo instead of Z, a button of its own, no arcs.

An invented machine. ISO 6983-1 leaves M90 to M99 to a machine's builder (from memory): its own words stand there.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from underdraw import Controller, hookimpl

underdraw_hooks_version = 2

WAIT_FOR_BUTTON, LIFT, LOWER = "M90", "M91", "M92"
SWING_S = 0.25  # how long the servo takes from one end to the other: nothing moves sideways meanwhile


@dataclass(frozen=True)
class ServoLift(Controller):
    """Blocks of this machine; places become steps in the last pass over them all."""

    def begin(self, units: str) -> list[str]:
        """Spindle off first, then millimetres, places until the first one is reached, and feeds per minute."""
        return ["M5", *self.modes(units)]

    def modes(self, units: str) -> list[str]:
        """Places again, too: the first move after a pause does not start from where a hand has left the machine."""
        return ["G21", "G90 G94"]

    def rapid(self, words: str) -> str:
        """Travel, or the servo up: it knows no height between."""
        return LIFT if words.startswith("Z") else f"G0 {words}"

    def line(self, words: str) -> str:
        """A straight move at the feed, or the servo down, which keeps the feed for what comes next."""
        if not words.startswith("Z"):
            return f"G1 {words}"
        _, _, feed = words.partition(" ")
        return f"{LOWER} {feed}".strip()

    def pause(self, text: str) -> list[str]:
        """Wait for the machine's button; there is nowhere to show a text."""
        return [WAIT_FOR_BUTTON]

    def finish(self, blocks: Sequence[str]) -> Sequence[str]:
        """Turn places into steps, and give the servo its time."""
        return [*with_swings(in_steps(blocks))]


def in_steps(blocks: Iterable[str]) -> Iterable[str]:
    """Blocks with places turned into steps from the block before; the first after G90 is reached as it stands.

    Sums are done in decimal numbers, as they are written, so that a thousand steps end where they should.
    """
    here: dict[str, Decimal] = {}
    for block in blocks:
        words = block.split()
        if "G90" in words:
            here = {}
        places = {word[0]: Decimal(word[1:]) for word in words if word[0] in "XY"}
        if not places or not here:
            yield block
            if places:
                yield "G91"
        else:
            steps = {axis: place - here[axis] for axis, place in places.items() if place != here[axis]}
            others = [word for word in words if word[0] not in "XY" and (steps or word[0] == "F")]
            step_words = [f"{axis}{step.normalize():f}" for axis, step in steps.items()]
            if others:
                yield " ".join([others[0], *step_words, *others[1:]])
        here |= places


def with_swings(blocks: Iterable[str]) -> Iterable[str]:
    """Blocks with a wait after each swing of the servo, and no swing to where it is already."""
    lifted = False
    for block in blocks:
        swings = block.startswith((LIFT, LOWER))
        if swings and lifted and block == LIFT:
            continue
        yield block
        if swings:
            lifted = block == LIFT
            yield f"G4 P{SWING_S}"


SERVO_LIFT = ServoLift(
    name="servo-lift",
    help="steps instead of places, a servo that lifts the marker, no arcs (an example)",
    suffix=".prg",
    decimals={"mm": 3},
    feed_decimals=0,
    longest_line=60,
    arcs=False,
    comments=False,
    messages=False,
    meanings={WAIT_FOR_BUTTON: "M0", LIFT: "G0 Z5", LOWER: "G1 Z0"},
)


@hookimpl
def underdraw_controllers() -> list[Controller]:
    """The one controller of this distribution."""
    return [SERVO_LIFT]
