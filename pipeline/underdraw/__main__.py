"""The command as a process of its own: `underdraw`, and `python -m underdraw`."""

import gc
import os
import signal
import sys

from underdraw.errors import INTERRUPTED

TYPE_CHECKING = False  # typing's own would take longer to import than all of this
if TYPE_CHECKING:
    from types import FrameType
    from typing import NoReturn

YOUNG_OBJECTS = 100_000  # before Python looks for rings among them, which takes time: arrays make none
LINEAR_ALGEBRA = ("OPENBLAS_NUM_THREADS", "1")  # a thread a processor costs every start more than they ever save here


def process() -> "NoReturn":
    """Run the command and end the process.

    An interrupt while modules are imported, or once the work is done, ends it without a word: there is nothing to undo.
    Once everything is written, the process ends at once: to take a large drawing and the libraries apart piece by
    piece first would take a sixth of the time that the sample job takes.
    """
    before = signal.getsignal(signal.SIGINT)
    for descriptor in (0, 1, 2):
        try:
            os.fstat(descriptor)
        except OSError:  # closed by whoever started this: what is opened next must not be taken for it
            os.open(os.devnull, os.O_RDWR)
    if sys.stderr is None:  # closed by whoever started this: what is opened next must not be taken for it
        sys.stderr = open(os.devnull, "w")  # noqa: SIM115 - until the process ends
    heeded = before is signal.default_int_handler  # a shell starts what runs in the background with interrupts ignored
    if heeded:
        signal.signal(signal.SIGINT, _leave)
    gc.set_threshold(YOUNG_OBJECTS)
    os.environ.setdefault(*LINEAR_ALGEBRA)  # read as numpy is imported
    from underdraw.cli.command_line import main

    try:
        try:
            if heeded:
                signal.signal(signal.SIGINT, before)
            main()
        finally:
            if heeded:
                signal.signal(signal.SIGINT, _leave)
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
        if sys.stdout is not None:
            sys.stdout.flush()
        try:
            sys.stderr.flush()
        finally:  # where nobody reads it, what was done is done all the same
            os._exit(code)
    except KeyboardInterrupt:  # a second one, while the first is reported
        os._exit(INTERRUPTED)
    os._exit(0)


def _leave(_number: int, _frame: "FrameType | None") -> None:
    os._exit(INTERRUPTED)


if __name__ == "__main__":
    process()
