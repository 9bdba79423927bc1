"""The independent reader of programs: what a machine would do with one, and whether that is what was meant.

It shares nothing with whatever wrote the program: bytes to words (`words`), words to blocks (`blocks`), blocks to
moves (`moves`), moves to drawing (`drawn`), and the rules each is held against (`codes`, `rules`, `compare`).
"""

from underdraw.program.report import Report, check_program, strokes_of

__all__ = ["Report", "check_program", "strokes_of"]
