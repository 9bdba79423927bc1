"""The rules that a program is held against once it is read, a topic a file.

Each takes a `Reading` and puts what is wrong among its faults. What a program alone can show is checked always; the
rest where a job or a drawing makes it known.
"""

from underdraw.program.rules import feeds, heights, keep_out, motion, pauses, place, start, waits, words
from underdraw.program.rules.reading import Reading

__all__ = ["Reading", "hold_against_rules"]

RULES = (
    start.check,
    motion.check,
    words.check,
    heights.check,
    feeds.check,
    waits.check,
    pauses.check,
    place.check,
    keep_out.check,
)


def hold_against_rules(reading: Reading) -> None:
    """Every rule, in the order of the list."""
    for rule in RULES:
        rule(reading)
