"""A marker that wants to be run in draws a line in a corner square before each of its loads."""

import numpy as np
import pytest
import shapely

from underdraw import CannotDo, Drawing, Panel
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.machine.loads import loads_between
from underdraw.panel import MARK_MM
from underdraw.panel.marks import corner_marks
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.ink.priming import Rows, primed
from underdraw_stages.order.stage import order

CANVAS = {"face": "200 x 200 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm"}
MARKERS = [{"name": "outline", "ink_length": "2 m", "prime": "120 mm"}, {"name": "gold", "tip": "1 mm"}]


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def vine(canvas: dict[str, str] = CANVAS, markers: list[dict[str, str]] = MARKERS, lines: int = 30) -> Drawing:
    job = job_from_data({"canvas": canvas, "marker": markers}, "vine")
    (width, height) = Panel.of(job).board
    strokes = [
        [np.array([[70.0, 70.0 + row], [width - 70, 70.0 + row]])] for row in np.linspace(0, height - 140, lines)
    ]
    names = np.array(["outline"] * (lines - 5) + [job.markers[-1].name] * 5, dtype=object)
    return Drawing.build(
        strokes, (width, height), job, marker=names, stroke="#1b1b3a", stroke_width=0.7, lying=OnBoard(),
        hides_nothing=True,
    )  # fmt: skip


def test_each_load_of_that_marker_begins_with_so_much_line_in_a_corner_square(registry: Registry) -> None:
    drawing = order(vine(), OrderSettings(), TrialContext(registry)).drawing
    squares = Panel.of(drawing.job).corner_squares
    loads = loads_between(drawing)
    assert [load.marker.name for load in loads] == ["outline"] * 3 + ["gold"]
    first = [load.first - 1 for load in loads if load.marker.name == "outline"]
    assert np.flatnonzero(drawing.layer == "prime").tolist() == first
    for row in first:
        assert drawing.part_lengths()[row] == pytest.approx(120.0, abs=1e-3)
        points = drawing.part_coords(row)
        inside = [
            (points >= (x0 + 1, y0 + 1)).all() and (points <= (x1 - 1, y1 - 1)).all() for x0, y0, x1, y1 in squares
        ]
        assert sum(inside) == 1


def test_lines_of_the_same_square_touch_neither_each_other_nor_the_mark(registry: Registry) -> None:
    drawing = order(vine(), OrderSettings(), TrialContext(registry)).drawing
    lines = drawing.part_lines()[drawing.layer == "prime"]
    for index, line in enumerate(lines):
        assert all(line.distance(other) > 1.4 for other in lines[:index])
        for mark in corner_marks(Panel.of(drawing.job)):
            (x, y), half = mark.at, mark.size / 2
            assert not line.buffer(0.7).intersects(type(line)([(x - half, y), (x + half, y)]))
            assert not line.buffer(0.7).intersects(type(line)([(x, y - half), (x, y + half)]))


def test_the_program_draws_it(registry: Registry) -> None:
    drawing = order(vine(), OrderSettings(), TrialContext(registry)).drawing
    assert gcode(drawing, GcodeSettings(), TrialContext(registry)).files  # proved against the drawing before it lands


@pytest.mark.parametrize("marked", [True, False], ids=["corner", "scrap"])
def test_of_any_length_and_tip_the_ink_lies_within_the_square_clear_of_its_mark_and_of_other_lines(marked) -> None:
    square, rng = (100.0, 200.0, 150.8, 250.8), np.random.default_rng(6)
    mark = shapely.box(125.4 - MARK_MM / 2, 225.4 - MARK_MM / 2, 125.4 + MARK_MM / 2, 225.4 + MARK_MM / 2)
    counts = []
    for _ in range(400):
        rows, inked = Rows(square, marked=marked), []
        while True:
            tip, length = float(rng.uniform(0.3, 6)), float(rng.choice([rng.uniform(1, 60), rng.uniform(60, 700)]))
            line = rows.meander(length, tip)
            if line is None:
                break
            line = shapely.LineString(line)
            assert line.length == pytest.approx(length)
            ink = line.buffer(tip / 2)
            assert shapely.box(*square).buffer(-0.999).contains(ink)
            assert not marked or ink.distance(mark) > 0.99
            assert all(ink.distance(other) > tip for other in inked)  # rows are three tips apart, of the broader one
            inked.append(ink)
        counts.append(len(inked))
    assert sum(counts) > 400


def test_all_of_the_room_is_used_and_no_more() -> None:
    """16 rows of 46.8 mm, 3 mm apart, and 1.8 mm on down: 795.6 mm of a tip of 1 mm."""
    square = (100.0, 200.0, 150.8, 250.8)
    assert Rows(square, marked=False).meander(795.5, 1.0) is not None
    assert Rows(square, marked=False).meander(795.7, 1.0) is None


def test_what_a_marker_is_primed_with_is_ink_that_it_cannot_draw_with(registry: Registry) -> None:
    markers = [{"name": "outline", "ink_length": "2 m", "prime": "500 mm"}, MARKERS[1]]
    result = order(vine(markers=markers, lines=25), OrderSettings(), TrialContext(registry))
    ink = [entry for entry in result.figures["ink"] if entry["marker"] == "outline"]
    assert len(ink) > 1 and all(entry["left_mm"] >= 200 for entry in ink)  # a tenth is kept
    with pytest.raises(
        CannotDo, match="primed with 1800 mm of its ink_length of 2000 mm: nothing is left to draw with"
    ):
        order(vine(markers=[{**markers[0], "prime": "1.8 m"}, MARKERS[1]]), OrderSettings(), TrialContext(registry))


def test_a_job_without_it_is_left_as_it_is(registry: Registry) -> None:
    plain = vine(markers=[{"name": "outline"}, {"name": "gold"}])
    assert primed(plain, registry) is plain


def test_a_canvas_on_its_frame_is_primed_beside_on_the_scrap_that_the_job_names(registry: Registry) -> None:
    canvas = {"face": "300 x 300 mm", "mount": "stretched"}
    stretched = vine(canvas)
    machine = {"prime_at": "-70 x 5 mm", "bed": "600 x 1200 mm"}
    drawing = stretched.replace(job=job_from_data({**stretched.job.data, "machine": machine}, "vine"))
    context = TrialContext(registry)
    found = order(drawing, OrderSettings(), context).drawing
    rows = np.flatnonzero(found.layer == "prime")
    assert len(rows) == 3
    for row in rows.tolist():
        points = found.part_coords(row) * (1, -1) + (0, 300)  # from the canvas's lower left corner, y away
        assert (points >= (-70, 5)).all() and (points <= (-10, 45)).all()
    assert gcode(found, GcodeSettings(), context).files  # proved: neither outside the image nor beyond its room
    moved = found.replace(job=job_from_data({**found.job.data, "machine": {**machine, "prime_at": "10 x 400 mm"}}, "x"))
    with pytest.raises(CannotDo, match="stroke 1 of the drawing lies 68 mm outside the image"):
        gcode(moved, GcodeSettings(), context)


@pytest.mark.parametrize(
    ("canvas", "prime", "told"),
    [
        ({"face": "200 x 200 mm", "mount": "stretched"}, "20 mm", "a canvas on its frame has no corner"),
        (CANVAS, "5 m", "no room for 5000 mm of marker 'outline' before load 1\n  try: a shorter `prime`"),
    ],
)
def test_where_it_cannot_be_there_is_a_way_out(registry: Registry, canvas, prime, told) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(CannotDo, match=told):
        primed(vine(canvas, [{**MARKERS[0], "prime": prime}, MARKERS[1]]), registry)
