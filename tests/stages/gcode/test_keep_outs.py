"""Keep-outs: no move crosses one below its clear height, or the stroke that does is named. Measured by shapely."""

import itertools
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.sparse.csgraph import dijkstra

from underdraw import Drawing, Result
from underdraw.errors import CannotDo
from underdraw.machine.keep_outs import INSIDE_MM, KeepOuts
from underdraw.program import Report

LINES = [[(20, 200), (60, 200)], [(140, 200), (180, 200)], [(140, 60), (180, 60)]]
CLAMP = {"name": "clamp", "at": "80 x 20 mm", "size": "40 x 120 mm", "height": "25 mm"}
LOW = {"name": "staples", "at": "80 x 20 mm", "size": "40 x 120 mm", "height": "3 mm"}


def crossings(report: Report, *boxes: tuple[float, float, float, float, float]) -> list[int]:
    """Lines of moves that pass a box (x0, y0, x1, y1, height; from program zero) lower than its height."""
    moves = report.drawn.moves
    found = []
    for line, start, end in zip(moves.line.tolist(), moves.start, moves.end, strict=True):
        at = end if np.isnan(start[:2]).any() else start
        if np.isnan(end[:2]).any():
            continue  # raised at a place that nobody knows
        way = shapely.LineString([at[:2], np.add(end[:2], (1e-9, 0))])
        for *box, height in boxes:
            if np.fmin(start[2], end[2]) < height - 0.01 and way.intersects(shapely.box(*box).buffer(-0.051)):
                found.append(line)
    return found


def heights(report: Report) -> set[float]:
    return set(np.round(report.drawn.moves.end[:, 2], 2).tolist())


