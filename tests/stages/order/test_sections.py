"""A board longer than the bed: every stroke in a section that reaches it, and cuts where they show least."""

import re

import numpy as np
import pytest
import shapely
from long_panels import PANELS, long_panel, ordered

from underdraw import CannotDo, Drawing, Panel
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.words.lengths import parse_length
from underdraw_stages.order.sections.in_sections import in_sections
from underdraw_stages.order.stage import parks


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def along(drawing: Drawing, lying: Lying) -> tuple[np.ndarray, np.ndarray]:
    """(s,) where each stroke begins and ends along the board, by hand."""
    assert lying.sections is not None
    at = drawing.coords[:, 0] if lying.sections.axis == 0 else drawing.sheet[1] - drawing.coords[:, 1]
    return np.minimum.reduceat(at, drawing.parts[:-1]), np.maximum.reduceat(at, drawing.parts[:-1])


@pytest.mark.parametrize("name", PANELS)
def test_each_section_reaches_its_strokes_whole_and_the_board_in_all(name: str, registry) -> None:
    """The bed's travel, less what a board may be off by (10 mm, and 2 degrees across it), is what a section reaches."""
    drawing = long_panel(name)
    made, _ = ordered(drawing)
    lying = Lying.of(made, registry)
    sections = lying.sections
    assert sections is not None and sections.count == PANELS[name][2]
    travel, across = lying.job.machine.bed[sections.axis], drawing.sheet[1 - sections.axis]
    slack = 10 + np.tan(np.radians(2)) * across
    low, high = along(made, lying)
    for section in range(1, sections.count + 1):
        own = made.section == section
        assert own.any()
        on_bed = sections.first - (section - 1) * sections.step  # of the board's end
        assert (low[own] + on_bed).min() >= slack - 1e-3 or section == 1
        assert (high[own] + on_bed).max() <= travel - slack + 1e-3
    assert sections.first >= slack - 1e-3


@pytest.mark.parametrize("name", ["16 x 120 in", "120 x 16 in"])
def test_park_stays_where_it_is_while_the_board_is_moved_along_under_it(name: str, registry) -> None:
    lying = Lying.of(long_panel(name), registry)
    assert lying.sections is not None
    spots = np.array(parks(long_panel(name), lying))
    programs = [lying.for_section(section).to_program(spots[[section - 1]])[0] for section in (1, 2, 3)]
    assert programs[1] == pytest.approx(programs[0], abs=1e-6) and programs[2] == pytest.approx(programs[0], abs=1e-6)
    assert np.abs(np.diff(spots, axis=0)).max(axis=1) == pytest.approx([lying.sections.step] * 2)


def test_strokes_that_are_cut_stand_where_the_whole_stroke_stood(registry) -> None:
    """So that whoever keeps the artwork's order has it within each section, too."""
    drawing = long_panel("16 x 120 in")
    sections = in_sections(drawing, Lying.of(drawing, registry), 2.0)
    whole = {row: shapely.LineString(drawing.part_coords(row)).buffer(0.01) for row in range(len(drawing))}
    tree = shapely.STRtree(list(whole.values()))
    order = np.full(len(sections.drawing), -1)
    lines = sections.drawing.part_lines()
    for at, line in enumerate(lines):
        order[at] = tree.query(line, predicate="within").min()
    assert len(sections.cuts) > 3 and (order >= 0).all()
    for section in np.unique(sections.drawing.section).tolist():
        assert (np.diff(order[sections.drawing.section == section]) >= 0).all()


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_an_overlap_without_room_is_refused_with_how_long_one_may_be(unit: str, registry) -> None:
    drawing = long_panel("16 x 60 in")
    if unit == "mm":
        canvas = {"face": "406.4 x 1524 mm", "depth": "38.1 mm", "bleed": "12.7 mm", "staple": "25.4 mm"}
        data = {**drawing.job.data, "canvas": canvas, "machine": {"bed": "609.6 x 1219.2 mm", "sections": "auto"}}
        drawing = drawing.replace(job=job_from_data(data, "frieze"))
    lying = Lying.of(drawing, registry)
    low, high = lying.sections.band(1)
    with pytest.raises(CannotDo) as error:
        in_sections(drawing, lying, (high - low) / 2)
    found = re.search(r"use one below ([\d. /]+) (in|mm)$", str(error.value))
    assert found is not None and found[2] == unit
    most = parse_length(f"{found[1]} {found[2]}")
    assert (high - low) / 2 - 0.3 < most <= (high - low) / 2
    in_sections(drawing, lying, most - 0.01)


@pytest.mark.slow
@pytest.mark.parametrize("name", PANELS)
@pytest.mark.parametrize("overlap", ["2 mm", "0 mm", "7.5 mm"])
def test_nothing_is_lost_or_moved_and_each_cut_is_drawn_over_by_the_overlap(name: str, overlap: str) -> None:
    """Lengths and distances by shapely."""
    drawing = long_panel(name)
    made, told = ordered(drawing, overlap=overlap)
    mm = float(overlap.removesuffix(" mm"))
    before, after = drawing.part_lines(), made.part_lines()
    whole, pieces = shapely.union_all(before), shapely.union_all(after)
    assert shapely.hausdorff_distance(whole, pieces) <= 1e-3
    for one, other in ((whole, pieces), (pieces, whole)):
        assert one.difference(other.buffer(1e-3, quad_segs=2)).length == 0
    cuts = np.array(told["cuts_mm"]).reshape(-1, 2)
    assert len(cuts) >= 7
    assert made.drawn_mm - drawing.drawn_mm == pytest.approx(len(cuts) * mm, abs=0.05)
    rings = drawing.part_closed() & (drawing.part_lengths() > 2000)  # cut twice at least, and in as many pieces
    assert rings.sum() == 2 and len(made) == len(drawing) + len(cuts) - rings.sum()
    for cut in cuts:
        near = [line for line in after if line.distance(shapely.Point(cut)) < 1e-3 and not line.is_closed]
        ends = [np.hypot(*(np.array(end) - cut)) for line in near for end in (line.coords[0], line.coords[-1])]
        assert sorted(ends)[0] <= 1e-3  # the earlier section draws up to the cut
        assert any(abs(end - mm) < 0.02 * mm + 1e-3 for end in ends)  # the later one begins the overlap before it


