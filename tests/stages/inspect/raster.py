"""What an independent renderer (resvg) makes of strokes at 20 pixels to the millimetre, measured by scipy.ndimage.

Nothing of the stage is used here: regions are labelled on a picture of hairlines, closed ones are those without a
pixel that the ink leaves open, and lines merge where the ink is thicker than one line and longer than a crossing.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import resvg_py
import shapely
from numpy.typing import NDArray
from rendered import pixels
from scipy import ndimage

PER_MM = 20
HAIRLINE_MM = 0.1
FEWEST_PIXELS = 10  # of a region: fewer are where hairlines part
ROUND = np.ones((3, 3), dtype=int)  # white goes on across corners of pixels
CORE_MM, MARGIN_MM = 60.0, 15.0
THICKER_MM = 0.06  # more than half a line: what the picture's own pixels cannot make
SAMPLE_MM = 0.1
MEETING = 3.0  # widths from where lines meet
LONGER = 3.0  # widths that lines run beside each other
CORNER = np.radians(45)


@dataclass
class Seen:
    """closed: (k, 2) mm, the middle of each region that the ink fills. regions: how many there are.

    thicker: (n, 2) points of the strokes where the ink is thicker than a line; thick: (m, 2) those of them that are
    away from any point where lines meet, for long enough to be a fault.
    """

    closed: NDArray[np.float64]
    regions: int
    thicker: NDArray[np.float64]
    thick: NDArray[np.float64]

    @property
    def thick_mm(self) -> float:
        return len(self.thick) * SAMPLE_MM


def tiles(bounds: tuple[float, float, float, float]) -> Iterator[tuple[float, float]]:
    x0, y0, x1, y1 = bounds
    for y in np.arange(y0, y1, CORE_MM):
        for x in np.arange(x0, x1, CORE_MM):
            yield float(x), float(y)


def picture(lines: NDArray[Any], width: float, box: tuple[float, float, float, float]) -> NDArray[np.bool_]:
    """(h, w) whether ink covers at least half of each pixel."""
    near = shapely.clip_by_rect(lines, box[0] - 2, box[1] - 2, box[2] + 2, box[3] + 2)
    data = "".join(
        "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in shapely.get_coordinates(part).tolist())
        for part in shapely.get_parts(near[~shapely.is_empty(near)])
    )
    size = box[2] - box[0], box[3] - box[1]
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0] * PER_MM}" height="{size[1] * PER_MM}" '
        f'viewBox="{box[0]} {box[1]} {size[0]} {size[1]}"><path d="{data}" fill="none" stroke="#000" '
        f'stroke-width="{width}" stroke-linecap="round" stroke-linejoin="round"/></svg>'
    )
    return np.asarray(pixels(bytes(resvg_py.svg_to_bytes(svg_string=svg)))[..., 3] >= 128)


def seen(lines: NDArray[Any], width: float) -> Seen:
    """What the picture shows of (n,) LineStrings drawn `width` mm wide."""
    closed: list[tuple[float, float]] = []
    regions, samples, flags = 0, line_samples(lines), []
    x0, y0, x1, y1 = shapely.total_bounds(lines)
    thick = np.zeros(len(samples[0]), dtype=np.bool_)
    for x, y in tiles((x0 - 1, y0 - 1, x1 + 1, y1 + 1)):
        box = (x - MARGIN_MM, y - MARGIN_MM, x + CORE_MM + MARGIN_MM, y + CORE_MM + MARGIN_MM)
        ink = picture(lines, width, box)
        if not ink.any():
            continue
        found, count = ndimage.label(~picture(lines, HAIRLINE_MM, box), ROUND)
        centres = np.array(ndimage.center_of_mass(found > 0, found, np.arange(1, count + 1))).reshape(-1, 2)[:, ::-1]
        middle = centres / PER_MM + box[:2]
        still_open = ndimage.maximum(~ink, found, np.arange(1, count + 1))
        edge = np.unique(np.concatenate([found[0], found[-1], found[:, 0], found[:, -1]]))
        whole = ~np.isin(np.arange(1, count + 1), edge) & (np.bincount(found.ravel())[1:] >= FEWEST_PIXELS)
        here = (middle >= (x, y)).all(axis=1) & (middle < (x + CORE_MM, y + CORE_MM)).all(axis=1) & whole
        regions += int(here.sum())
        closed += middle[here & (np.asarray(still_open) == 0)].tolist()
        deep = ndimage.distance_transform_edt(ink) / PER_MM > width / 2 + THICKER_MM
        away = ndimage.distance_transform_edt(~deep) / PER_MM if deep.any() else np.full(ink.shape, np.inf)
        inside = (samples[0] >= (x, y)).all(axis=1) & (samples[0] < (x + CORE_MM, y + CORE_MM)).all(axis=1)
        at = np.floor((samples[0][inside] - box[:2]) * PER_MM).astype(int)
        thick[inside] = away[at[:, 1], at[:, 0]] <= width / 2
    flags = thick & ~near_meetings(lines, samples[0], MEETING * width)
    return Seen(
        np.array(closed).reshape(-1, 2),
        regions,
        samples[0][thick],
        samples[0][long_runs(flags, samples[1], LONGER * width)],
    )


def is_inked(lines: NDArray[Any], width: float, region: Any) -> bool:
    """Whether the picture of the ink leaves nothing of a region open, but for pixels at its edge."""
    x0, y0, x1, y1 = region.bounds
    box = x0 - 1, y0 - 1, x1 + 1, y1 + 1
    ink = picture(lines, width, box)
    y, x = np.nonzero(~ink)
    inner = shapely.buffer(region, -1.0 / PER_MM)
    return not shapely.contains_xy(inner, box[0] + (x + 0.5) / PER_MM, box[1] + (y + 0.5) / PER_MM).any()


def line_samples(lines: NDArray[Any]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Points every 0.1 mm of each line, and the line of each."""
    counts = np.maximum((shapely.length(lines) / SAMPLE_MM).astype(int), 1)
    line = np.repeat(np.arange(len(lines)), counts)
    at = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return shapely.get_coordinates(shapely.line_interpolate_point(lines[line], (at + 0.5) * SAMPLE_MM)), line


