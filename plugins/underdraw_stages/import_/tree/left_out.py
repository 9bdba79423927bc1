"""What was not drawn, and why: nothing is dropped in silence. One line of the summary, and counts in the history."""

from collections import Counter
from dataclasses import dataclass, field

from underdraw.words.plain_text import for_terminal

MOST_EXAMPLES = 3  # named in the summary line of a kind
LONGEST_EXAMPLE = 50  # characters of each

# kind: what was left out, as `inflected` reads it; what was done instead, or what to do
KINDS: dict[str, tuple[str, str]] = {
    "text": (
        "skipped {count} text{s}",
        "turn text into outlines before export, or name a font file with --text",
    ),
    "letter": ("skipped {count} letter{s} that the font does not have", "name another font file with --text"),
    "image": ("skipped {count} raster image{s}", "trace {it} into paths before export"),
    "foreign": ("skipped {count} embedded page{s}", "turn {it} into paths before export"),
    "mask": ("{count} mask{s} not applied", "the shapes are drawn whole; use a clipping path in the artwork instead"),
    "blur": ("{count} blur filter{s}", "tidy leaves out edges that fade over more than the marker's tip"),
    "see-through": (
        "{count} see-through group{s} whose shapes may lie on one another",
        "each shape is taken as see-through by itself",
    ),
    "filter": ("ignored {count} filter{s}", "the shapes are drawn without {it}"),
    "pattern": (
        "{count} shape{s} painted with a pattern",
        "drawn as outlines; shapes beneath are drawn too, because a pattern may have gaps",
    ),
    "root": ("ignored the transform of the outermost element", "put it on a group inside before export"),
    "blend": (
        "{count} element{s} blended with what is beneath",
        "taken as see-through: the lines beneath are drawn, and the colours are another mix",
    ),
    "variable": ("ignored {count} value{s} of a variable", "write colours and sizes out before export"),
    "property": (
        "ignored {count} style{s} that {move}",
        "use `transform` and path data in the artwork instead",
    ),
    "reference": ("skipped {count} reference{s} to another file", "embed the file before export"),
    "sheet": ("ignored {count} style sheet{s} in another file", "embed {it} before export"),
    "missing": ("skipped {count} reference{s} to nothing in the file", ""),
    "loop": ("skipped {count} use{s} of itself", ""),
    "transform": ("ignored {count} transform{s} with an error", ""),
    "clip": (
        "ignored {count} clip function{s}",
        "the shapes are drawn whole; use a clipping path in the artwork instead",
    ),
    "error": ("{count} path{s} with an error in the data", "drawn as far as the error"),
    "background": ("skipped {count} page-size background rectangle{s}", "--background draws {it}"),
    "beneath": ("skipped {count} shape{s} that the background rectangle hides", ""),
    "hidden": ("skipped {count} hidden shape{s}", "display, visibility or opacity hides {it}"),
    "unpainted": ("skipped {count} shape{s} that {has} no visible fill or stroke", ""),
    "skipped": ("skipped {count} shape{s} in layers that --skip or --only leaves out", ""),
    "language": ("skipped {count} shape{s} in another language", "--language chooses"),
    "unknown": ("skipped {count} unknown element{s}", ""),
    "animation": ("ignored {count} animation{s}", "the shapes are drawn at rest"),
    "clipped": ("skipped {count} shape{s} outside the clipping path", ""),
    "thin": ("skipped {count} fill{s} that {has} no area", ""),
}


# the drawing is not what the screen shows: a warning, and no line of the summary
ALARMING = (
    "text", "letter", "image", "foreign", "mask", "root", "blend", "variable", "property", "reference", "sheet", "clip"
)  # fmt: skip


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
            example = for_terminal(" ".join(example[: LONGEST_EXAMPLE * 4].split()), LONGEST_EXAMPLE)
            if example and example not in known and len(known) < MOST_EXAMPLES:
                known.append(example)

    @property
    def skipped(self) -> int:
        """How many are not in the drawing at all; what is drawn in another way does not count."""
        return sum(count for kind, count in self.counts.items() if KINDS[kind][0].startswith("skipped"))

    def lines(self) -> list[str]:
        """One line a kind that a person may want to know of, in the table's order."""
        return [self._line(kind) for kind in KINDS if self.counts[kind] and kind not in ALARMING]

    def warnings(self) -> list[str]:
        """One line a kind that a person must read before going on."""
        return [self._line(kind) for kind in ALARMING if self.counts[kind]]

    def _line(self, kind: str) -> str:
        words, advice = (inflected(self.counts[kind], text) for text in KINDS[kind])
        named = f" ({'; '.join(self.examples[kind])})" if self.examples.get(kind) else ""
        return f"{words}{named}" + (f": {advice}" if advice else "")


def inflected(count: int, words: str) -> str:
    """Words with their count: `{count}`, and `{s}`, `{has}`, `{it}`, `{move}` where singular and plural differ.

    >>> inflected(3, "skipped {count} shape{s} that {has} no visible fill or stroke")
    'skipped 3 shapes that have no visible fill or stroke'
    """
    one = count == 1
    return words.format(
        count=f"{count:,}",
        s="" if one else "s",
        has="has" if one else "have",
        it="it" if one else "them",
        move="moves or reshapes something" if one else "move or reshape something",
    )
