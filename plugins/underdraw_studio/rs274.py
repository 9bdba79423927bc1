"""The controller `rs274`: RS274/NGC as NISTIR 6556 (2000) writes it, arcs, messages and path control with it."""

from underdraw import Controller, hookimpl

RS274 = Controller(
    name="rs274",
    help="RS274/NGC: arcs in centre format, messages, exact path",
    optional_stops=True,
    highest_number=99_999,  # NISTIR 6556, section 3.3.1
    default=True,
)


@hookimpl
def underdraw_controllers() -> list[Controller]:
    """The one controller of this module."""
    return [RS274]
