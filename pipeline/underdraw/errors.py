"""What a user reads when something cannot be done: one line, and an exit code."""

INTERRUPTED = 130  # exit code of what was interrupted: 128 and the signal's number, as shells count

REMEDY = "\n  try: "  # stands before each remedy in the text of a refusal; the terminal gives each its own line


class UnderdrawError(Exception):
    """Base of every error that reaches a user as one line.

    The text gives what is wrong, what was expected, what it got, and what to do. `file` and `line` (from 1)
    put the position in front of it. `keys` lead to the wrong setting of a job (`("machine", "bed")`): the host finds
    its line in the job's file.
    """

    exit_code = 1

    def __init__(
        self, text: str, *, file: object = None, line: int | None = None, keys: tuple[str | int, ...] = ()
    ) -> None:
        super().__init__(text)
        self.text = text
        self.keys = keys
        self.put_at(file, line)

    def put_at(self, file: object, line: int | None) -> None:
        """Say where it is: what a person reads begins with this file and line."""
        self.file = file
        self.line = line
        place = "" if file is None else f"{file}: " if line is None else f"{file}:{line}: "
        self.args = (place + self.text,)


def unwritable(error: UnicodeEncodeError) -> str:
    """The message for a text that this system's encoding of names does not have."""
    text = str(error.object)[:60]
    return f"{text!r} has a letter that {error.encoding} does not have; set a UTF-8 locale, such as LC_ALL=C.UTF-8"


class InputError(UnderdrawError):
    """The input or the command line is wrong (exit 2)."""

    exit_code = 2


class CannotDo(UnderdrawError):
    """The input is right, but the work cannot be done as asked (exit 1)."""

    exit_code = 1


class PluginError(UnderdrawError):
    """A plugin failed; the text names it and what it was doing (exit 1)."""

    exit_code = 1
