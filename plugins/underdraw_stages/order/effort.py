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
    """One run's bounds. `share` is what part of the whole the search in hand has; `begun` the parts that are done."""

    seconds: float | None = None
    report: Callable[[float, str], None] = lambda share, text: None
    interrupted: bool = False
    started: float = field(default_factory=time.monotonic)
    begun: float = 0.0
    share: float = 1.0

    def part(self, share: float) -> None:
        """The next search has this share of the whole."""
        self.begun += self.share if self.begun or self.share < 1.0 else 0.0
        self.share = share

    def is_over(self, done: float) -> bool:
        """Whether to stop, with this part of the tries made (from 0 to 1); tells the terminal."""
        spent = self.spent()
        self.report(min(1.0, self.begun + self.share * (done if spent is None else spent)), "ordering")
        return self.interrupted or (done >= 1.0 if spent is None else spent >= 1.0)

    def spent(self) -> float | None:
        """How much of this part's seconds is used up; None where tries are counted instead."""
        if self.seconds is None:
            return None
        end = self.seconds * (self.begun + self.share)
        begin = self.seconds * self.begun
        now = time.monotonic() - self.started
        return 1.0 if end <= begin else max(0.0, (now - begin) / (end - begin))


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