def test_travel_goes_over_what_it_can_rise_over(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    drawing = garden(LINES, machine={"keep_out": [CLAMP]})
    data = write(drawing).files[0].data
    report = read_back(data, drawing)
    assert b"(before the start: the tip between the canvas and 25 mm above it, the first move raises it" in data
    assert report.problems == []
    assert crossings(report, (80, 20, 120, 140, 25)) == []
    assert 25.0 in heights(report)
    just = garden(LINES, machine={"keep_out": [CLAMP], "height": "25 mm"})  # the machine rises so high and no higher
    assert 25.0 in heights(read_back(write(just).files[0].data, just))
    assert report.drawn.moves.end[0, 2] == 25.0  # first of all: nobody knows where the marker is
    straight = read_back(write(garden(LINES)).files[0].data, garden(LINES))
    assert crossings(straight, (80, 20, 120, 140, 25))  # so the test can fail
    low = garden(LINES, machine={"keep_out": [LOW]})
    assert max(heights(read_back(write(low).files[0].data, low))) == 5.0  # the lift is clear of it


def test_travel_goes_round_what_the_machine_cannot_rise_over(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    drawing = garden(LINES, machine={"keep_out": [CLAMP], "height": "10 mm"})
    data = write(drawing).files[0].data
    report = read_back(data, drawing)
    assert report.problems == []
    assert crossings(report, (80, 20, 120, 140, 25)) == []
    assert max(heights(report)) == 5.0
    assert "G0 X79 Y19" in data.decode()  # by the corner, a millimetre beside it
    assert "over park" in re.sub(r"\)\n\(", " ", data.decode())


def test_the_way_round_is_the_shortest_that_a_library_finds() -> None:
    """scipy.sparse.csgraph.dijkstra on the same corners, which of them see each other by shapely."""
    found = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        corners, sizes = np.round(rng.uniform(10, 150, (5, 2)), 1), np.round(rng.uniform(5, 50, (5, 2)), 1)
        boxes = np.hstack([corners, corners + sizes])
        keep_outs = KeepOuts(boxes, np.full(5, 30.0), ("box",) * 5)
        start, end = (0.0, float(rng.uniform(0, 200))), (200.0, float(rng.uniform(0, 200)))
        nodes = np.array([start, end, *keep_outs._corners(5.0, None)])
        walls = shapely.union_all([shapely.box(*box).buffer(-INSIDE_MM) for box in boxes])
        legs = np.zeros((len(nodes), len(nodes)))
        for one, other in itertools.combinations(range(len(nodes)), 2):
            if not shapely.LineString(nodes[[one, other]]).intersects(walls):
                legs[one, other] = np.hypot(*(nodes[other] - nodes[one]))
        shortest = dijkstra(legs, directed=False, indices=0)[1]
        way = keep_outs.way(start, end, 5.0)
        assert (way is None) is bool(np.isinf(shortest))
        if way is not None:
            assert shapely.LineString([start, *way]).length == pytest.approx(shortest)
            found += len(way) > 2
    assert found > 8  # with more than one turn


def test_no_way_round_is_a_refusal(garden: Callable[..., Drawing], write: Callable[..., Result]) -> None:
    fence = {"name": "fence", "at": "100 x -100 mm", "size": "5 x 500 mm", "height": "60 mm"}
    machine = {"keep_out": [fence], "height": "10 mm", "bed": "260 x 300 mm"}
    with pytest.raises(CannotDo, match="cannot go round keep-out 'fence'"):
        write(garden(LINES, machine=machine))
    write(garden(LINES, machine={**machine, "height": "70 mm"}))


@pytest.mark.parametrize(("offset", "round_at"), [("0 x 0 mm", 19.0), ("0 x 30 mm", 161.0)])
def test_the_way_round_is_one_that_the_axis_can_go_with_the_marker_in_the_holder(
    garden: Callable[..., Drawing],
    write: Callable[..., Result],
    read_back: Callable[..., Report],
    offset: str,
    round_at: float,
) -> None:
    """With a tip 30 mm farther away the axis would go 11 mm off the bed to pass below a fence that begins at 20 mm."""
    fence = {"name": "fence", "at": "95 x 20 mm", "size": "10 x 140 mm", "height": "60 mm"}
    machine = {"keep_out": [fence], "height": "10 mm", "bed": "200 x 240 mm"}
    markers = [{"name": "outline"}, {"name": "gold (fine)", "offset": offset}]
    canvas = {"face": "100 x 140 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm", "strip": "down"}
    lines = [[(20, 40), (60, 40)], [(20, 205), (60, 205)], [(140, 205), (180, 205)]]  # y down: 35 from the near edge
    drawing = garden(lines, gold=2, machine=machine, marker=markers, canvas=canvas)
    report = read_back(write(drawing).files[0].data, drawing)
    assert report.problems == []
    shift = float(offset.split()[2])
    moves = report.drawn.moves
    passed = set(np.round(moves.end[moves.sideways & ~moves.drawing, 1] + shift, 2).tolist())
    assert passed & {19.0, 161.0} == {round_at}


def test_a_stroke_across_one_is_refused_by_its_number(
    garden: Callable[..., Drawing], write: Callable[..., Result]
) -> None:
    drawing = garden([*LINES, [(60, 150), (140, 150)]], machine={"keep_out": [CLAMP, LOW]})
    with pytest.raises(CannotDo, match=r"^stroke 4 crosses keep-out 'clamp'"):
        write(drawing)
    write(drawing, to=3)
    with pytest.raises(CannotDo, match=r"park is in keep-out 'clamp', which 25 mm is clear of"):
        write(garden(LINES, machine={"keep_out": [CLAMP], "park": "90 x 90 mm"}))


def test_park_is_clear_of_them_for_every_markers_tip(
    garden: Callable[..., Drawing], write: Callable[..., Result]
) -> None:
    markers = [{"name": "outline"}, {"name": "gold (fine)", "offset": "12 x 0 mm"}]
    for park, refused in (("70 x 90 mm", True), ("60 x 90 mm", False)):
        drawing = garden(LINES, gold=1, marker=markers, machine={"keep_out": [CLAMP], "park": park})
        if not refused:
            write(drawing)
            continue
        with pytest.raises(CannotDo, match=r"park: the tip of marker 'gold \(fine\)' is in keep-out 'clamp'"):
            write(drawing)


@pytest.mark.parametrize("zero_with", ["tip", "axis"])
def test_they_lie_from_the_boards_corner_whatever_zero_and_offset(
    zero_with: str, garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    holder = {"offset": "12 x -7 mm", "zero_with": zero_with}
    drawing = garden(LINES, machine={"keep_out": [CLAMP], "zero": "centre"}, holder=holder)
    report = read_back(write(drawing).files[0].data, drawing)
    away = np.array([100.0, 120.0]) + ((12, -7) if zero_with == "axis" else (0, 0))
    x0, y0, x1, y1 = (np.array([80, 20, 120, 140]).reshape(2, 2) - away).ravel().tolist()
    assert report.problems == []
    assert crossings(report, (x0, y0, x1, y1, 25)) == []
    assert crossings(report, (x0, y0 + 0.1, x1, y1 + 0.1, 25.1))  # it is that box and no other


def test_check_finds_a_move_across_one(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    """A program written for a bed without the clamp, on the bed with it: travel, an arc that bulges into it, a dot."""
    turn = np.linspace(np.pi / 2, 3 * np.pi / 2, 60)
    bulge = np.stack([125 + 20 * np.cos(turn), 150 + 20 * np.sin(turn)], axis=1)
    lines: list[Any] = [*LINES, bulge, [(100, 180)]]
    data = write(garden(lines)).files[0].data
    drawing = garden(lines, machine={"keep_out": [CLAMP]})
    found = [problem for problem in read_back(data, drawing).problems if problem.code == "keep-out"]
    texts = [problem.text for problem in found]
    assert {problem.code for problem in read_back(data, drawing).problems} == {"keep-out"}
    assert "draws across keep-out 'clamp'; 25.00 mm is clear of it" in texts
    assert any(text.startswith("goes 5.00 mm above the canvas across keep-out 'clamp'") for text in texts)
    blocks = data.decode().splitlines()
    dot = next(index for index, block in enumerate(blocks, 1) if block.startswith("N5 "))
    assert {dot, dot + 1, dot + 2, dot + 3} <= {problem.line for problem in found}


def test_random_jobs_cross_nothing_or_name_the_stroke(
    garden: Callable[..., Drawing], write: Callable[..., Result], read_back: Callable[..., Report]
) -> None:
    written = refused = 0
    for seed in range(24):
        rng = np.random.default_rng(seed)
        lines = [rng.uniform(20, 180, 2) + rng.normal(0, 6, (4, 2)) for _ in range(6)]
        lines = [np.clip(np.round(line, 4), 0, 200) for line in lines]
        corners, sizes = np.round(rng.uniform(-20, 180, (3, 2)), 1), np.round(rng.uniform(3, 40, (3, 2)), 1)
        tall = np.round(rng.uniform(3, 40, 3), 1)
        boxes = [
            {"name": f"clamp {k}", "at": f"{x} x {y} mm", "size": f"{w} x {h} mm", "height": f"{z} mm"}
            for k, ((x, y), (w, h), z) in enumerate(zip(corners, sizes, tall, strict=True))
        ]
        machine = {"keep_out": boxes, "park": "-60 x -60 mm", **({"height": "12 mm"} if seed % 2 else {})}
        drawing = garden(lines, machine=machine)
        try:
            data = write(drawing, units=["mm", "in"][seed % 3 == 0]).files[0].data
        except CannotDo as error:
            found = re.match(r"strokes? ([\d, ]+).* cross(?:es)? keep-out 'clamp (\d)'", str(error))
            assert found is not None, error
            (x, y), (w, h) = corners[int(found[2])], sizes[int(found[2])]
            box = shapely.box(x, 240 - y - h, x + w, 240 - y)
            assert all(
                shapely.LineString(lines[int(number) - 1]).distance(box) < 0.03 for number in found[1].split(", ")
            )
            refused += 1
            continue
        report = read_back(data, drawing)
        assert report.problems == []
        shown = [(*at, *(at + size), z) for at, size, z in zip(corners, sizes, tall, strict=True)]
        assert crossings(report, *shown) == [], seed
        written += 1
    assert written >= 5
    assert refused >= 5
