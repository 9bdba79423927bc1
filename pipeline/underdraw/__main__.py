"""The command as a process of its own: `underdraw`, and `python -m underdraw`."""

import gc
import os
import sys
from typing import NoReturn

from underdraw.command_line import main

YOUNG_OBJECTS = 100_000  # before Python looks for rings among them, which takes time: arrays make none


def process() -> NoReturn:
    """Run the command and end the process.

    Once everything is written, the process ends at once: to take a large drawing and the libraries apart piece by
    piece first would take a sixth of the time that the sample job takes.
    """
    gc.set_threshold(YOUNG_OBJECTS)
    try:
        main()
    except SystemExit as end:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
        os._exit(end.code if isinstance(end.code, int) else int(end.code is not None))
    os._exit(0)


if __name__ == "__main__":
    process()
