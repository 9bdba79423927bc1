"""The independent reader of programs: how a machine runs one, and whether that is what was meant.

It shares nothing with whatever wrote the program: bytes to words (`tokens`), words to blocks (`blocks`), blocks to
moves (`moves`), moves to drawing (`drawn`), and what each is held against: the standard's words (`codes`), the
controller's (`dialect`), job and drawing (`expected`, `comparison`), and a set of rules (`rules`).
"""

from underdraw.program.expected.strokes import strokes_of
from underdraw.program.report import Report, check_program

__all__ = ["Report", "check_program", "strokes_of"]
