"""What an import may still spend, counted as it goes: small files can ask for very large drawings."""

from dataclasses import dataclass

from underdraw.errors import CannotDo
from underdraw_stages.import_ import limits


@dataclass
class Budget:
    """Counts of one import; `file` is what messages call the artwork. Every method raises CannotDo at its limit."""

    file: str
    copies: int = 0
    measured: int = 0
    curves: int = 0
    dashes: float = 0.0

    def copy(self) -> None:
        """One more element drawn by reuse: `use`, markers, clipping paths, letters."""
        self.copies += 1
        self.room_for(0)

    def room_for(self, count: int) -> None:
        """Whether so many more copies may be drawn, to be asked before they are."""
        if self.copies + count > limits.MOST_COPIES:
            text = f"reuse (`use`, markers, clips, letters) would draw more than {limits.MOST_COPIES:,} copies"
            raise CannotDo(f"{text}; simplify the artwork", file=self.file)

    def measure(self) -> None:
        """One more element looked at for a box that something is measured by."""
        self.measured += 1
        if self.measured > limits.MOST_MEASURED:
            text = f"boxes of groups in groups take more than {limits.MOST_MEASURED:,} looks at their elements"
            raise CannotDo(f"{text}; use clipPathUnits userSpaceOnUse, or ungroup", file=self.file)

    def curve(self, count: int) -> None:
        """More curves and lines, after reuse."""
        self.curves += count
        if self.curves > limits.MOST_CURVES:
            raise CannotDo(f"more than {limits.MOST_CURVES:,} curves; simplify the artwork", file=self.file)

    def dash(self, count: float, element: str) -> None:
        """More dashes."""
        self.dashes += count
        if not self.dashes <= limits.MOST_DASHES:
            raise CannotDo(f"more than {limits.MOST_DASHES:,} dashes (last: {element}); lengthen them", file=self.file)

    def deep(self, depth: int) -> None:
        """How deep an element lies, reuse included."""
        if depth > limits.DEEPEST:
            raise CannotDo(f"elements nest deeper than {limits.DEEPEST:,}; ungroup and export again", file=self.file)
