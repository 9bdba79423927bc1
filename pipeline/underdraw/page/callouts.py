"""Names beside a figure with leader lines to what they name: never one over another, no line through a name.

Leader lines and the dots that end them on a surface: ISO 128-2, from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from underdraw.page.canvas_page import LEADER, LEADING, LETTERS, PAPER, QUIET, TEXT, Page, n
from underdraw.page.text_width import broken, text_width

AIR, MOST_AIR = 1.6, 7.0  # between one name and the next
FEW = 4  # names whose rows are tried in every order


@dataclass(frozen=True)
class Callout:
    """One name, the size beside it, and the point it names, in page mm; `slides` is how far that may move down."""

    name: str
    size: str
    x: float
    y: float
    slides: tuple[float, float] | None = None  # (least, most) y: anywhere between is as good
    below: float = 0.0  # y of the same part at the figure's lower edge


def lines_of(callout: Callout, room: float) -> list[tuple[str, bool]]:
    """The lines of text, each with whether it is bold."""
    named = [(line, True) for line in broken(callout.name, TEXT, room, bold=True)]
    return named + [(line, False) for line in broken(callout.size, TEXT, room)]


def column_height(callouts: Sequence[Callout], room: float) -> float:
    """What a column of callouts takes, in mm."""
    return sum(len(lines_of(item, room)) * TEXT * LEADING + AIR for item in callouts) - AIR if callouts else 0.0


def put_column(page: Page, callouts: Sequence[Callout], x: float, room: float, span: tuple[float, float]) -> None:
    """Put names down in one column at x, in their order, within span (top, bottom) if they can be, with leaders.

    The points must be in the order of the names from top to bottom; then no leader crosses another.
    """
    if not callouts:
        return
    blocks = [lines_of(item, room) for item in callouts]
    heights = [len(block) * TEXT * LEADING for block in blocks]
    spare = (span[1] - span[0] - sum(heights)) / max(1, len(blocks) - 1)
    gap = min(max(AIR, spare), MOST_AIR)
    top, levels = span[0], []
    for height in heights:
        levels.append(top + TEXT * 0.62)
        top += height + gap
    targets = _targets(callouts, levels)
    knee = x - 4.5
    for item, level, target in zip(callouts, levels, targets, strict=True):
        path = [(x - 1.2, level), (knee, level), (knee - min(5.0, abs(target - level)), target), (item.x, target)]
        page.line(LEADER, [path[0], path[-1]] if abs(target - level) < 0.05 else path)
    for item, target in zip(callouts, targets, strict=True):
        page.dot(item.x, target)
    for block, level in zip(blocks, levels, strict=True):
        for place, (line, bold) in enumerate(block):
            baseline = level + TEXT * (0.33 + place * LEADING)
            page.text(x, baseline, line, bold=bold, colour="" if bold else QUIET)


def _targets(callouts: Sequence[Callout], levels: list[float]) -> list[float]:
    """Where each leader ends: level with its name if it may slide there, and each clear below the one before."""
    sliding = [place for place, item in enumerate(callouts) if item.slides is not None]
    targets = [item.y for item in callouts]
    for rank, place in enumerate(sliding):
        low, high = callouts[place].slides or (0.0, 0.0)
        step = min(4.0, max(0.0, high - low) / max(1, len(sliding)))
        targets[place] = min(max(levels[place], low + rank * step), high - (len(sliding) - 1 - rank) * step)
    return targets


@dataclass(frozen=True)
class Below:
    """A one-line name below a figure: its words, where they begin and end, and the x of its leader."""

    words: str
    start: float
    end: float
    x: float
    y: float


def put_below(
    page: Page, callouts: Sequence[Callout], top: float, edges: tuple[float, float], *, dots: bool = False
) -> float:
    """Put names of one line each in rows below a figure, each joined to its point by an upright leader; new y.

    edges: the least and the greatest x that text may reach. Rows are shared out so that no leader meets a name.
    """
    named = [_below(item, edges) for item in callouts]
    row = TEXT * LEADING + 0.9
    rows = [(top + TEXT + place * row, item) for place, item in enumerate(_rows_without_crossing(named))]
    for baseline, item in rows:
        if item.start > item.x:
            level = baseline - TEXT * 0.33
            page.line(LEADER, [(item.x, item.y), (item.x, level), (item.x + 1.0, level)])
        else:  # the name stands below its leader's end
            page.line(LEADER, [(item.x, item.y), (item.x, baseline - TEXT * 0.85)])
    for _, item in rows if dots else ():
        page.dot(item.x, item.y)
    for baseline, item in rows:
        page.text(item.start, baseline, item.words, room=edges[1] - item.start)
    return top + len(named) * row


def fits_below(item: Callout, edges: tuple[float, float]) -> bool:
    """Whether a name of one line has room right of its leader."""
    below = _below(item, edges)
    return below.start > item.x and below.end <= edges[1]


def _below(item: Callout, edges: tuple[float, float]) -> Below:
    words = f"{item.name}: {item.size}" if item.size else item.name
    wide = min(text_width(words, TEXT), edges[1] - edges[0])
    start = item.x + 1.6
    if start + wide > edges[1]:  # no room to the right of its leader: it stands below the leader's end
        start = edges[1] - wide
    return Below(words, start, start + wide, item.x, item.y)


def _rows_without_crossing(items: list[Below]) -> list[Below]:
    """The items in rows from the top, such that a leader to a lower row passes beside every name above it."""
    ordered = sorted(items, key=lambda item: -item.x)
    for rows in permutations(ordered) if len(items) <= FEW else [tuple(ordered)]:
        if not any(
            upper.start - 0.8 < lower.x < upper.end + 0.8 for place, lower in enumerate(rows) for upper in rows[:place]
        ):
            return list(rows)
    return ordered


def pill(page: Page, x: float, y: float, text: str, size: float) -> None:
    """A short text on paper with an edge, middle at (x, y)."""
    wide, tall = pill_size(text, size)
    page.box(
        x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2,
        f'rx="{n(tall / 2)}" fill="{PAPER}" stroke="{LETTERS}" stroke-width=".2"',
    )  # fmt: skip
    page.text(x, y + size * 0.35, text, size=size, bold=True, anchor="middle")


def pill_size(text: str, size: float) -> tuple[float, float]:
    """Width and height of a pill."""
    return text_width(text, size, bold=True) + size * 0.7, size * 1.25
