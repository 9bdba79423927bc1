"""What a program is to be, before it is read: heights, speeds, places and limits of a job, strokes of a drawing."""

from underdraw.program.expected.expectation import Expected

__all__ = ["Expected"]