def test_a_stroke_that_one_section_reaches_is_not_cut(registry) -> None:
    drawing = long_panel("16 x 60 in")
    made, _ = ordered(drawing)
    low, high = along(drawing, Lying.of(drawing, registry))
    sections = Lying.of(drawing, registry).sections
    assert sections is not None
    begin, end = sections.band(1)
    whole = (high <= end) | (low >= begin)
    kept = {line.normalize().wkb for line in made.part_lines()}
    rolled = [line for line in drawing.part_lines()[whole] if not line.is_closed or line.length == 0]
    assert rolled and all(line.normalize().wkb in kept for line in rolled)


def test_marks_between_sections_are_drawn_before_they_are_measured(registry) -> None:
    for name in PANELS:
        made, _ = ordered(long_panel(name))
        lying = Lying.of(made, registry)
        for section in range(2, lying.sections.count + 1):
            marks = lying.marks_before(section)
            assert len(marks) == 4
            for mark in marks:
                crosses = [
                    row for row, line in enumerate(made.part_lines())
                    if line.length == pytest.approx(6) and line.distance(shapely.Point(mark)) < 1e-6
                ]  # fmt: skip
                assert len(crosses) == 2 and (made.section[crosses] < section).all()


def test_a_cut_is_at_a_crossing_first_then_at_a_corner_then_in_the_middle_of_the_band(registry) -> None:
    base = long_panel("16 x 60 in")
    lying = Lying.of(base, registry)
    low, high = lying.sections.band(1)
    height = base.sheet[1]

    def upright(x: float, *kinks: tuple[float, float]) -> list[tuple[float, float]]:
        return [(x, height - 20), *((x + by, height - at) for at, by in kinks), (x, 20)]

    def cuts(*lines: list[tuple[float, float]]) -> list[list[float]]:
        drawing = Drawing.build([[line] for line in lines], base.sheet, base.job, marker="outline").replace(
            lying=base.lying, hides_nothing=True
        )
        found = in_sections(drawing, lying, 2.0).cuts
        return [[round(x, 3), round(height - y, 3)] for x, y in found.tolist()]

    middle = (low + high) / 2
    assert cuts(upright(100.0)) == [[100.0, pytest.approx(middle)]]
    corner = low + 60
    assert cuts(upright(100.0, (corner, 300.0))) == [[400.0, pytest.approx(corner)]]
    bend = cuts(upright(100.0, (corner, 40.0)))  # seven degrees are no corner
    assert bend[0][1] == pytest.approx(middle)
    twig = [(50.0, height - (high - 30)), (450.0, height - (high - 30))]
    assert cuts(upright(100.0, (corner, 300.0)), twig)[0][1] == pytest.approx(high - 30)
    assert cuts(upright(100.0), twig) == [[100.0, pytest.approx(high - 30)]]
    beyond = [(80.0, height - (high - 1)), (130.0, height - (high - 1))]  # nearer to the band's end than the overlap
    assert cuts(upright(100.0), beyond) == [[100.0, pytest.approx(middle)]]


def test_a_marker_goes_on_in_the_next_section_while_its_ink_lasts() -> None:
    drawing = long_panel("16 x 60 in")
    made, _ = ordered(drawing)
    assert set(made.load.tolist()) == {1}
    markers = [{**marker, "ink_length": "8 m"} for marker in drawing.job.data["marker"]]
    short = drawing.replace(job=job_from_data({**drawing.job.data, "marker": markers}, "frieze"))
    made, _ = ordered(short)
    lengths = made.shape_lengths()
    loads = {
        (name, int(load)): lengths[(made.marker == name) & (made.load == load)].sum()
        for name, load in zip(made.marker.tolist(), made.load.tolist(), strict=True)
    }
    assert len(loads) > 2 and max(loads.values()) <= 0.9 * 8000
    assert lengths[made.marker == "outline"].sum() > 7200
    for load in np.unique(made.load[made.marker == "outline"]):  # none is in two sections
        assert len(np.unique(made.section[(made.marker == "outline") & (made.load == load)])) == 1


def test_a_board_that_the_bed_takes_is_not_divided_though_sections_are_allowed(registry) -> None:
    job = job_from_data(
        {"canvas": {"face": "12 x 16 in"}, "machine": {"bed": "24 x 48 in", "sections": "auto"}}, "moth"
    )
    drawing = Drawing.build([[[(10, 10), (200, 300)]]], Panel.of(job).board, job, marker="outline").replace(
        lying=OnBoard(wrapped=True), hides_nothing=True
    )
    made, told = ordered(drawing)
    assert (made.section == 0).all() and "sections" not in told
