"""What a user is told when something cannot be done: one line, and an exit code."""


class UnderdrawError(Exception):
    """Base of every error that reaches a user as one line.

    The text says what was read, what is wrong with it and what would do. `file` and `line` (from 1)
    put the place in front of it.
    """

    exit_code = 1

    def __init__(self, text: str, *, file: object = None, line: int | None = None) -> None:
        place = f"{file}: " if file is not None and line is None else ""
        if file is not None and line is not None:
            place = f"{file}:{line}: "
        super().__init__(place + text)
        self.text = text
        self.file = file
        self.line = line


class InputError(UnderdrawError):
    """The input or the command line is wrong (exit 2)."""

    exit_code = 2


class CannotDo(UnderdrawError):
    """The input is right, but the work cannot be done as asked (exit 1)."""

    exit_code = 1


class PluginError(UnderdrawError):
    """A plugin failed; the text names it and what it was doing (exit 1)."""

    exit_code = 1
