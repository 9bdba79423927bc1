"""Names that belong to the host: no plugin's stage or setting can have one."""

COMMANDS = (
    "calibrate",
    "canvas",
    "check",
    "demo",
    "plugins",
    "run",
    "scaffold",
    "schema",
    "strokes",
)  # of the command line, a file each
JOB_KEYS = ("chain", "plugins")  # what [stages] holds beside the stages' own tables
OPTIONS = (
    "help",
    "input",
    "job",
    "output",
    "quiet",
    "verbose",
    "debug",
)  # what the command line adds to a stage's command
LETTERS = ("h", "i", "o")
