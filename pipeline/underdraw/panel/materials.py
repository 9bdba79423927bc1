"""What a panel takes: bars, braces, top sheet and board to saw, and resin to coat it.

What to saw for a frame that gives the face and the depth exactly: bars, braces, top sheet and support board.

Joinery: a butt joint lets two bars run through and sets the others between them; a mitre halves each corner, so that
every bar is as long outside as its side. Braces and waste of the saw: common practice, no source.

Resin: 1 US gallon = 231 in³ (NIST Handbook 44, appendix C), so at 1/8 in a gallon coats 231 / (1/8) / 144 = 12.83 ft².
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Literal

from underdraw.drawing.boxes import Size
from underdraw.errors import CannotDo
from underdraw.panel.geometry import Panel, kept
from underdraw.words.lengths import MM_PER_INCH, Rounding, format_length

BRACE_EVERY_MM = 24 * MM_PER_INCH  # a longer bar is drawn inwards by the canvas without a brace: common practice
ROUNDING_MM = 1e-3  # sums of lengths as written may differ by less; no saw sees it
KERF_MM = MM_PER_INCH / 8  # what the saw takes with each cut
ML_PER_GALLON = 231 * MM_PER_INCH**3 / 1000
FL_OZ_PER_GALLON = 128


@dataclass(frozen=True)
class Piece:
    """Pieces to saw alike: `size` is (length, width), all mm; `ends` are the angles (degrees) they are sawn at."""

    name: str
    count: int
    size: Size
    thickness: float
    ends: tuple[float, float] = (90.0, 90.0)
    inside: float | None = None  # the short edge of a mitred bar


@dataclass(frozen=True)
class CutList:
    """Everything to saw for one panel, and how it comes out of bars of a length (lists of lengths, one a bar)."""

    pieces: tuple[Piece, ...]
    bars: tuple[tuple[float, ...], ...]
    notes: tuple[str, ...]


def cut_list(
    panel: Panel,
    bar: Size,
    sheet: float = 0.0,
    corners: Literal["butt", "mitred"] = "butt",
    bar_length: float | None = None,
    kerf: float = KERF_MM,
) -> CutList:
    """Saw a frame for a panel.

    bar: (thickness, height) of the stock, height being along the panel's depth; sheet: thickness of a top sheet that
    the canvas lies on, 0 for none. The bars are ripped so that bar and sheet together are as high as the depth.
    Raises CannotDo where the stock is too low, too thick for the face, or too short.
    """
    thick, high = bar
    height = kept(panel.depth - sheet)
    refuse_wrong_stock(panel, bar, sheet, height)
    notes = (
        [f"rip the bars from {say(high, panel)} to {say(height, panel, 'up')}"] if high > height + ROUNDING_MM else []
    )
    pieces = [*frame_bars(panel, thick, height, corners), *braces(panel, thick, height)]
    lengths = [piece.size[0] for piece in pieces for _ in range(piece.count)]
    along = kerf * sqrt(2.0) if corners == "mitred" else kerf  # a cut at 45 degrees takes more of the bar's length
    bars = out_of_bars(lengths, bar_length, along, panel) if bar_length else ()
    if sheet:
        pieces.append(Piece("top sheet", 1, panel.face, sheet))
    if panel.wraps:
        pieces.append(Piece("support board", 1, panel.board, 0.0))
        notes.append("the support board is for drawing and painting: any stiff flat sheet that takes staples")
    return CutList(tuple(pieces), bars, tuple(notes))


def refuse_wrong_stock(panel: Panel, bar: Size, sheet: float, height: float) -> None:
    """Raise CannotDo for stock that cannot give the face and the depth."""
    thick, high = bar
    if height <= 0:
        raise CannotDo(
            f"a top sheet of {say(sheet, panel)} leaves nothing of the {say(panel.depth, panel)} depth for bars; "
            f"use a thinner sheet or a deeper frame"
        )
    if high < height - ROUNDING_MM:
        with_sheet = f" and a {say(sheet, panel)} sheet give {say(high + sheet, panel)}" if sheet else ""
        raise CannotDo(
            f"bars {say(high, panel)} high{with_sheet}, and the "
            f"depth is {say(panel.depth, panel)}; use bars at least {say(height, panel, 'up')} high, or "
            f'depth = "{say(high + sheet, panel, "down")}"'
        )
    if 2 * thick >= min(panel.face):
        raise CannotDo(
            f"two bars {say(thick, panel)} thick leave no room inside a face of {say(min(panel.face), panel)}; "
            f"use bars thinner than {say(min(panel.face) / 2, panel, 'down')}"
        )


def frame_bars(panel: Panel, thick: float, height: float, corners: str) -> list[Piece]:
    """The four outer bars: the long ones run through where corners are butted."""
    short, long = sorted(panel.face)
    if corners == "mitred":
        ends = (45.0, 45.0)
        return [
            Piece("long bar", 2, (long, height), thick, ends, kept(long - 2 * thick)),
            Piece("short bar", 2, (short, height), thick, ends, kept(short - 2 * thick)),
        ]
    return [
        Piece("long bar, running through", 2, (long, height), thick),
        Piece("short bar, between them", 2, (kept(short - 2 * thick), height), thick),
    ]


def braces(panel: Panel, thick: float, height: float) -> list[Piece]:
    """Bars across the short way, one for each whole 24 in of the long side, between the long bars."""
    short, long = sorted(panel.face)
    count = int((long - 1e-6) // BRACE_EVERY_MM)
    return [Piece("brace", count, (kept(short - 2 * thick), height), thick)] if count else []


def out_of_bars(
    lengths: Sequence[float], bar_length: float, kerf: float, panel: Panel
) -> tuple[tuple[float, ...], ...]:
    """Which lengths (mm) to saw from which bar: the longest first, each from the first bar that still has room.

    Raises CannotDo for a length that no bar has.
    """
    bars: list[list[float]] = []
    for length in sorted(lengths, reverse=True):
        if length > bar_length + 1e-6:
            raise CannotDo(
                f"a bar of {say(length, panel)} cannot be sawn from stock of {say(bar_length, panel)}; "
                f"use stock of {say(length, panel, 'up')} or more"
            )
        for bar in bars:
            if sum(bar) + kerf * len(bar) + length <= bar_length + 1e-6:
                bar.append(length)
                break
        else:
            bars.append([length])
    return tuple(tuple(bar) for bar in bars)


def say(mm: float, panel: Panel, to: Rounding = "nearest") -> str:
    """A length in the unit that the sizes were written in."""
    return format_length(mm, panel.unit, to)


@dataclass(frozen=True)
class Resin:
    """A coat: volumes in millilitres, of the face alone and with the sides."""

    thickness_mm: float
    face_ml: float
    with_sides_ml: float

    @property
    def face_gallons(self) -> float:
        """US gallons on the face."""
        return self.face_ml / ML_PER_GALLON


def resin(panel: Panel, thickness: float) -> Resin:
    """What a coat of one thickness (mm) takes; what drips off is not counted."""
    w, h = panel.face
    sides = 2 * (w + h) * panel.depth
    return Resin(thickness, w * h * thickness / 1000, (w * h + sides) * thickness / 1000)
