"""Which strokes of a drawing a program is to draw: all, from a place on, some again, or those of one marker."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw.drawing.ragged import offsets
from underdraw.drawing.trimming import without_beginning
from underdraw.errors import CannotDo, InputError
from underdraw.machine.loads import Load, loads_between
from underdraw.words.quantities import counted
from underdraw_stages.gcode import GcodeSettings

SHARE_DIGITS = 7  # of the share that is left out, as a header has it: 1 µm of a stroke of 10 m


@dataclass(frozen=True)
class Chosen:
    """drawing: of the chosen strokes alone, without what is drawn already of the first. numbers: (k,) theirs in the
    whole, from 1, rising. begins: the share of the first that is left out. loads: counted in `drawing`, split where
    the whole's are.
    """

    drawing: Drawing
    numbers: NDArray[np.int64]
    begins: float
    loads: tuple[Load, ...]

    @property
    def carries_on(self) -> bool:
        """Whether the first stroke is another than the whole's first, or a part of it."""
        return bool(self.numbers[0] != 1 or self.begins)


def require_strokes(drawing: Drawing) -> None:
    """Raise CannotDo for a drawing that a program cannot be made of."""
    if not len(drawing):
        raise CannotDo("no strokes are left to draw")
    if not drawing.is_strokes:
        raise CannotDo(
            "the drawing still holds shapes: a program wants strokes, one path each and no fill; tidy it first "
            "(underdraw tidy, then underdraw order)"
        )


def chosen_strokes(drawing: Drawing, settings: GcodeSettings, place: float) -> Chosen:
    """The strokes to draw, of a drawing of strokes. Raises CannotDo where the drawing has not these.

    place: the first one's number, with the share of it that is drawn already as its decimals.
    """
    first, last = int(place), settings.to or len(drawing)
    if first > len(drawing) or last > len(drawing):
        beyond = f"--from {first}" if first > len(drawing) else f"--to {last}"
        raise CannotDo(f"{beyond}: the drawing has {counted(len(drawing), 'stroke')}")
    if first > last:
        raise CannotDo(f"--from {first} lies after --to {last}: nothing would be drawn")
    numbers = np.arange(first, last + 1)
    if settings.again is not None:
        numbers = _again(drawing, settings)
    if settings.marker is not None:
        numbers = _of_marker(drawing, numbers, settings.marker)
    begins = _left_out(drawing, first, place - first, settings.overlap) if numbers[0] == first else 0.0
    loads = _loads(drawing, numbers)
    if len(numbers) == len(drawing) and not begins:
        return Chosen(drawing, numbers, 0.0, loads)
    part = _begun(drawing.select(numbers - 1), begins)
    if begins:
        loads = (replace(loads[0], drawn_mm=float(part.part_lengths()[: loads[0].last].sum())), *loads[1:])
    return Chosen(part, numbers, begins, loads)


def by_section(drawing: Drawing, chosen: Chosen, section: int | None) -> list[tuple[int, Chosen]]:
    """The chosen strokes of each section, by its number; all under 0 where the board is drawn in one go.

    section: this one alone. Raises CannotDo where it has none of these strokes.
    """
    where = drawing.section[chosen.numbers - 1]
    if section is not None and not (where == section).any():
        has = ", ".join(str(found) for found in np.unique(where) if found)
        raise CannotDo(
            f"none of these strokes is of section {section}; {f'use one of {has}' if has else 'it has none'}"
        )
    wanted = np.unique(where) if section is None else [section]
    return [(int(each), _part_of(drawing, chosen, where == each)) for each in wanted]


def _part_of(drawing: Drawing, chosen: Chosen, mask: NDArray[np.bool_]) -> Chosen:
    """The chosen strokes where a mask (k,) is true."""
    if mask.all():
        return chosen
    numbers = chosen.numbers[mask]
    part = chosen.drawing.select(mask)
    loads = _loads(drawing, numbers)
    begins = chosen.begins if mask[0] else 0.0
    if begins:
        loads = (replace(loads[0], drawn_mm=float(part.part_lengths()[: loads[0].last].sum())), *loads[1:])
    return Chosen(part, numbers, begins, loads)


def _again(drawing: Drawing, settings: GcodeSettings) -> NDArray[np.int64]:
    if settings.from_ is not None or settings.to is not None or settings.from_line is not None:
        raise InputError("--again names every stroke to draw; leave out --from, --to and --from-line")
    numbers = np.concatenate([np.arange(first, last + 1) for first, last in settings.again or ()])
    if numbers[-1] > len(drawing):
        raise CannotDo(f"the drawing has {len(drawing)} strokes; --again asks for {numbers[-1]}")
    return numbers


def _of_marker(drawing: Drawing, numbers: NDArray[np.int64], name: str) -> NDArray[np.int64]:
    found = numbers[drawing.marker[numbers - 1] == name]
    if not len(found):
        names = ", ".join(dict.fromkeys(drawing.marker[numbers - 1].tolist()))
        raise CannotDo(f"--marker {name}: none of these strokes is drawn with it\n  try: one of {names}")
    return np.asarray(found)


def _left_out(drawing: Drawing, stroke: int, share: float, overlap: float) -> float:
    """The share of a stroke to leave out where so much of it is drawn, with an overlap of so many mm."""
    length = float(drawing.part_lengths()[stroke - 1])
    if share <= 0 or length <= 0:
        return 0.0
    return round(max(share - overlap / length, 0.0), SHARE_DIGITS)


def _begun(drawing: Drawing, begins: float) -> Drawing:
    """A drawing without that share of its first stroke."""
    if not begins:
        return drawing
    first = without_beginning(drawing.part_coords(0), begins)
    counts = np.diff(drawing.parts)
    counts[0] = len(first)
    return drawing.replace(coords=np.vstack([first, drawing.coords[drawing.parts[1] :]]), parts=offsets(counts))


def _loads(drawing: Drawing, numbers: NDArray[np.int64]) -> tuple[Load, ...]:
    """The whole's loads as far as these strokes are in them, counted among these strokes."""
    lengths = drawing.part_lengths()
    held = []
    for load in loads_between(drawing):
        first, last = np.searchsorted(numbers, [load.first, load.last + 1])
        if last > first:
            drawn = float(lengths[numbers[first:last] - 1].sum())
            held.append(replace(load, first=int(first) + 1, last=int(last), drawn_mm=drawn))
    return tuple(held)
