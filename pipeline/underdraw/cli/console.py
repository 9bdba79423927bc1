"""What a person sees while the work goes on: summaries, warnings and progress, all on standard error."""

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from typing import TextIO

from underdraw.words.plain_text import for_terminal

NAMES_WIDTH = 8  # of the stages' names, so that what they did stands in one column
PROGRESS_EVERY_S = 0.1  # faster than that flickers and costs time


class Console:
    """Standard error, for people. `quiet` leaves out summaries and progress, never warnings and errors.

    Where it cannot be written (closed, its reader gone, its disk full) nothing is shown, and the work goes on: what was
    asked for are files and drawings.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream: TextIO | None = stream if stream is not None else sys.stderr  # None: closed when Python started
        self.quiet = False
        self.verbose = False
        self.debug = False
        self._kept: list[tuple[str, str]] | None = None  # warnings that wait for the end of a run
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
        """What a stage did, a line each, the names aligned; lines that begin with a blank are details, if `verbose`."""
        if not self.quiet and text:
            for line in text.split("\n"):
                if self.verbose or not line.startswith(" "):
                    self.line(f"{who:<{NAMES_WIDTH}} {line}")

    def warn(self, who: str, text: str) -> None:
        """What a person should read before going on: at once, or at the end of a run, where it is seen."""
        if self._kept is not None:
            self._kept.append((who, text))
        else:
            self.line(f"{who}: warning: {text}", colour="33")

    def notice(self, who: str, text: str) -> None:
        """What happens now, at once."""
        self.line(f"{who:<{NAMES_WIDTH}} {text}", colour="33")

    @contextlib.contextmanager
    def decisions_last(self) -> Iterator[None]:
        """Keep warnings until the end, and say so where there are none; after an error they come before it."""
        self._kept = []
        try:
            yield
        except BaseException:
            kept, self._kept = self._kept, None
            for who, text in kept:
                self.warn(who, text)
            raise
        kept, self._kept = self._kept, None
        if kept:
            self.line(f"{len(kept)} thing{'s need' if len(kept) > 1 else ' needs'} a decision:", colour="33")
            for who, text in kept:
                self.line(f"  {who}: {text}", colour="33")
        elif not self.quiet:
            self.line("nothing needs a decision")

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
