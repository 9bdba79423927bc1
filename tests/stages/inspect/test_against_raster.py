"""Against pictures of the ink by an independent renderer (resvg), measured by scipy.ndimage: see `raster`."""

import numpy as np
import pytest
import shapely
from constructs import loop, pair, wedge
from raster import Seen, is_inked, seen

from underdraw_stages.inspect.found.closing import closed_regions
from underdraw_stages.inspect.found.line_pieces import pieces_of
from underdraw_stages.inspect.found.merging import merging_spots

pytestmark = pytest.mark.slow
WIDTH = 0.7
NEAR_MM = 0.3


def garden(seed: int) -> np.ndarray:
    """(n,) LineStrings: stems that run beside each other in parts, leaves of all sizes, wedges, crossings."""
    rng = np.random.default_rng(seed)
    lines = []
    for _ in range(12):  # small rings, some that close
        lines += [np.asarray(ring) * WIDTH + rng.uniform(10, 90, 2) for ring in loop(rng.uniform(0.8, 2.5))]
    for row in range(5):  # pairs
        for line in pair(rng.uniform(0.4, 1.6), rng.uniform(15, 40)):
            lines.append(np.asarray(line) * WIDTH + (10.0 + rng.uniform(0, 40), 12.0 + 16 * row))
    for _ in range(5):
        lines += [np.asarray(line) * WIDTH / 3 + rng.uniform(20, 80, 2) for line in wedge(rng.uniform(0.5, 20.0))]
    for _ in range(6):  # long curves across all of it
        x = np.linspace(0, 100, 300)
        wave = rng.uniform(5, 95) + rng.uniform(2, 8) * np.sin(x / rng.uniform(6, 12) + rng.uniform(0, 6))
        lines.append(np.column_stack([x, wave]))
    return shapely.linestrings(np.concatenate(lines), indices=np.repeat(np.arange(len(lines)), [len(a) for a in lines]))


@pytest.fixture(scope="module", params=range(4))
def shown(request: pytest.FixtureRequest) -> tuple[np.ndarray, Seen]:
    """A garden's lines, and what the picture shows of them: the picture takes longest, and serves all tests."""
    lines = garden(request.param)
    return lines, seen(lines, WIDTH)


def test_the_regions_that_close_are_those_that_the_picture_shows_closed(shown: tuple[np.ndarray, Seen]) -> None:
    lines, picture = shown
    closed = closed_regions(lines, np.full(len(lines), WIDTH))
    assert len(picture.closed) >= 1
    points = shapely.points(picture.closed)
    tree = shapely.STRtree(closed)
    of_picture, _ = tree.query(points, predicate="dwithin", distance=NEAR_MM)
    assert set(of_picture.tolist()) == set(range(len(points)))  # none is missed
    assert all(is_inked(lines, WIDTH, region) for region in closed)  # and none is made up


def test_lines_merge_where_the_picture_is_thicker_than_a_line(shown: tuple[np.ndarray, Seen]) -> None:
    lines, picture = shown
    spots = merging_spots(pieces_of(lines, np.full(len(lines), WIDTH)))
    mine = shapely.union_all([spot.outline for spot in spots])
    shared = (shapely.distance(shapely.points(picture.thick), mine) < 0.15).mean()
    steps = shapely.get_coordinates(shapely.segmentize(mine, 0.1))
    confirmed = (shapely.distance(shapely.points(steps), shapely.multipoints(picture.thicker)) < 0.15).mean()
    assert picture.thick_mm > 15
    assert shared > 0.8  # lines that cross at some 9 degrees: the picture counts half a width more at either end
    assert confirmed > 0.95
