"""The stage `tidy`: artwork's shapes to strokes, one line where the eye sees one line."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing import NO_MARKER, Drawing
from underdraw.errors import CannotDo
from underdraw.parts import Context, Result
from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.artwork import Artwork, Dots, take_apart
from underdraw_stages.tidy.crumbs import drop_crumbs
from underdraw_stages.tidy.doubled import without_doubles
from underdraw_stages.tidy.fewest import strokes
from underdraw_stages.tidy.gaps import close_gaps, meet_in_place_of, meet_on_lines
from underdraw_stages.tidy.lines import GRID_MM, Lines
from underdraw_stages.tidy.network import Network, cut_at_nodes, in_place_order, noded
from underdraw_stages.tidy.points import fewer_points
from underdraw_stages.tidy.seen import what_the_eye_sees

ALIKE_TIPS = 3.0  # lines side by side for longer than so many tips are one line
LOOK_TIPS = 1.5  # a line's direction at a junction is taken so many tips away from it
MOST_ROUNDS = 6  # pairing ends can bring two short runs together into one that is long enough to go


@dataclass(eq=False)
class Tally:
    """What the steps counted; lengths in mm."""

    strokes_before: int = 0
    length_before: float = 0.0
    hidden: float = 0.0
    doubled: float = 0.0
    joined: int = 0
    dropped: int = 0
    dropped_length: float = 0.0


def tidy(drawing: Drawing, settings: TidySettings, context: Context) -> Result:
    """Leave one line where the eye sees one line, each marker's in the fewest strokes."""
    names, marker = markers_of(drawing)
    artwork = take_apart(drawing, marker, settings.solid if settings.cover else np.inf, settings.same)
    tally = Tally(strokes_before=len(artwork.lines) + len(artwork.dots), length_before=artwork.lines.length)
    seen, dots, tally.hidden = what_the_eye_sees(artwork, settings.meet)
    found: list[NDArray[Any]] = []
    found_marker: list[NDArray[np.int64]] = []
    for index, name in enumerate(names):
        context.progress(index / len(names), f"tidying {name}")
        mine = seen.select(seen.marker == index)
        lines = marker_strokes(mine, drawing.job.marker(name).tip, settings, tally)
        points = np.unique(dots.at[dots.marker == index], axis=0)
        found += [lines, shapely.linestrings(np.stack([points, points], axis=1)) if len(points) else points[:, 0]]
        found_marker.append(np.full(len(lines) + len(points), index, dtype=np.int64))
    geometry = np.concatenate([np.empty(0, dtype=object), *found])
    if not len(geometry):
        raise CannotDo(
            f"nothing is left to draw: {len(drawing)} shapes came in, none shows a line; "
            "see-through, clipped or unpainted artwork needs a stroke or a fill, or try --no-cover"
        )
    tidied = as_strokes(drawing, geometry, np.concatenate(found_marker), names, came_from(geometry, seen, dots))
    return Result(tidied, figures(tally, tidied, artwork), summary(tally, tidied, artwork))


def markers_of(drawing: Drawing) -> tuple[list[str], NDArray[np.int64]]:
    """The markers in use, in the job's order, and (s,) which of them draws each shape."""
    colour = np.where(drawing.stroke != "", drawing.stroke, drawing.fill)
    own = np.where(drawing.marker == NO_MARKER, "", drawing.marker)
    name = [chosen or drawing.job.marker_for(said).name for chosen, said in zip(own, colour, strict=True)]
    known = [marker.name for marker in drawing.job.markers]
    names = [each for each in known if each in set(name)] + sorted(set(name) - set(known))
    place = {each: index for index, each in enumerate(names)}
    return names, np.array([place[each] for each in name], dtype=np.int64)


def marker_strokes(lines: Lines, tip: float, settings: TidySettings, tally: Tally) -> NDArray[Any]:
    """One marker's lines to its strokes.

    Doubled lines are looked for in the artwork's lines and again in the strokes made of them, for pairing ends can
    bring short runs together into one that is long enough to go; until none is found.
    """
    meant = lines.geometry[lines.whole & (shapely.length(lines.geometry) < settings.shortest)]
    geometry, doubles = drawn_once(lines.geometry, tip, settings, tally)
    single = float(shapely.length(geometry).sum())
    network = meet_on_lines(noded(geometry))
    tally.doubled += max(0.0, single - float(network.lengths.sum()))  # too short to be a run of its own
    for _ in range(MOST_ROUNDS):
        network = neat(network, doubles, meant, settings, tally)
        geometry = strokes(network, LOOK_TIPS * tip, settings.fewest)
        left, doubles = drawn_once(geometry, tip, settings, tally)
        if not len(doubles):
            break
        network = cut_at_nodes(left, network)
    return in_place_order(geometry)


