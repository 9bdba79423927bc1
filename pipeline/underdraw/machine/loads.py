"""What is drawn between two marker swaps: strokes, length and time of each load, for previews and sheets."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import MarkerSection
from underdraw.machine.clock import Schedule
from underdraw.plugins.parts import Ink

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed


@dataclass(frozen=True)
class Load:
    """One load. Strokes are numbered from 1, both ends included; `seconds` runs from swap to swap, waits left out."""

    marker: MarkerSection
    ink: Ink
    number: int  # from 1 within its marker
    first: int
    last: int
    drawn_mm: float
    start: float  # s on the clock of the whole drawing
    seconds: float

    @property
    def strokes(self) -> int:
        """How many."""
        return self.last - self.first + 1


def drawn_by_load(drawing: Drawing, starts: NDArray[np.int64]) -> NDArray[np.float64]:
    """(k,) mm drawn in each load of a drawing of strokes; starts: (k,) the first stroke of each, from 0."""
    return np.add.reduceat(drawing.part_lengths(), starts) if len(starts) else np.empty(0)


def loads_of(drawing: Drawing, registry: "Installed", schedule: Schedule) -> list[Load]:
    """Every load of a drawing of strokes, in drawing order; their times add up to the schedule's total."""
    starts = schedule.swap_strokes
    if not len(starts):
        return []
    drawn = drawn_by_load(drawing, starts)
    ends = np.append(starts[1:], len(drawing))
    until = np.append(schedule.swap_times[1:], schedule.total)
    seen: dict[str, int] = {}
    loads = []
    for k, first in enumerate(starts.tolist()):
        name = str(drawing.marker[first])
        seen[name] = seen.get(name, 0) + 1
        section = drawing.job.marker(name)
        loads.append(
            Load(
                marker=section,
                ink=registry.ink(section.ink),
                number=seen[name],
                first=first + 1,
                last=int(ends[k]),
                drawn_mm=float(drawn[k]),
                start=float(schedule.swap_times[k]),
                seconds=float(until[k] - schedule.swap_times[k]),
            )
        )
    return loads
