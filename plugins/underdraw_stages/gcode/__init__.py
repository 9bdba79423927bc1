"""`gcode`: writes the program, through a controller and a holder, and reads it back before it lands.

Curves become arcs again; every program begins by stopping the spindle, and none can start it.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl
from underdraw.job.settings import Choice, FilePath, Flag, Integer, Kind, Length, Number, Text, setting


class StrokePlace(Number):
    """A stroke's number, with a decimal for a place along it: 412, or 412.6 for what is left after 60 % of it."""

    metavar = "STROKE"

    def read(self, raw: object) -> float:
        value = super().read(raw)
        return int(value) if value == int(value) else value


class StrokeRuns(Kind):
    """Strokes by number and in runs: `30-41,55`, as ((30, 41), (55, 55)), rising and each once."""

    metavar = "STROKES"

    def read(self, raw: object) -> tuple[tuple[int, int], ...]:
        wrong = ValueError(f"expected strokes such as 30-41,55, got {raw!r}")
        numbers: set[int] = set()
        for part in str(raw).replace("–", "-").split(","):
            first, _, last = part.strip().partition("-")
            first, last = first.strip(), last.strip() or first.strip()
            if not (first.isdecimal() and last.isdecimal() and len(last) < 8) or not 1 <= int(first) <= int(last):
                raise wrong
            numbers.update(range(int(first), int(last) + 1))
        rising = sorted(numbers)
        starts = [number for number in rising if number - 1 not in numbers]
        ends = [number for number in rising if number + 1 not in numbers]
        return tuple(zip(starts, ends, strict=True))

    def plain(self, value: tuple[tuple[int, int], ...]) -> str:
        return ",".join(f"{first}-{last}" if last > first else str(first) for first, last in value)


@dataclass(frozen=True)
class GcodeSettings:
    """How to write a program; lengths in mm, strokes numbered from 1."""

    controller: str | None = setting(Text(), None, "which controller writes it", job_key="machine.controller")
    holder: str | None = setting(Text(), None, "which holder carries the marker", job_key="holder.use")
    units: str = setting(Choice("mm", "in"), "mm", "units of the program", job_key="machine.units")
    tolerance: float = setting(
        Length(above=0.0, most=1.0), "0.02 mm", "how far the program may stray from the drawing; more gives fewer moves"
    )
    from_: float | None = setting(
        StrokePlace(1), None, "first stroke to draw, to carry on where ink ran out; 412.6: from within stroke 412 on"
    )
    to: int | None = setting(Integer(1), None, "last stroke to draw")
    from_line: int | None = setting(Integer(1), None, "line of --program to carry on from, also within a stroke")
    program: str | None = setting(FilePath(), None, "the program that --from-line counts in")
    overlap: float = setting(Length(), "3 mm", "how much is drawn again of a stroke that is carried on within")
    again: tuple[tuple[int, int], ...] | None = setting(StrokeRuns(), None, "draw these strokes alone: 30-41,55")
    marker: str | None = setting(Text(), None, "draw the strokes of this marker alone")
    section: int | None = setting(
        Integer(1), None, "of a board longer than the bed: write this section alone; if omitted: a program for each"
    )
    split: str = setting(
        Choice("none", "marker", "load"), "none", "a file for each marker, or for each load, instead of pauses"
    )
    rehearse: bool = setting(
        Flag(), False, "first trace image, folds and farthest points with the marker lifted, then wait"
    )
    optional_stops: bool = setting(
        Flag(), False, "after each stroke a stop (M1) that waits only where the machine's switch for it is set"
    )
    keep_refused: str | None = setting(
        FilePath(), None, "where to keep a program that is refused, for the author of its controller to look at"
    )
    dated: bool = setting(Flag(), False, "put today's date in the header; without it the same job gives the same bytes")


STAGE = Stage(
    name="gcode",
    help="Write the program for the router, and check it before it lands.",
    run="underdraw_stages.gcode.stage:gcode",
    settings=GcodeSettings,
    kind="writer",
    rank=60,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """This stage."""
    return [STAGE]
