"""What tidy changed: figures for the history, and the same in words."""

from dataclasses import dataclass
from typing import Any

from underdraw.drawing.drawing import Drawing
from underdraw.words.quantities import counted, distance
from underdraw.words.units import unit_of
from underdraw_stages.tidy.seen.artwork import Artwork
from underdraw_stages.tidy.seen.visible import Visible
from underdraw_stages.tidy.strokes.hatching import Family
from underdraw_stages.tidy.strokes.one_marker import Counts

MOST_LISTED = 5  # hatched places named one by one
LITTLE_MM = 1.0  # of edges left out as their sides look alike: less is not reported


@dataclass(frozen=True, eq=False)
class Changes:
    """What one run changed; lengths in mm."""

    artwork: Artwork
    seen: Visible
    hatching: list[Family]
    hatching_dropped: bool
    counts: Counts

    @property
    def strokes_before(self) -> int:
        """Strokes and dots that the artwork would have drawn."""
        return len(self.artwork.lines) + len(self.artwork.dots)


def figures(changes: Changes, tidied: Drawing) -> dict[str, Any]:
    """What the history keeps."""
    counts, artwork = changes.counts, changes.artwork
    return {
        "strokes_before": changes.strokes_before,
        "strokes_after": len(tidied),
        "before_mm": round(artwork.lines.length, 3),
        "drawn_mm": round(tidied.drawn_mm, 3),
        "doubled_mm": round(counts.doubled, 3),
        "hidden_mm": round(changes.seen.hidden, 3),
        "faint_mm": round(changes.seen.faint.length, 3),
        "faint_shapes": changes.seen.lost,
        "joined": counts.joined,
        "dropped": counts.dropped,
        "dropped_mm": round(counts.dropped_length, 3),
        "unpainted": artwork.unpainted,
        "background": artwork.background,
        "thin": artwork.thin,
        "hatching": [
            {
                "box_mm": [round(value, 1) for value in family.box],
                "strokes": family.runs,
                "spacing_mm": round(family.spacing, 2),
                "length_mm": round(family.length, 1),
                "dropped": changes.hatching_dropped,
            }
            for family in changes.hatching
        ],
    }


def summary(changes: Changes, tidied: Drawing) -> str:
    """What changed, in words."""
    counts, artwork = changes.counts, changes.artwork
    unit = unit_of(tidied.job)
    first = f"{counted(len(tidied), 'stroke')}, {distance(tidied.drawn_mm, unit)} "
    first += f"(was {counted(changes.strokes_before, 'line')}, {distance(artwork.lines.length, unit)})"
    parts = [f"{distance(changes.seen.hidden, unit)} hidden", f"{distance(counts.doubled, unit)} doubled"]
    for count, one, many in (
        (counts.joined, "gap closed", "gaps closed"),
        (counts.dropped, "short leftover dropped", "short leftovers dropped"),
        (artwork.thin, "thin shape drawn as its middle", "thin shapes drawn as their middles"),
        (artwork.unpainted, "shape shows nothing", "shapes show nothing"),
    ):
        if count:
            parts.append(f"{count:,} {one if count == 1 else many}")
    faint = changes.seen.faint.length
    if faint >= LITTLE_MM:
        among = f", all edges of {counted(changes.seen.lost, 'shape')} among them" if changes.seen.lost else ""
        parts.append(f"{distance(faint, unit)} of edges left out, as their sides look alike (--contrast){among}")
    if artwork.background:
        parts.append("the page's background left out")
    return f"{first}\n  {'; '.join(parts)}"


def hatching_lines(changes: Changes, drawing: Drawing) -> list[str]:
    """One line a hatched place, the largest first."""
    done = "left out" if changes.hatching_dropped else "drawn; --drop-hatching leaves it out"
    ordered = sorted(changes.hatching, key=lambda family: -family.length)
    lines = []
    for family in ordered[:MOST_LISTED]:
        x0, y0, x1, y1 = family.box
        layer = drawing.layer[family.row]
        box = f"x {x0:.0f} to {x1:.0f}, y {y0:.0f} to {y1:.0f} mm" + (f" (layer {layer!r})" if layer else "")
        lines.append(f"hatching at {box}: {family.runs} strokes {family.spacing:.1f} mm apart; {done}")
    more = len(ordered) - MOST_LISTED
    if more > 0:
        lines.append(f"hatching at {more} more {'place' if more == 1 else 'places'}; {done}")
    return lines
