"""Two ways to carry a marker; a studio measures its own and sets it in the job.

Heights, press and speeds: a cautious start, from memory.
"""

from underdraw import Holder, hookimpl

HOLDERS = [
    Holder(
        name="collet",
        help="a sprung tube in the collet, on the spindle's axis: a spring presses the tip down",
        sprung=True,
        press=1.5,
        default=True,
    ),
    Holder(
        name="clamp",
        help="a rigid clamp in the collet, on the spindle's axis: the tip goes where Z goes",
        sprung=False,
        touch_speed=5.0,  # nothing gives when the tip is set too low
    ),
]


@hookimpl
def underdraw_holders() -> list[Holder]:
    """A sprung holder and a rigid one."""
    return HOLDERS
