"""How long to search: so many tries, or so many seconds; and word of how far it is, until someone interrupts."""

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import FrameType


@dataclass
class Effort:
    """One run's bounds. The search in hand has the part of the whole from `begun` on, `share` of it."""

    seconds: float | None = None
    report: Callable[[float, str], None] = lambda share, text: None
    notice: Callable[[], None] = lambda: None  # reports, once, that an interrupt was heeded
    interrupted: bool = False
    noticed: bool = False
    started: float = field(default_factory=time.monotonic)
    begun: float = 0.0
    share: float = 1.0

    @contextmanager
    def part(self, first: float, last: float) -> Iterator[None]:
        """Within, what is in hand is only this part of it, from 0 to 1."""
        begun, share = self.begun, self.share
        self.begun, self.share = begun + first * share, (last - first) * share
        try:
            yield
        finally:
            self.begun, self.share = begun, share

    def spent(self, done: float) -> float:
        """How much of the part in hand is used up, from 0 to 1, with `done` of its tries made; reports to the terminal.

        With `seconds` the clock counts, without them the tries. 1 once interrupted.
        """
        if self.seconds is not None:
            begin, span = self.seconds * self.begun, self.seconds * self.share
            done = (time.monotonic() - self.started - begin) / span if span > 0 else 1.0
        done = min(1.0, max(0.0, done))
        self.tell_if_interrupted()
        self.report(self.begun + self.share * done, "finding the shortest way")
        return 1.0 if self.interrupted else done

    def tell_if_interrupted(self) -> None:
        """Give notice of an interrupt: not in its handler, which may run while another line is being shown."""
        if self.interrupted and not self.noticed:
            self.noticed = True
            self.notice()


@contextmanager
def interruptible(effort: Effort) -> Iterator[Effort]:
    """Within, the first interrupt only asks the search to stop; a second one ends the program as usual."""
    if threading.current_thread() is not threading.main_thread():
        yield effort
        return
    before = signal.getsignal(signal.SIGINT)

    def ask(number: int, frame: FrameType | None) -> None:
        effort.interrupted = True
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, ask)
    try:
        yield effort
    finally:
        signal.signal(signal.SIGINT, before)
    effort.tell_if_interrupted()
