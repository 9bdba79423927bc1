"""What was found in a line a kind, and what would help: a finer tip, a larger face, lines drawn once."""

import math
from collections.abc import Sequence

from underdraw.words.quantities import counted, distance, length_in
from underdraw_stages.inspect.found.spot import Spot

FINER_TIPS = (2.0, 1.5, 1.2, 1.0, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)  # mm, of markers: common practice, no source
ENOUGH = 0.75  # of what would not read, gone: a remedy that is worth a line
LARGEST = 4.0  # times: a face larger than that is another picture
MOST_SAME = 10.0  # mm that `tidy --same` takes
KINDS = ("merge", "close", "fine")


def summary_lines(spots: Sequence[Spot], width: float, unit: str) -> list[str]:
    """All of it in a line, and a detail for each kind that was found; width: mm of the broadest ink."""
    kinds = {kind: [spot for spot in spots if spot.kind == kind] for kind in KINDS}
    found = {kind: of_kind for kind, of_kind in kinds.items() if of_kind}
    if not found:
        return ["every line reads: none merge, no region closes, no detail is finer than the tip"]
    counts = ", ".join(in_short(kind, of_kind, unit) for kind, of_kind in found.items())
    details = [f"  {kind}: {what_was_found(kind, of_kind, unit)}; {remedies(of_kind, width, unit)}"
               for kind, of_kind in found.items()]  # fmt: skip
    return [f"{counts}{finer(list(spots), width)}", *details]


def in_short(kind: str, found: Sequence[Spot], unit: str) -> str:
    """How many spots of a kind, in a few words."""
    if kind == "merge":
        length = short_distance(sum(spot.length for spot in found), unit)
        return f"lines merge at {counted(len(found), 'spot')} ({length})"
    if kind == "close":
        return f"{counted(len(found), 'region')} {'closes' if len(found) == 1 else 'close'}"
    return f"{counted(len(found), 'detail')} finer than the tip"


def finer(spots: Sequence[Spot], width: float) -> str:
    """The tip with which most of it would read."""
    tip = finer_tip(spots, width)
    return "" if tip is None else f"; a {length_in(tip, 'mm')} tip would show most of it"


def what_was_found(kind: str, found: Sequence[Spot], unit: str) -> str:
    """How many spots of a kind, and how long they are together."""
    length = short_distance(sum(spot.length for spot in found), unit)
    if kind == "merge":
        return f"{counted(len(found), 'spot')} where lines are nearer than the ink is wide, {length} of line"
    if kind == "close":
        filled = "1 region fills" if len(found) == 1 else f"{len(found):,} regions fill"
        return f"{filled} with ink, {length} of line round {'it' if len(found) == 1 else 'them'}"
    return f"{counted(len(found), 'detail')} smaller than the tip, {length} of line"


def remedies(found: Sequence[Spot], width: float, unit: str) -> str:
    """What would help, for spots of one kind."""
    tip, factor = finer_tip(found, width), larger_face(found, width)
    if tip is not None:
        words = f"{length_in(tip, 'mm')} ink or a face {times(width / tip)} as large leaves {rest(found, tip, unit)}"
    elif factor is not None:
        words = f"a face {times(factor)} as large leaves {rest(found, width / factor, unit)}"
    else:
        words = "no usual tip is fine enough"
    if found[0].kind == "merge" and width <= MOST_SAME:
        words += f"; `tidy --same {length_in(width, 'mm').replace(' ', '')}` draws lines that stay so near once"
    return words


def times(factor: float) -> str:
    """A factor that is enough: to a tenth, and never below it.

    >>> times(1.25), times(1.1), times(2.0)
    ('1.3 times', '1.1 times', '2 times')
    """
    return f"{math.ceil(factor * 10 - 1e-6) / 10:g} times"


def rest(found: Sequence[Spot], width: float, unit: str) -> str:
    """What would still not read with ink of that width."""
    left = sum(spot.left(width) for spot in found)
    return short_distance(left, unit) if left else "none"


def finer_tip(found: Sequence[Spot], width: float) -> float | None:
    """The broadest tip, mm, with which most of it would read; None where no usual tip is fine enough."""
    whole = sum(spot.length for spot in found)
    finer = (tip for tip in FINER_TIPS if tip < width - 1e-9)
    return next((tip for tip in finer if sum(spot.left(tip) for spot in found) <= (1 - ENOUGH) * whole), None)


def larger_face(found: Sequence[Spot], width: float) -> float | None:
    """How many times as large the face would have to be for most of it to read; None where that is too large."""
    whole = sum(spot.length for spot in found)
    factors = (step / 10 for step in range(11, int(LARGEST * 10) + 1))
    return next(
        (factor for factor in factors if sum(spot.left(width / factor) for spot in found) <= (1 - ENOUGH) * whole), None
    )


def short_distance(mm: float, unit: str) -> str:
    """A length of line, to a hundredth of an inch or a tenth of a millimetre where it is short.

    >>> short_distance(830.4, "mm"), short_distance(1.32, "mm"), short_distance(1.32, "in")
    ('830 mm', '1.3 mm', '0.05 in')
    >>> short_distance(0.01, "mm"), short_distance(0.01, "in")
    ('0.1 mm', '0.01 in')
    """
    if mm >= (25.4 if unit == "in" else 9.95):
        return distance(mm, unit)
    return length_in(max(round(mm, 2), 0.26) if unit == "in" else max(round(mm, 1), 0.1), unit)
