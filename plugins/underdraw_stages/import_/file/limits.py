"""How much artwork may ask of this machine. Artwork is untrusted: each limit has a name, a reason and a test."""

from dataclasses import dataclass

from underdraw.errors import CannotDo

LARGEST_FILE = 200 * 2**20  # bytes, unpacked; four times the largest artwork this is built for; stops packed bombs
MOST_UNPACKED = 20  # times a packed file's own size, from 10 MB on; drawings pack to a fifth, bombs to a thousandth
ALWAYS_UNPACKED = 10 * 2**20  # bytes, however small the packed file is
MOST_ELEMENTS = 1_000_000  # of the file; more than the largest file holds in useful shapes, and walked in ten seconds
DEEPEST = 1_000  # nested elements; drawing programs stay under a hundred, the XML parser's own limit is 2,048
MOST_COPIES = 100_000  # elements drawn through reuse; a chain of ten tenfold reuses would be 10^10
MOST_MEASURED = 30_000  # elements looked at for boxes of groups in groups, which takes their square
MOST_CROSSINGS = 100_000  # of a clipping path or cut fill with itself; more is a scribble, and takes minutes
MOST_ATTRIBUTES = 1_000  # of one element; programs write twenty, and finding one takes longer the more there are
LARGEST_STYLE = 1_000_000  # characters of style sheets, and of `style` that needs a parser: two seconds' reading
MOST_SELECTORS = 50_000  # of all style sheets; drawing programs write one for each appearance, some hundreds
MOST_STYLE_STEPS = 20_000_000  # elements, letters and declarations that selectors look at: some five seconds
MOST_CLIPS = 10_000  # clipping paths worked out, each one or two milliseconds; a drawing program's file has dozens
MOST_CUT_STEPS = 40_000_000  # lines that cross a clipping path times its points, and the pieces made: ten seconds
MOST_CURVES = 3_000_000  # curve and line segments after reuse: 200 MB of control points, and as much again while read
MOST_POINTS = 25_000_000  # points after flattening: 400 MB; more means a scale slip, not a drawing
MOST_DASHES = 1_000_000  # dashes of all strokes; a marker cannot draw that many
MOST_ENTITY_BYTES = 1_000_000  # what plain text entities may add; programs use a dozen short ones for namespaces
LONGEST_REFERENCE_CHAIN = 50  # paint that refers to paint, clip to clip; deeper is a loop or a bomb


@dataclass
class Budget:
    """Counts of one import; `file` is what messages call the artwork. Every method raises CannotDo at its limit."""

    file: str
    copies: int = 0
    measured: int = 0
    clips: int = 0
    cuts: int = 0
    curves: int = 0
    dashes: float = 0.0

    def copy(self) -> None:
        """One more element drawn by reuse: `use`, markers, clipping paths, letters."""
        self.copies += 1
        self.room_for(0)

    def room_for(self, count: int) -> None:
        """Whether so many more copies may be drawn, to be asked before they are."""
        if self.copies + count > MOST_COPIES:
            text = f"reuse (`use`, markers, clips, letters) would draw more than {MOST_COPIES:,} copies"
            raise CannotDo(f"{text}; simplify the artwork", file=self.file)

    def measure(self) -> None:
        """One more element looked at for a box that something is measured by."""
        self.measured += 1
        if self.measured > MOST_MEASURED:
            text = f"the boxes of nested groups need more than {MOST_MEASURED:,} measurements"
            raise CannotDo(f"{text}; use clipPathUnits userSpaceOnUse, or ungroup", file=self.file)

    def clip(self) -> None:
        """One more clipping path worked out."""
        self.clips += 1
        if self.clips > MOST_CLIPS:
            text = f"more than {MOST_CLIPS:,} clipping paths have to be worked out"
            raise CannotDo(f"{text}; release those that cut nothing off", file=self.file)

    def cut(self, count: int) -> None:
        """One more line or outline cut along a clipping path, of so many points together."""
        self.cuts += count
        if self.cuts > MOST_CUT_STEPS:
            text = f"cutting along its clipping paths takes more than {MOST_CUT_STEPS:,} steps"
            raise CannotDo(f"{text}; simplify the clipping paths, or what they cut", file=self.file)

    def curve(self, count: int) -> None:
        """More curves and lines, after reuse."""
        self.curves += count
        if self.curves > MOST_CURVES:
            raise CannotDo(f"more than {MOST_CURVES:,} curves; simplify the artwork", file=self.file)

    def dash(self, count: float, element: str) -> None:
        """More dashes."""
        self.dashes += count
        if not self.dashes <= MOST_DASHES:
            raise CannotDo(f"more than {MOST_DASHES:,} dashes (last: {element}); lengthen them", file=self.file)

    def deep(self, depth: int) -> None:
        """How deep an element lies, reuse included."""
        if depth > DEEPEST:
            raise CannotDo(f"elements nest deeper than {DEEPEST:,}; ungroup and export again", file=self.file)
