"""What was not drawn, and why: nothing is dropped in silence. One line of the summary, and counts in the history."""

from collections import Counter
from dataclasses import dataclass, field

MOST_EXAMPLES = 3  # named in the summary line of a kind

KINDS: dict[str, tuple[str, str]] = {  # kind: what it is, {s} where the plural goes; what would do or was done instead
    "text": ("text{s}", "turn text into outlines before export, or name a font file with --text"),
    "letter": ("letter{s} that the font lacks", "not drawn"),
    "image": ("raster image{s}", "trace it into paths; pixels are not drawn"),
    "foreign": ("embedded page{s}", "not drawn"),
    "mask": ("mask{s} not applied", "drawn unmasked, lines and all that it hides; use a clipping path to cut outlines"),
    "filter": ("filter{s}", "drawn as if without it"),
    "pattern": (
        "shape{s} painted with a pattern",
        "outlined, and what lies beneath as well: it may have gaps",
    ),
    "reference": ("reference{s} outside the file", "never opened; embed it before export"),
    "sheet": ("style sheet{s} outside the file", "never opened; embed it before export"),
    "missing": ("reference{s} to nothing", "not drawn"),
    "loop": ("use{s} of itself", "not drawn"),
    "transform": ("transform{s} with an error", "not applied"),
    "clip": ("clip function{s}", "drawn unclipped; use a clipping path to cut outlines"),
    "error": ("path{s} with an error in the data", "drawn up to the last good segment"),
    "background": ("page-size background rectangle{s}", "--background draws it"),
    "beneath": ("shape{s} beneath an opaque page-size rectangle", "not seen, so not drawn"),
    "hidden": ("hidden shape{s}", "display, visibility or opacity hides it"),
    "unpainted": ("shape{s} without fill or stroke", "not seen, so not drawn"),
    "skipped": ("shape{s} in skipped layers", "as asked"),
    "language": ("shape{s} in another language", "--language chooses"),
    "unknown": ("unknown element{s}", "not drawn"),
    "animation": ("animation{s}", "drawn as it stands still"),
    "clipped": ("shape{s} outside the clipping path", "not seen, so not drawn"),
    "thin": ("fill{s} without an area", "not seen, so not drawn"),
}


ALARMING = ("mask",)  # what shows on the screen is not what is drawn: a warning, and no line of the summary


@dataclass
class LeftOut:
    """Counts by kind, with the first few examples of each."""

    counts: Counter[str] = field(default_factory=Counter)
    examples: dict[str, list[str]] = field(default_factory=dict)

    def add(self, kind: str, example: str = "", count: int = 1) -> None:
        """One more of a kind; `example` is what a person would know it by."""
        if count:
            self.counts[kind] += count
            known = self.examples.setdefault(kind, [])
            if example and example not in known and len(known) < MOST_EXAMPLES:
                known.append(example)

    def lines(self) -> list[str]:
        """One line a kind, in the table's order."""
        return [self._line(kind) for kind in KINDS if self.counts[kind] and kind not in ALARMING]

    def warnings(self) -> list[str]:
        """One line a kind that a person must read before going on."""
        return [self._line(kind) for kind in ALARMING if self.counts[kind]]

    def _line(self, kind: str) -> str:
        words, advice = KINDS[kind]
        named = f" ({'; '.join(self.examples[kind])})" if self.examples.get(kind) else ""
        return f"{plural(self.counts[kind], words)}{named}: {advice}"


def plural(count: int, words: str) -> str:
    """A count with its words, `{s}` marking where the plural goes.

    >>> plural(3, "shape{s} in skipped layers")
    '3 shapes in skipped layers'
    """
    return f"{count:,} {words.replace('{s}', '' if count == 1 else 's')}"