def near_meetings(lines: NDArray[Any], points: NDArray[np.float64], within: float) -> NDArray[np.bool_]:
    """Which points are near one where lines cross, end, or turn a corner."""
    tree = shapely.STRtree(lines)
    one, other = tree.query(lines, predicate="intersects")
    crossings = shapely.get_parts(shapely.intersection(lines[one[one < other]], lines[other[one < other]]))
    meetings = [shapely.get_coordinates(crossings[shapely.get_type_id(crossings) == 0])]
    for end in (0, -1):
        ends = shapely.get_point(lines, end)
        pairs = tree.query(ends, predicate="dwithin", distance=0.15)
        meetings.append(shapely.get_coordinates(ends[np.unique(pairs[0][pairs[0] != pairs[1]])]))
    coords, line = shapely.get_coordinates(shapely.simplify(lines, 0.05), return_index=True)
    heading = np.arctan2(*np.diff(coords, axis=0).T[::-1])
    turn = np.abs((np.diff(heading) + np.pi) % (2 * np.pi) - np.pi)
    meetings.append(coords[1:-1][(line[2:] == line[:-2]) & (turn > CORNER)])
    found = shapely.multipoints(np.concatenate(meetings))
    shapely.prepare(found)
    return np.asarray(shapely.dwithin(found, shapely.points(points), within))


def long_runs(flags: NDArray[np.bool_], line: NDArray[np.int64], longer: float) -> NDArray[np.bool_]:
    """Flags less those of runs that are not longer than so many mm."""
    change = np.ones(len(flags), dtype=np.bool_)
    change[1:] = (flags[1:] != flags[:-1]) | (line[1:] != line[:-1])
    run = np.cumsum(change) - 1
    return flags & (np.bincount(run)[run] * SAMPLE_MM > longer)
