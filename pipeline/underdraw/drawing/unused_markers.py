"""Markers of a job that draw nothing, and colours that two of them name: each with why, and what ends it."""

from collections.abc import Iterator

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import Job, MarkerSection


def has_loads(drawing: Drawing) -> bool:
    """Whether each stroke has its marker and its load, so that it is known what every marker draws."""
    return bool(len(drawing)) and drawing.is_strokes and bool((drawing.load > 0).all())


def unused_marker_lines(drawing: Drawing) -> list[str]:
    """A line for each marker of the job that draws nothing, and for each colour that went to an earlier marker.

    drawing: strokes, each with its marker.
    """
    used = set(drawing.marker.tolist())
    lines = []
    for index, marker in enumerate(drawing.job.markers):
        taken = list(_taken(marker, drawing.job))
        if marker.name not in used:
            lines.append(f"marker {marker.name!r} draws nothing: {_why(index, marker, taken)}")
        else:
            lines += [
                f"marker {marker.name!r} names {colour}, which {first!r} draws: it names it first; take the colour out "
                "of the `colours` of one of them"
                for colour, first in taken
            ]
    return lines


def _taken(marker: MarkerSection, job: Job) -> Iterator[tuple[str, str]]:
    """Colours that a marker names and an earlier one draws, with that one's name."""
    for colour in marker.colours:
        first = job.marker_for(colour)
        if first is not marker:
            yield colour, first.name


def _why(index: int, marker: MarkerSection, taken: list[tuple[str, str]]) -> str:
    """Why a marker draws nothing, and what to do."""
    if index == 0:
        return "other markers name every colour that is drawn; give it one of them in `colours`, or leave it out"
    if not marker.colours:
        return "it names no colours; give it some of the artwork's in `colours`, or leave it out"
    if len(taken) == len(marker.colours):
        names = " and ".join(f"{first!r} names {colour}" for colour, first in taken)
        return f"{names} before it; take the colour out of the `colours` of one of them"
    own = ", ".join(colour for colour in marker.colours if colour not in dict(taken))
    return f"no line that is drawn has its colour {own}; set `colours` to some of the artwork's, or leave it out"
