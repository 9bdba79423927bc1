"""Which marker comes first, how much one of it draws, and what is left in each afterwards."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.errors import CannotDo
from underdraw.machine.loads import FULL_SHARE, loads_between
from underdraw.machine.travel import bodies_of
from underdraw.words.lengths import format_length
from underdraw.words.quantities import counted, distance, length_in
from underdraw.words.units import unit_of

MOST_LISTED = 6  # loads whose rest is listed one by one
LEAST_INK_MM = 1000.0  # of line that one marker draws; less is a slip of the unit (common practice, no source)
HOW_TO_MEASURE = 'to measure it, draw lines of known length with a new one until it fades (ink_length = "60 m")'


def markers_in_order(drawing: Drawing, lightest_first: bool) -> list[str]:
    """The bodies that are put in: as the job lists them, then any that it does not know; or the lightest first."""
    used = list(dict.fromkeys(bodies_of(drawing).tolist()))
    listed = [marker.name for marker in drawing.job.markers]
    names = [name for name in listed if name in used] + [name for name in used if name not in listed]
    return sorted(names, key=lambda name: -lightness(drawing.job.marker(name).looks)) if lightest_first else names


def lightness(colour: str) -> float:
    """Relative luminance of `#rrggbb`, 0 black to 1 white (sRGB, IEC 61966-2-1).

    >>> lightness("#ffffff"), lightness("#000000")
    (1.0, 0.0)
    """
    shares = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    linear = (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares)
    return round(sum(weight * share for weight, share in zip((0.2126, 0.7152, 0.0722), linear, strict=True)), 9)


def load_mm(drawing: Drawing, name: str) -> float:
    """mm that one load of a marker may draw beside what it is primed with; infinite where the job does not say.

    Raises CannotDo where it is primed with all that it may draw.
    """
    marker = drawing.job.marker(drawing.job.body(name))
    if marker.ink_length is None:
        return np.inf
    most = marker.ink_length * FULL_SHARE - (marker.prime or 0.0)
    if most <= 0:
        unit = unit_of(drawing.job)
        prime, ink_length = length_in(marker.prime or 0.0, unit), length_in(marker.ink_length, unit)
        raise CannotDo(
            f"marker {name!r} is primed with {prime} of its ink_length of {ink_length}: nothing is left to draw with\n"
            "  try: a shorter `prime`"
        )
    return most


def load_lengths(drawing: Drawing) -> NDArray[np.float64]:
    """(s,) the same for each stroke's marker."""
    names = drawing.marker.tolist()
    most = {name: load_mm(drawing, name) for name in set(names)}
    return np.array([most[name] for name in names], dtype=np.float64)


def ink_figures(drawing: Drawing) -> list[dict[str, Any]]:
    """One entry a load, in drawing order: what it draws, and what is left in its marker if the job sets it."""
    figures: dict[tuple[str, int], dict[str, Any]] = {}
    for load in loads_between(drawing):
        length, name = load.marker.ink_length, load.marker.name
        held = figures.setdefault(
            (name, load.number), {"marker": name, "load": load.number, "strokes": 0, "drawn_mm": 0.0, "left_mm": length}
        )
        held["strokes"] += load.strokes  # one marker may go on in the next section of a long board
        held["drawn_mm"] = round(held["drawn_mm"] + load.drawn_mm, 3)
        held["left_mm"] = None if length is None else round(length - held["drawn_mm"], 3)
    return list(figures.values())


def short_ink(drawing: Drawing, unit: str) -> list[str]:
    """A warning for each marker that is swapped often because its ink_length is less than any marker draws."""
    lines = []
    loads = [load.marker.name for load in loads_between(drawing)]
    for marker in drawing.job.markers:
        swaps = loads.count(marker.name) - 1
        if swaps > 0 and marker.ink_length is not None and marker.ink_length < LEAST_INK_MM:
            lines.append(
                f"marker {marker.name!r}: {counted(swaps, 'swap')}, as its ink_length is "
                f"{format_length(marker.ink_length, unit)}; a marker draws metres: is the unit right?"
            )
    return lines


def ink_lines(figures: list[dict[str, Any]], unit: str) -> list[str]:
    """What a person reads of that: a detail a marker, and a line where one takes several loads."""
    lines = []
    for name in dict.fromkeys(entry["marker"] for entry in figures):
        loads = [entry for entry in figures if entry["marker"] == name]
        drawn = distance(sum(entry["drawn_mm"] for entry in loads), unit)
        if loads[0]["left_mm"] is None:
            lines.append(f"  {name}: {drawn} in one load, as ink_length is not set; {HOW_TO_MEASURE}")
            continue
        left = ", ".join(distance(entry["left_mm"], unit) for entry in loads[:MOST_LISTED])
        more = f" … {distance(loads[-1]['left_mm'], unit)}" if len(loads) > MOST_LISTED else ""
        mark = "" if len(loads) > 1 else "  "
        lines.append(f"{mark}{name}: {drawn} takes {counted(len(loads), 'marker')}; ink left in each: {left}{more}")
    return lines
