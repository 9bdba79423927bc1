"""A page of SVG 1.1 in millimetres: text that fits, lines of a few kinds, and groups, put down in painting order."""

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from underdraw.drawing.wire import escape
from underdraw.page.text_width import fitted

PAGE_WIDTH = 190.0  # with 10 mm of margin all round a page of 190 x 260 fits both A4 and Letter at 100 %
PAGE_HEIGHT = 260.0
MARGIN = 7.0
TEXT = 4.2  # font size: 12 pt on paper, and some 9 px where the page fills a phone's width
SMALL = 3.9
TINY = 1.9  # numbers of strokes
LEADING = 1.28  # from baseline to baseline, of the font size

PAPER = "#ffffff"
LETTERS = "#26221c"  # 15.8 : 1 on paper
QUIET = "#5a5246"  # 7.7 : 1 on paper
RULE = "#b8ad9a"
FONTS = "sans-serif"  # the reader's own: labels are placed to fit a wide face

LETTERING = (
    f".q{{fill:{QUIET}}}.b{{font-weight:bold}}.s{{font-size:{SMALL}px}}.e{{text-anchor:end}}.m{{text-anchor:middle}}"
)

NARROW, WIDE = 0.25, 0.5  # ISO 128-2: line group 0.5, wide to narrow 2 : 1


@dataclass(frozen=True)
class LineKind:
    """One kind of line, after ISO 128-2 (numbers from memory): what it is called there, width, dashes in mm.

    `css` is the class that a line of this kind has on the page.
    """

    css: str
    name: str
    width: float
    dashes: tuple[float, ...] = ()
    colour: str = LETTERS
    cap: str = ""

    @property
    def rule(self) -> str:
        """Its rule in the page's style sheet."""
        dashes = f";stroke-dasharray:{' '.join(n(dash) for dash in self.dashes)}" if self.dashes else ""
        cap = f";stroke-linecap:{self.cap}" if self.cap else ""
        return f".{self.css}{{fill:none;stroke:{self.colour};stroke-width:{n(self.width)}{dashes}{cap}}}"


VISIBLE = LineKind("v", "01.2 continuous wide", WIDE)
BEND = LineKind("f", "01.1 continuous narrow", NARROW)
LEADER = LineKind("l", "01.1 continuous narrow", 0.18, (), QUIET)
LEADER_DOT = LineKind("d", "the end of a leader line on a surface", 1.1, (), QUIET, "round")
HIDDEN = LineKind("h", "02.1 dashed narrow", NARROW, (2.0, 0.8))
REACH = LineKind("r", "05.1 long-dashed double-dotted narrow", NARROW, (4.0, 0.7, 0.25, 0.7, 0.25, 0.7))
TRAVEL = LineKind("t", "07.1 dotted narrow", NARROW, (0.3, 0.9), "#00646b", "round")  # 6.8 : 1 on paper
FAINT = LineKind("u", "01.1 continuous narrow", 0.13, (), "#8a8a8a", "round")
WENT = LineKind("w", "02.1 dashed narrow", 0.35, (1.4, 0.8), "#b3123a")  # 6.9 : 1 on paper
CAME = LineKind("c", "01.2 continuous wide", 0.7, (), "#00646b", "round")
STAYED = LineKind("k", "01.1 continuous narrow", 0.13, (), "#6f675b", "round")
KINDS = (VISIBLE, BEND, LEADER, LEADER_DOT, HIDDEN, REACH, TRAVEL, FAINT, WENT, CAME, STAYED)