def drawn_once(
    geometry: NDArray[Any], tip: float, settings: TidySettings, tally: Tally
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Lines without their doubles, and the doubles."""
    left, doubles = without_doubles(geometry, settings.same, ALIKE_TIPS * tip)
    tally.doubled += float(shapely.length(doubles).sum())
    return left, doubles


def neat(network: Network, doubles: NDArray[Any], meant: NDArray[Any], settings: TidySettings, tally: Tally) -> Network:
    """A network with its gaps closed, its crumbs dropped and its points thinned."""
    if len(doubles):
        network = meet_in_place_of(network, doubles, settings.same)
    if settings.join > 0:
        network, joined = close_gaps(network, settings.join, settings.shortest)
        tally.joined += joined
    if settings.shortest > 0:
        network, dropped, dropped_length = drop_crumbs(network, settings.shortest, meant)
        tally.dropped += dropped
        tally.dropped_length += dropped_length
    return fewer_points(network, settings.points)


def came_from(geometry: NDArray[Any], seen: Lines, dots: Dots) -> NDArray[np.int64]:
    """(k,) the artwork's shape that gave each stroke the most of its points."""
    coords, owner = shapely.get_coordinates(seen.geometry, return_index=True)
    keys = _keys(np.concatenate([coords, dots.at]))
    rows = np.concatenate([seen.row[owner], dots.row])
    known, first = np.unique(keys, return_index=True)
    points, stroke = shapely.get_coordinates(geometry, return_index=True)
    wanted = _keys(points)
    place = np.minimum(np.searchsorted(known, wanted), len(known) - 1)
    hit = known[place] == wanted
    pairs, counts = np.unique(np.stack([stroke[hit], rows[first[place[hit]]]], axis=1), axis=0, return_counts=True)
    best = np.lexsort((counts, pairs[:, 0]))
    row = np.full(len(geometry), rows[0], dtype=np.int64)
    row[pairs[best, 0]] = pairs[best, 1]
    return row


def _keys(coords: NDArray[np.float64]) -> NDArray[np.complex128]:
    grid = np.round(coords / GRID_MM)
    return grid[:, 0] + 1j * grid[:, 1]


def as_strokes(
    drawing: Drawing, geometry: NDArray[Any], marker: NDArray[np.int64], names: list[str], row: NDArray[np.int64]
) -> Drawing:
    """The drawing that holds these strokes, in the looks of their markers."""
    said = [drawing.job.marker(name) for name in names]
    return drawing.with_lines(
        geometry,
        row,
        fill="",
        evenodd=False,
        fill_opacity=1.0,
        stroke=np.array([marker.looks for marker in said], dtype=object)[marker],
        stroke_opacity=1.0,
        stroke_width=np.array([marker.tip for marker in said])[marker],
        cap="round",
        join="round",
        marker=np.array(names, dtype=object)[marker],
        load=0,
    )


def figures(tally: Tally, tidied: Drawing, artwork: Artwork) -> dict[str, Any]:
    """What the history keeps."""
    return {
        "strokes_before": tally.strokes_before,
        "strokes_after": len(tidied),
        "before_mm": round(tally.length_before, 3),
        "drawn_mm": round(tidied.drawn_mm, 3),
        "doubled_mm": round(tally.doubled, 3),
        "hidden_mm": round(tally.hidden, 3),
        "joined": tally.joined,
        "dropped": tally.dropped,
        "dropped_mm": round(tally.dropped_length, 3),
        "unpainted": artwork.unpainted,
        "background": artwork.background,
    }


def summary(tally: Tally, tidied: Drawing, artwork: Artwork) -> str:
    """What changed, in words."""
    words = [
        f"kept {len(tidied):,} of {tally.strokes_before:,} strokes, "
        f"{metres(tidied.drawn_mm)} of {metres(tally.length_before)}",
        f"{metres(tally.hidden)} hidden, {metres(tally.doubled)} doubled",
    ]
    if tally.joined:
        words.append(f"{tally.joined:,} gaps closed")
    if tally.dropped:
        words.append(f"{tally.dropped:,} crumbs dropped")
    if artwork.unpainted:
        words.append(f"{artwork.unpainted:,} shapes paint nothing")
    if artwork.background:
        words.append("the page's background left out")
    return "; ".join(words)


def metres(mm: float) -> str:
    """A length as a summary says it: 12.4 m, or 84 mm below a tenth of a metre."""
    return f"{mm / 1000:.1f} m" if mm >= 100 else f"{mm:.0f} mm"
