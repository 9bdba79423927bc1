"""Every hook that a plugin may answer: the table of contents for whoever writes one.

A plugin is a module (or object) whose functions carry `@underdraw.hookimpl` and the names below. It registers by an
entry point of group `underdraw`, or a job names its file. Each hook returns a list of plain declared objects.
"""

from typing import TYPE_CHECKING

import pluggy

from underdraw.plugins.parts import CanvasSize, Holder, Ink, Stage

if TYPE_CHECKING:
    from underdraw.plugins.controller import Controller

PROJECT = "underdraw"
HOOKS_VERSION = 2  # a plugin may set `underdraw_hooks_version = 2`; one of another number is not loaded
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@hookspec
def underdraw_stages() -> list[Stage]:  # type: ignore[empty-body]
    """Steps for the chain; each becomes a command and a job key of its name."""


@hookspec
def underdraw_controllers() -> "list[Controller]":  # type: ignore[empty-body]
    """What writes the program in one machine's dialect."""


@hookspec
def underdraw_holders() -> list[Holder]:  # type: ignore[empty-body]
    """What carries the marker: offset, sprung or rigid, heights."""


@hookspec
def underdraw_inks() -> list[Ink]:  # type: ignore[empty-body]
    """Kinds of ink: speed, what they want of a holder, how they meet sealer and resin."""


@hookspec
def underdraw_canvas_sizes() -> list[CanvasSize]:  # type: ignore[empty-body]
    """Canvas sizes that shops sell by name, for `canvas --face NAME`."""