def n(value: float) -> str:
    """A number in few characters: at most two decimals."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def points(path: Iterable[tuple[float, float]], *, close: bool = False) -> str:
    """Path data of a polyline; upright and level legs in one number each."""
    written, last = "", ("", "")
    for x, y in path:
        here = n(x), n(y)
        if not written:
            written = f"M{here[0]} {here[1]}"
        elif here[1] == last[1]:
            written += f"H{here[0]}"
        elif here[0] == last[0]:
            written += f"V{here[1]}"
        else:
            written += f"L{here[0]} {here[1]}"
        last = here
    return written + ("Z" if close else "")


@dataclass
class Page:
    """What is being drawn. Later things lie on top of earlier ones."""

    title: str
    description: str
    width: float = PAGE_WIDTH
    body: list[str] = field(default_factory=list)
    defs: list[str] = field(default_factory=list)
    style: str = ""

    def add(self, *markup: str) -> None:
        """Put down markup as it is."""
        self.body.extend(markup)

    @contextmanager
    def group(self, attributes: str, title: str = "") -> Iterator[None]:
        """A `<g>` around what is put down meanwhile."""
        self.add(f"<g {attributes}>" + (f"<title>{escape(title, quote=False)}</title>" if title else ""))
        yield
        self.add("</g>")

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = TEXT,
        bold: bool = False,
        anchor: str = "start",
        colour: str = "",
        room: float | None = None,
        more: str = "",
    ) -> None:
        """One line of text with its baseline at y; shortened to `room` with an ellipsis, and a tooltip of it all."""
        shown = text if room is None else fitted(text, size, room, bold=bold)
        classes = ["b"] if bold else []
        classes += ["s"] if size == SMALL else []
        classes += ["q"] if colour == QUIET else []
        classes += [anchor[0]] if anchor != "start" else []
        words = f' class="{" ".join(classes)}"' if classes else ""
        words += f' font-size="{n(size)}"' if size not in (TEXT, SMALL) else ""
        words += f' fill="{colour}"' if colour not in ("", QUIET) else ""
        words += f" {more}" if more else ""
        whole = f"<title>{escape(text, quote=False)}</title>" if shown != text else ""
        self.add(f'<text x="{n(round(x, 1))}" y="{n(round(y, 1))}"{words}>{whole}{escape(shown, quote=False)}</text>')

    def line(self, kind: LineKind, path: Iterable[tuple[float, float]], *, close: bool = False) -> None:
        """A polyline of one kind; one of the same kind just before it is continued."""
        begin, end = f'<path class="{kind.css}" d="', '"/>'
        if self.body and self.body[-1].startswith(begin):
            begin = self.body.pop().removesuffix(end)
        self.add(begin + points(path, close=close) + end)

    def dot(self, x: float, y: float) -> None:
        """The end of a leader line on a surface."""
        self.line(LEADER_DOT, [(x, y), (x, y)])

    def box(self, x0: float, y0: float, x1: float, y1: float, attributes: str) -> None:
        """A rectangle."""
        self.add(f'<rect x="{n(x0)}" y="{n(y0)}" width="{n(x1 - x0)}" height="{n(y1 - y0)}" {attributes}/>')

    def rule(self, y: float) -> None:
        """A quiet line across the page."""
        self.add(f'<path d="M{n(MARGIN)} {n(y)}H{n(self.width - MARGIN)}" stroke="{RULE}" stroke-width=".25"/>')

    def kinds(self) -> list[LineKind]:
        """The kinds of line that are on the page."""
        return [kind for kind in KINDS if any(f'class="{kind.css}"' in markup for markup in self.body)]

    def svg(self, height: float) -> bytes:
        """The whole file."""
        width, tall = n(self.width), n(height)
        lines = [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1" '
            f'width="{width}mm" height="{tall}mm" viewBox="0 0 {width} {tall}" role="img" aria-labelledby="t d">',
            f'<title id="t">{escape(self.title, quote=False)}</title>',
            f'<desc id="d">{escape(self.description, quote=False)}</desc>',
            f"<style>{LETTERING}{''.join(kind.rule for kind in self.kinds())}{self.style}</style>",
            *([f"<defs>{''.join(self.defs)}</defs>"] if self.defs else []),
            f'<rect width="{width}" height="{tall}" fill="{PAPER}"/>',
            f'<g font-family="{FONTS}" font-size="{n(TEXT)}" fill="{LETTERS}">',
            *self.body,
            "</g>",
            "</svg>\n",
        ]
        return "\n".join(lines).encode()


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two `#rrggbb` colours (WCAG 2.2, 'relative luminance' and 'contrast ratio').

    >>> round(contrast("#ffffff", "#000000"), 1)
    21.0
    """
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    shares = [int(pair, 16) / 255 for pair in re.findall("..", colour.removeprefix("#"))]
    red, green, blue = (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
