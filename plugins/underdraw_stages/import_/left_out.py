"""What was not drawn, and why: nothing is dropped in silence. One line of the summary, and counts in the history."""

from collections import Counter
from dataclasses import dataclass, field

MOST_EXAMPLES = 3  # named in the summary line of a kind

KINDS: dict[str, tuple[str, str]] = {  # kind: (words for one, what would do or what was done instead)
    "text": ("text", "turn text into outlines before export, or name a font file with --text"),
    "image": ("raster image", "trace it into paths; pixels are not drawn"),
    "foreign": ("embedded page", "not drawn"),
    "mask": ("mask", "drawn unmasked; use a clipping path to cut outlines"),
    "filter": ("filter", "drawn as if without it"),
    "reference": ("reference outside the file", "never opened; embed it before export"),
    "missing": ("reference to nothing", "not drawn"),
    "loop": ("use of itself", "not drawn"),
    "transform": ("transform with an error", "not applied"),
    "clip": ("clip function", "drawn unclipped; use a clipping path to cut outlines"),
    "sheet": ("style sheet outside the file", "never opened; embed it before export"),
    "error": ("path with an error in its data", "drawn up to the last good segment"),
    "background": ("page-size background rectangle", "--background draws it"),
    "beneath": ("shape beneath an opaque page-size rectangle", "not seen, so not drawn"),
    "hidden": ("hidden shape", "display, visibility or opacity hides it"),
    "unpainted": ("shape without fill or stroke", "not seen, so not drawn"),
    "skipped": ("shape in skipped layers", "as asked"),
    "language": ("shape in another language", "--language chooses"),
    "unknown": ("unknown element", "not drawn"),
    "animation": ("animation", "drawn as it stands still"),
    "clipped": ("shape outside its clipping path", "not seen, so not drawn"),
    "thin": ("fill without an area", "not seen, so not drawn"),
}
NOUNS = (  # what takes the plural in the words above
    "text", "image", "page-size background rectangle", "embedded page", "mask", "filter", "reference", "path", "transform",
    "function", "sheet", "shape", "element", "animation", "fill", "use",
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
            if example and example not in known and len(known) < MOST_EXAMPLES:
                known.append(example)

    def lines(self) -> list[str]:
        """One line a kind, in the table's order."""
        found: list[str] = []
        for kind, (words, advice) in KINDS.items():
            count = self.counts[kind]
            if count:
                named = f" ({'; '.join(self.examples[kind])})" if self.examples.get(kind) else ""
                found.append(f"{plural(count, words)}{named}: {advice}")
        return found


def plural(count: int, words: str) -> str:
    """`3 shapes in skipped layers`: the count with its words, the first noun in the plural where due."""
    if count == 1:
        return f"1 {words}"
    first = next((noun for noun in NOUNS if noun in words), words)
    return f"{count:,} {words.replace(first, first + 's', 1)}"
