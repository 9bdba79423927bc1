"""The lines of the map for painting, and the quick look at which boxes they run through, against shapely."""

import numpy as np
import pytest
import shapely
from test_plane import garden, plan

from underdraw_stages.paint.map.borders import borders
from underdraw_stages.paint.map.crossed_cells import CELL, CrossedCells
from underdraw_stages.paint.map.region_numbers import AIR, RegionNumber, Taken, grown, overlapping


@pytest.mark.parametrize("seed", range(3))
def test_borders_are_those_of_shapely_each_once_from_node_to_node(seed: int) -> None:
    made = plan(garden(seed))
    regions = np.concatenate([made.area, made.bare_area])
    lines = borders(regions)
    noded = shapely.union_all(shapely.boundary(regions))
    assert shapely.equals(shapely.union_all(lines), noded)
    assert np.isclose(shapely.length(lines).sum(), noded.length)
    assert len(lines) == len(shapely.get_parts(shapely.line_merge(noded)))


def test_a_border_that_meets_no_other_is_one_closed_line() -> None:
    pond = shapely.Point(5, 5).buffer(2)
    lines = borders(np.array([pond, shapely.box(0, 0, 10, 10).difference(pond)]))
    assert len(lines) == 2 and shapely.is_closed(lines).all()
    assert shapely.equals(
        shapely.union_all(lines), shapely.union_all([pond.exterior, shapely.box(0, 0, 10, 10).exterior])
    )


def test_a_ring_whose_first_point_is_within_a_border_is_not_cut_there() -> None:
    left = shapely.Polygon([(0, 5), (0, 0), (5, 0), (5, 10), (0, 10)])
    right = shapely.Polygon([(5, 0), (10, 0), (10, 10), (5, 10)])
    assert sorted(line.length for line in borders(np.array([left, right]))) == [10, 20, 20]


def test_no_box_is_refused_that_no_line_runs_through_and_most_others_are() -> None:
    rng = np.random.default_rng(8)
    lines = shapely.linestrings(rng.uniform(-5, 65, (40, 3, 2)))
    cells = CrossedCells.of(lines, (0.0, 0.0, 60.0, 50.0))
    low = rng.uniform(-3, 60, (4000, 2))
    boxes = np.concatenate([low, low + rng.uniform(0.2, 4, (4000, 2))], axis=1)
    areas = shapely.box(*boxes.T)
    crossed, by_shapely = cells.crossed(boxes), np.zeros(4000, dtype=bool)
    by_shapely[shapely.STRtree(lines).query(areas, predicate="intersects")[0]] = True
    assert not (crossed & ~by_shapely).any()
    inner = shapely.box(*(boxes + 2 * CELL * np.array([1, 1, -1, -1])).T)
    through = np.zeros(4000, dtype=bool)
    wide = (boxes[:, 2:] - boxes[:, :2] > 5 * CELL).all(axis=1) & (boxes >= 0).all(axis=1)
    wide &= (boxes[:, 2] <= 60) & (boxes[:, 3] <= 50)
    through[shapely.STRtree(lines).query(inner, predicate="intersects")[0]] = True
    assert (wide & through).sum() > 300 and crossed[wide & through].mean() > 0.97


def test_overlapping_boxes_are_those_of_shapely() -> None:
    rng = np.random.default_rng(9)
    low = rng.integers(0, 20, (60, 2)).astype(float)
    boxes = np.concatenate([low, low + rng.integers(1, 6, (60, 2))], axis=1)
    areas = shapely.box(*boxes.T)
    assert np.array_equal(overlapping(boxes[:25], boxes), shapely.intersects(areas[:25, None], areas))


def test_air_is_all_round_a_box() -> None:
    box = np.array([[1.0, 2.0, 4.0, 7.0]])
    assert shapely.box(*grown(box)[0]).bounds == shapely.box(*box[0]).buffer(AIR, join_style="mitre").bounds


def test_a_leader_leaves_its_number_where_a_line_from_its_middle_to_the_region_does() -> None:
    """Held against shapely: the way on from the number's box with air, and nothing of it within."""
    rng = np.random.default_rng(4)
    for x, y, px, py in rng.uniform(-20, 20, (60, 4)).tolist():
        number = RegionNumber(14, x, y, 2.5, (px, py))
        box = shapely.box(*grown(np.array([number.box]))[0])
        way = shapely.LineString([(x, y), (px, py)])
        if box.contains(shapely.Point(px, py)):
            continue
        start, end = number.leader
        assert end == (px, py)
        assert shapely.LineString([start, end]).equals_exact(way.difference(box), 1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_what_is_free_is_what_touches_nothing_by_all_of_shapelys_distances(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lines = shapely.linestrings(rng.uniform(0, 60, (3, 2, 2)))
    hatched = shapely.buffer(shapely.points(rng.uniform(0, 60, (3, 2))), 3)
    taken = Taken.by(lines, hatched, (0.0, 0.0, 60.0, 60.0))
    for x, y, away_x, away_y in rng.uniform(5, 55, (10, 4)).tolist():
        taken.add(RegionNumber(8, x, y, 2.0, (x + (away_x - 30) / 3, y + (away_y - 30) / 3)))
    for x, y in rng.uniform(5, 55, (4, 2)).tolist():
        taken.add(RegionNumber(12, x, y, 3.0))
    pole, middle = (30.0, 31.0), rng.uniform(-2, 62, (1500, 2))
    half = rng.uniform(0.3, 1.2, (1500, 2))
    boxes = np.concatenate([middle - half, middle + half], axis=1)
    own = shapely.box(*grown(boxes).T)
    leaders = shapely.linestrings(np.stack([middle, np.broadcast_to(pole, middle.shape)], axis=1))
    numbers = shapely.box(*np.array(taken.boxes).T)
    others = np.array(taken.leaders, dtype=object)
    wanted = (boxes >= 0).all(axis=1) & (boxes <= 60).all(axis=1)
    for one, other in ((own, lines), (own, hatched), (own, numbers), (own, others), (leaders, others)):
        wanted &= ~shapely.intersects(one[:, None], other).any(axis=1)
    wanted &= ~shapely.intersects(leaders[:, None], shapely.box(*grown(np.array(taken.boxes)).T)).any(axis=1)
    for few in np.array_split(np.arange(1500), 300):
        assert taken.free(boxes[few], middle[few], pole).tolist() == np.flatnonzero(wanted[few]).tolist()
    assert wanted.sum() >= 20
