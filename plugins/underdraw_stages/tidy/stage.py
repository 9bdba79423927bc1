"""The stage `tidy`: artwork's shapes to strokes, one line where the eye sees one line."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.drawing import COLUMNS, NO_MARKER, Drawing
from underdraw.drawing.facts import FaintEdges
from underdraw.drawing.paint.hard_stops import with_hard_stops
from underdraw.errors import CannotDo
from underdraw.plugins.parts import Context, Result
from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.changes import Changes, figures, hatching_lines, summary
from underdraw_stages.tidy.kept_artwork import kept_artwork
from underdraw_stages.tidy.scribbles import require_no_scribble
from underdraw_stages.tidy.seen.artwork import Dots, read_artwork
from underdraw_stages.tidy.seen.visible import what_the_eye_sees
from underdraw_stages.tidy.strokes.hatching import find_hatching
from underdraw_stages.tidy.strokes.network import fingerprints_of
from underdraw_stages.tidy.strokes.one_marker import ALIKE_TIPS, Counts, marker_strokes
from underdraw_stages.tidy.strokes.polylines import Lines, grid_keys

FAINT_MM = 0.05  # how near the record of what was left out is kept to it


def tidy(drawing: Drawing, settings: TidySettings, context: Context) -> Result:
    """Leave one line where the eye sees one line, each marker's in the fewest strokes."""
    require_no_scribble(drawing)
    names, marker = markers_of(drawing)
    tip = np.array([drawing.job.marker(name).line_width for name in names])[marker]
    drawing, line_width = without_narrow_blurs(drawing, tip), ALIKE_TIPS * tip
    sharp = with_hard_stops(drawing, tip)
    artwork = read_artwork(sharp, marker, line_width, settings.cover, settings.same, settings.centre)
    judged = settings.cover and not drawing.is_tidied
    seen = what_the_eye_sees(artwork, settings.meet, settings.shortest, settings.contrast if judged else 0.0)
    hatching, unshaded = find_hatching(seen.lines, settings.same)
    counts = Counts(dropped=seen.slits, dropped_length=seen.slits_length)
    lines = unshaded if settings.drop_hatching else seen.lines
    geometry, marker_of_stroke = strokes_of_all(lines, seen.dots, names, drawing, settings, counts, context)
    if not len(geometry):
        raise CannotDo(nothing_left(drawing))
    tidied = as_strokes(drawing, geometry, marker_of_stroke, names, came_from(geometry, seen.lines, seen.dots))
    tidied = tidied.replace(artwork=kept_artwork(drawing))
    if len(seen.faint):
        tidied = tidied.replace(faint=faint_edges(seen.faint))
    changes = Changes(artwork, seen, hatching, settings.drop_hatching, counts)
    for line in hatching_lines(changes, drawing):
        context.warn(line)
    return Result(tidied, figures(changes, tidied), summary(changes, tidied))


def without_narrow_blurs(drawing: Drawing, tip: NDArray[np.float64]) -> Drawing:
    """The drawing with edges sharp that fade over no more than the (s,) tip that draws them."""
    return drawing.replace(blur=np.where(drawing.blur > tip, drawing.blur, 0.0)) if drawing.blur.any() else drawing


def faint_edges(faint: Lines) -> FaintEdges:
    """What was left out, for whoever shows it."""
    geometry = shapely.simplify(faint.geometry, FAINT_MM)
    coords, line = shapely.get_coordinates(geometry, return_index=True)
    words = [f"{x:.2f} {y:.2f}" for x, y in coords.tolist()]
    first = np.concatenate([[True], line[1:] != line[:-1]]).tolist()
    path = "".join(("M" if begins else "L") + word for begins, word in zip(first, words, strict=True))
    return FaintEdges(path, round(faint.length, 3))


