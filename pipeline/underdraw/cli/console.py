"""What a person sees while the work goes on: summaries, warnings and progress, all on standard error."""

import os
import sys
import time
from typing import TextIO

PROGRESS_EVERY_S = 0.1  # faster than that flickers and costs time


class Console:
    """Standard error, for people. `quiet` leaves out summaries and progress, never warnings and errors."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = stream if stream is not None else sys.stderr
        self.quiet = False
        self.debug = False
        self._shown = 0.0
        self._open = False

    @property
    def terminal(self) -> bool:
        """Whether a person is looking at it as it happens."""
        return self.stream.isatty()

    def line(self, text: str, *, colour: str = "") -> None:
        """One line, after clearing whatever progress stands there."""
        self._clear()
        if colour and self.terminal and not os.environ.get("NO_COLOR"):
            text = f"\033[{colour}m{text}\033[0m"
        print(text, file=self.stream, flush=True)

    def summary(self, who: str, text: str) -> None:
        """What a stage did; several lines are each marked with its name."""
        if not self.quiet and text:
            for line in text.splitlines():
                self.line(f"{who}: {line}")

    def warn(self, who: str, text: str) -> None:
        """What a person should read before going on."""
        self.line(f"{who}: warning: {text}", colour="33")

    def trace(self, error: BaseException) -> None:
        """Where an exception arose and what led to it, for --debug."""
        import traceback

        self._clear()
        traceback.print_exception(error, file=self.stream)

    def progress(self, who: str, share: float, text: str = "") -> None:
        """How far the work is, on a terminal only."""
        if self.quiet or not self.terminal or (time.monotonic() - self._shown < PROGRESS_EVERY_S and share < 1):
            return
        self._shown = time.monotonic()
        self._clear()
        if share < 1:
            print(f"{who}: {share:4.0%} {text}"[:78], end="\r", file=self.stream, flush=True)
            self._open = True

    def _clear(self) -> None:
        if self._open:
            print(" " * 79, end="\r", file=self.stream)
            self._open = False
