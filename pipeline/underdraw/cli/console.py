"""What a person sees while the work goes on: summaries, warnings and progress, all on standard error."""

import os
import sys
import time
from typing import TextIO

from underdraw.words.plain_text import for_terminal

PROGRESS_EVERY_S = 0.1  # faster than that flickers and costs time


class Console:
    """Standard error, for people. `quiet` leaves out summaries and progress, never warnings and errors.

    Where it cannot be written (closed, its reader gone, its disk full) nothing is shown, and the work goes on: what was
    asked for are files and drawings.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream: TextIO | None = stream if stream is not None else sys.stderr  # None: closed when Python started
        self.quiet = False
        self.debug = False
        self._shown = 0.0
        self._open = False

    @property
    def terminal(self) -> bool:
        """Whether a person is looking at it as it happens."""
        return self.stream is not None and not self.stream.closed and self.stream.isatty()

    def line(self, text: str, *, colour: str = "") -> None:
        """One line, after clearing whatever progress stands there; nothing in it steers the terminal."""
        self._clear()
        text = for_terminal(text)
        if colour and self.terminal and not os.environ.get("NO_COLOR"):
            text = f"\033[{colour}m{text}\033[0m"
        self._put(f"{text}\n")

    def summary(self, who: str, text: str) -> None:
        """What a stage did; several lines are each marked with its name."""
        if not self.quiet and text:
            for line in text.split("\n"):
                self.line(f"{who}: {line}")

    def warn(self, who: str, text: str) -> None:
        """What a person should read before going on."""
        self.line(f"{who}: warning: {text}", colour="33")

    def trace(self, error: BaseException) -> None:
        """Where an exception arose and what led to it, for --debug."""
        import traceback

        self._clear()
        self._put("".join(traceback.format_exception(error)))

    def progress(self, who: str, share: float, text: str = "") -> None:
        """How far the work is, on a terminal only."""
        if self.quiet or not self.terminal or (time.monotonic() - self._shown < PROGRESS_EVERY_S and share < 1):
            return
        self._shown = time.monotonic()
        self._clear()
        if share < 1:
            self._put(for_terminal(f"{who}: {share:4.0%} {text}", 78) + "\r")
            self._open = True

    def _clear(self) -> None:
        if self._open:
            self._put(" " * 79 + "\r")
            self._open = False

    def _put(self, text: str) -> None:
        """Write all of it now; once that cannot be done, never again."""
        if self.stream is None:
            return
        try:
            self.stream.write(text)
            self.stream.flush()
        except (OSError, ValueError):  # ValueError: closed by somebody in this process
            self.stream = None