def markers_of(drawing: Drawing) -> tuple[list[str], NDArray[np.int64]]:
    """The markers in use, in the job's order, and (s,) which of them draws each shape."""
    colour = np.where(drawing.stroke != "", drawing.stroke, drawing.fill)
    own = np.where(drawing.marker == NO_MARKER, "", drawing.marker)
    name = [chosen or drawing.job.marker_for(seen).name for chosen, seen in zip(own, colour, strict=True)]
    known = [marker.name for marker in drawing.job.markers]
    names = [each for each in known if each in set(name)] + sorted(set(name) - set(known))
    index = {each: number for number, each in enumerate(names)}
    return names, np.array([index[each] for each in name], dtype=np.int64)


def strokes_of_all(
    lines: Lines,
    dots: Dots,
    names: list[str],
    drawing: Drawing,
    settings: TidySettings,
    counts: Counts,
    context: Context,
) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Every marker's strokes and dots (lines of no length), and the marker of each."""
    strokes: list[NDArray[Any]] = [np.empty(0, dtype=object)]
    for index, name in enumerate(names):
        context.progress(index / len(names), f"tidying {name}")
        of_marker = lines.select(lines.marker == index)
        strokes.append(marker_strokes(of_marker, drawing.job.marker(name).line_width, settings, counts))
        points = np.unique(dots.at[dots.marker == index], axis=0)
        strokes.append(shapely.linestrings(np.stack([points, points], axis=1)) if len(points) else strokes[0])
    return np.concatenate(strokes), np.repeat(
        np.arange(len(names)), [len(a) + len(b) for a, b in zip(strokes[1::2], strokes[2::2], strict=True)]
    )


def nothing_left(drawing: Drawing) -> str:
    """Why there is no drawing, and what would help."""
    return (
        f"nothing is left to draw of {len(drawing):,} {'shape' if len(drawing) == 1 else 'shapes'}; "
        "artwork needs shapes with a stroke or a fill that can be seen (--no-cover draws hidden ones too), longer than "
        "--shortest, and not all left out by --drop-hatching or --contrast"
    )


def came_from(geometry: NDArray[Any], seen: Lines, dots: Dots) -> NDArray[np.int64]:
    """(k,) the artwork's shape that gave each stroke the most of its points."""
    coords, line_index = shapely.get_coordinates(seen.geometry, return_index=True)
    keys = grid_keys(np.concatenate([coords, dots.at]))
    rows = np.concatenate([seen.row[line_index], dots.row])
    known, first = np.unique(keys, return_index=True)
    points, stroke = shapely.get_coordinates(geometry, return_index=True)
    wanted = grid_keys(points)
    index = np.minimum(np.searchsorted(known, wanted), len(known) - 1)
    hit = known[index] == wanted
    pairs, counts = np.unique(np.stack([stroke[hit], rows[first[index[hit]]]], axis=1), axis=0, return_counts=True)
    best = np.lexsort((counts, pairs[:, 0]))
    row = np.full(len(geometry), rows[0], dtype=np.int64)
    row[pairs[best, 0]] = pairs[best, 1]
    prints, seen_prints = fingerprints_of(geometry), fingerprints_of(seen.geometry)
    known, first = np.unique(seen_prints, return_index=True)
    if len(known):  # a line that came through as it was is its shape's, whatever other lines share its points
        index = np.minimum(np.searchsorted(known, prints), len(known) - 1)
        hit = known[index] == prints
        row[hit] = seen.row[first[index[hit]]]
    return row


def as_strokes(
    drawing: Drawing, geometry: NDArray[Any], marker: NDArray[np.int64], names: list[str], row: NDArray[np.int64]
) -> Drawing:
    """The drawing that holds these strokes, in the looks of their markers."""
    markers = [drawing.job.marker(name) for name in names]
    return drawing.with_lines(
        geometry,
        row,
        fill="",
        evenodd=False,
        fill_opacity=1.0,
        stroke=np.array([marker.looks for marker in markers], dtype=object)[marker],
        stroke_opacity=1.0,
        stroke_width=np.array([marker.line_width for marker in markers])[marker],
        cap="round",
        join="round",
        miter_limit=COLUMNS["miter_limit"].default,
        marker=np.array(names, dtype=object)[marker],
        load=0,
        fill_gradient=None,
        fill_pattern=False,
        stroke_gradient=None,
        blur=0.0,
        cut_edge=False,
        hides_nothing=True,
    )
