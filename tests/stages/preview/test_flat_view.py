"""The flat view says what lies where, at which size, and prints to scale."""

import re
from dataclasses import replace

import numpy as np
import pytest
from garden_panels import ACCENT, OUTLINE, SIX, garden_strokes, panel_drawing
from lxml import etree

from underdraw import CannotDo, Drawing, Job, Panel
from underdraw.drawing.facts import FaintEdges, OnBoard
from underdraw.drawing.wire import write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.sections import KeepOutSection
from underdraw.machine.clock import Schedule
from underdraw.page.canvas_page import PAPER, contrast
from underdraw.page.ink import ink_layer
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.panel import Lying
from underdraw.testing.trial import TrialContext
from underdraw.words.quantities import clock
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.figure.bed_plan import OnBed, plan_names
from underdraw_stages.preview.stage import preview
from underdraw_stages.preview.views.flat import place_figure

SVG = "{http://www.w3.org/2000/svg}"


def flat(drawing: Drawing, bench: TrialContext, **settings: object) -> etree._Element:
    """The flat view, parsed."""
    result = preview(drawing, PreviewSettings(view=("flat",), **settings), bench)  # type: ignore[arg-type]
    assert result.drawing is drawing
    assert [(file.suffix, file.label) for file in result.files] == [(".svg", "flat")]
    return etree.fromstring(result.files[0].data)


def words(page: etree._Element) -> list[str]:
    """Every text on the page."""
    return ["".join(text.itertext()) for text in page.iter(f"{SVG}text")]


def in_board_mm(page: etree._Element, path: etree._Element) -> list[np.ndarray]:
    """The polylines of an ink path, in board mm, read by a reader of our own."""
    group = next(around for around in path.iterancestors(f"{SVG}g") if around.get("transform"))
    scale = float(re.search(r"scale\(([\d.]+)\)", group.get("transform"))[1])
    lines, at = [], np.zeros(2)
    for part in path.get("d").split("m")[1:]:
        steps = np.array(re.findall(r"-?\d+", part), dtype=float).reshape(-1, 2)
        line = at + np.cumsum(steps, axis=0)
        at = line[-1]
        lines.append(line * scale)
    return lines


def test_every_part_of_a_wrapped_panel_is_named_with_its_size(bench: TrialContext) -> None:
    told = " | ".join(words(flat(panel_drawing("16 x 20 in, 2 1/2 in deep"), bench)))
    for name in ("canvas to cut", "staple strip", "board = image", "bleed", "side", "fold", "face", "corner square"):
        assert name in told
    # Common practice, no source: a 16 x 20 in face, 2.5 in depth, 0.5 in bleed, 1 in staple strip.
    for size in ("24 × 28\u00a0in", "22 × 26\u00a0in", "16 × 20\u00a0in", "2 1/2\u00a0in", "1/2\u00a0in", "1\u00a0in"):
        assert size in told, size
    assert "first index pin" in told and "park" in told
    assert "bed = reach" in told


def test_keep_outs_are_drawn_where_they_are_as_far_as_the_page_shows_it(bench: TrialContext) -> None:
    drawing = panel_drawing("16 x 20 in, 2 1/2 in deep")  # a board of 558.8 x 660.4 mm
    boxes = (
        KeepOutSection("left clamp", (-20.0, 100.0), (20.0, 50.0)),
        KeepOutSection("beside it all", (-200.0, 0.0), (20.0, 50.0)),
    )
    plain = flat(drawing, bench)
    page = flat(drawing.replace(job=replace(drawing.job, machine=replace(drawing.job.machine, keep_out=boxes))), bench)
    assert "left clamp" in words(page)
    assert "beside it all" not in words(page)

    def hatched(page: etree._Element) -> int:
        return len([path for path in page.iter(f"{SVG}path") if path.get("class") == "keep-out"])

    assert (hatched(plain), hatched(page)) == (0, 2)  # one on the canvas, and again on the plan of the bed
    [figure] = [path for path in page.iter(f"{SVG}path") if path.get("class") == "keep-out"][:1]
    rect = next(around for around in figure.itersiblings(f"{SVG}rect", preceding=True))
    scale = float(next(word for word in words(page) if word.startswith("scale 1 : ")).removeprefix("scale 1 : "))
    assert float(rect.get("width")) * scale == pytest.approx(20, abs=0.2)
    assert float(rect.get("height")) * scale == pytest.approx(50, abs=0.2)


def test_a_strip_that_is_folded_down_lies_nowhere(bench: TrialContext) -> None:
    drawing = panel_drawing("16 x 20 in, 2 1/2 in deep")
    down = drawing.replace(job=drawing.job.with_canvas(strip="down"))
    assert "1\u00a0in, folded down" in " | ".join(words(flat(down, bench)))


def test_a_stretched_canvas_has_no_sides_to_name(bench: TrialContext) -> None:
    told = " | ".join(words(flat(panel_drawing("stretched 8 x 8 in"), bench)))
    assert "image = face" in told
    assert "bleed" not in told and "staple" not in told and "fold" not in told


def test_a_holder_beside_the_spindle_shows_what_its_tip_reaches(bench: TrialContext) -> None:
    told = " | ".join(words(flat(panel_drawing("deep square"), bench)))
    assert "reach of" in told
    assert "610 × 875" in told  # a 650 x 900 bed less an offset of 40 and 25


def test_the_plan_shows_the_reach_at_the_edge_where_the_holder_has_it_and_a_bed_too_small(bench: TrialContext) -> None:
    """A tip 25 mm behind the axis (y away) does not get to 25 mm at the near edge, which is below on a plan."""
    job = panel_drawing("deep square").job
    for offset, reached in (((40.0, 25.0), (40, 0, 650, 875)), ((-40.0, -25.0), (0, 25, 610, 900))):
        lying = Lying.of_job(replace(job, holder=replace(job.holder, offset=offset)), bench.registry)
        assert lying is not None
        assert OnBed.of(lying, (650.0, 900.0), 0).reached == pytest.approx(reached)
    plan = OnBed.of(lying, (650.0, 900.0), 0)
    left, top, right, bottom = plan.canvas
    strip = (right - left - lying.board[0]) / 2
    assert plan.corner == pytest.approx((left + strip, bottom - strip))
    assert bottom - top == pytest.approx(lying.board[1] + 2 * strip)
    placing = OnPage.largest(plan.box, (38.0, 40.0), 10.0)
    assert plan_names(plan, placing, "mm")[0].name == "bed"
    assert plan_names(replace(plan, fits=False), placing, "mm")[0].name == "bed: too small"


def test_what_is_cut_is_never_named_too_small_and_half_of_the_time_is_half_of_it(bench: TrialContext) -> None:
    canvas = {"face": "300.004 x 400.004 mm", "bleed": "10 mm", "depth": "40 mm"}
    drawing = garden_strokes(job_from_data({"canvas": canvas, "marker": [OUTLINE]}, "moths"))
    told = " ".join(words(flat(drawing, bench))).replace("\u00a0", " ")
    cut = Panel.of(drawing.job).canvas
    assert f"{np.ceil(cut[0] * 100 - 1e-6) / 100:.2f} × {np.ceil(cut[1] * 100 - 1e-6) / 100:.2f} mm" in told
    assert f"Half way at {clock(Schedule.of(drawing, bench.registry).total / 2)}" in told


def test_every_stroke_is_there_in_its_ink_and_true_width(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in")
    page = flat(drawing, bench)
    ink = page.find(f".//{SVG}g[@id='ink']")
    assert ink is not None
    shown = [path for path in ink.iter(f"{SVG}path") if path.find(f"{SVG}title") is not None]
    lines = [line for path in shown for line in in_board_mm(page, path)]
    assert len(lines) == len(drawing)
    for row, line in enumerate(lines):
        points = drawing.part_coords(row)
        assert np.abs(np.array([line[0] - points[0], line[-1] - points[-1]])).max() <= 0.0051
    groups = [path.getparent() for path in shown]
    looks = {(group.get("stroke"), float(group.get("stroke-width"))) for group in groups}
    assert looks == {("#1b1b3a", 100.0), ("#d9793a", 70.0), ("#f4f0d8", 150.0), ("#6b6b6b", 50.0)}


def test_the_figure_and_the_bar_are_to_the_scale_that_is_stated(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in")
    page = flat(drawing, bench)
    assert page.get("width") == "190mm" and page.get("viewBox").startswith("0 0 190 ")
    reduction = float(next(re.search(r"scale 1 : ([\d.]+)", text)[1] for text in words(page) if "scale 1 :" in text))
    transform = page.find(f".//{SVG}g[@id='ink']").getparent().get("transform")
    assert float(re.search(r"scale\(([\d.]+)\)", transform)[1]) == pytest.approx(1 / reduction, rel=1e-6)
    told = next(text for text in words(page) if text.startswith("On paper at"))
    line = told + " " + next(text for text in words(page) if "mm long" in text)
    bar = float(re.search(r"([\d.]+)\u00a0?\s?mm long", line)[1])
    box = next(box for box in page.iter(f"{SVG}rect") if box.get("height") == "1.6")
    assert float(box.get("width")) == pytest.approx(bar, abs=0.01)
    named = [float(text.split()[0]) for text in words(page) if re.fullmatch(r"\d+ mm", text)][-1]
    assert named / reduction == pytest.approx(bar, abs=0.01)
    inches = float([text for text in words(page) if re.fullmatch(r"\d+ in", text)][-1].split()[0])
    assert 0.4 * named < 25.4 * inches < 1.6 * named  # the longest of round length, too


def test_travel_and_lifts_are_shown_only_when_asked_for(bench: TrialContext) -> None:
    drawing = panel_drawing("4 x 4 in", loads=1)
    plain = flat(drawing, bench)
    assert plain.find(f".//{SVG}path[@id='travel']") is None and plain.find(f".//{SVG}g[@id='lifts']") is None
    full = flat(drawing, bench, travel=True, lifts=True)
    legs = full.find(f".//{SVG}path[@id='travel']").get("d").count("M")
    assert legs == len(drawing) + 1  # from park to the first, between strokes, and back to park
    rings, holes, dots = full.find(f".//{SVG}g[@id='lifts']/{SVG}g")
    set_down, raised = ([drawing.part_coords(row)[at] for row in range(len(drawing))] for at in (0, -1))
    placing = place_figure(Subject.of(drawing, bench))
    for path, spots in ((rings, set_down), (holes, set_down), (dots, raised)):
        read = np.array(re.findall(r"M([\d.]+) ([\d.]+)h0", path.get("d")), dtype=float)
        assert read == pytest.approx(np.round(placing.all(np.array(spots)), 2))
    keys = ("marker lifted", "marker set down", "marker raised")
    assert not set(keys) & set(words(plain)) and set(keys) <= set(words(full))


def test_edges_that_were_left_out_are_shown_only_when_asked_for(bench: TrialContext) -> None:
    plain = panel_drawing("4 x 4 in", loads=1)
    drawing = plain.replace(faint=FaintEdges("M10.00 10.00L40.00 10.00M50.00 5.00L50.00 50.00", 75.0))
    assert flat(drawing, bench).find(f".//{SVG}path[@id='faint']") is None
    shown = flat(drawing, bench, faint=True)
    path = shown.find(f".//{SVG}path[@id='faint']")
    ink = shown.find(f".//{SVG}g[@id='ink']")
    assert path.getparent().get("transform") == ink.getparent().get("transform")  # where the ink is, beneath it
    assert list(shown.iter()).index(path) < list(shown.iter()).index(ink)
    assert path.get("d") == drawing.faint.path  # type: ignore[union-attr]
    assert any(text.startswith("not drawn, ") for text in words(shown))
    assert not any(text.startswith("not drawn, ") for text in words(flat(plain, bench, faint=True)))


def test_loads_are_numbered_by_their_first_stroke(bench: TrialContext) -> None:
    drawing = panel_drawing("48 x 20 in", loads=2)
    told = words(flat(drawing, bench))
    firsts = [
        1 + row
        for row in range(len(drawing))
        if row == 0 or (drawing.marker[row], drawing.load[row]) != (drawing.marker[row - 1], drawing.load[row - 1])
    ]
    assert len(firsts) == 4
    assert all(any(text.split()[0] == str(first) for text in told) for first in firsts)
    assert not any(text.startswith("13 ") for text in words(flat(drawing, bench, swaps=False)))


def test_the_legend_adds_up(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in")
    told = words(flat(drawing, bench))
    at = told.index("all")
    assert told[at + 1] == str(len(drawing))
    assert told[at + 2] == f"{drawing.drawn_mm / 304.8:.1f} ft"  # an inch job
    assert told[at + 3] == "8"  # four markers with two loads each
    for name, summed in (("4 x 4 in", False), ("stretched 8 x 8 in", True)):  # one marker, two markers
        assert ("all" in words(flat(panel_drawing(name), bench))) is summed


def test_words_stand_out_from_the_paper(bench: TrialContext) -> None:
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 : 1.
    page = flat(panel_drawing("12 x 16 in"), bench)
    colours = {text.get("fill") for text in page.iter(f"{SVG}text")} - {None}
    colours |= {page.find(f".//{SVG}g[@font-family]").get("fill")}
    colours |= set(re.findall(r"\.q\{fill:(#\w+)\}", page.find(f"{SVG}style").text))
    assert len(colours) >= 2
    assert min(contrast(colour, PAPER) for colour in colours) >= 4.5


@pytest.mark.parametrize("view", ["flat", "folded", "motion"])
def test_a_preview_is_plain_svg_that_fetches_nothing_and_runs_nothing(bench: TrialContext, view: str) -> None:
    job = job_from_data({**SIX["12 x 16 in"], "name": "</text><script>alert(1)</script>&"}, "x")
    result = preview(garden_strokes(job), PreviewSettings(view=(view,)), bench)
    page = etree.fromstring(result.files[0].data)
    assert page.get("version") == "1.1"
    assert page.find(f"{SVG}title").text and page.find(f"{SVG}desc").text
    assert not list(page.iter(f"{SVG}script", f"{SVG}image", f"{SVG}foreignObject"))
    links = [value for element in page.iter() for name, value in element.attrib.items() if name.endswith("href")]
    assert all(link.startswith("#") for link in links)
    assert not [name for element in page.iter() for name in element.attrib if name.startswith("on")]
    assert b"@import" not in result.files[0].data and b"url(http" not in result.files[0].data
    families = page.find(f".//{SVG}g[@font-family]").get("font-family")
    assert families == "sans-serif"  # the generic family: there is one on every reader's machine


@pytest.mark.parametrize("view", ["flat", "folded", "motion"])
def test_a_preview_is_smaller_than_one_and_a_half_drawings(bench: TrialContext, view: str) -> None:
    drawing = panel_drawing("12 x 16 in", strokes=200)
    size = len(preview(drawing, PreviewSettings(view=(view,)), bench).files[0].data)
    assert size < 1.5 * len(write_drawing(drawing))


def test_the_same_drawing_gives_the_same_bytes(bench: TrialContext) -> None:
    made = [
        preview(panel_drawing("deep square"), PreviewSettings(view=("flat", "folded", "motion")), bench).files
        for _ in "ab"
    ]
    assert [file.data for file in made[0]] == [file.data for file in made[1]]


def test_artwork_not_yet_tidied_is_shown_as_it_stands(bench: TrialContext) -> None:
    job = job_from_data({"canvas": {"face": "100 x 80 mm", "mount": "stretched"}, "marker": [OUTLINE]}, "early")
    square = [(10, 10), (60, 10), (60, 60), (10, 60), (10, 10)]
    drawing = Drawing.build(
        [[square], [square]], (100, 80), job, fill=["#4a7f92", ""], stroke=["", "#1b1b3a"], stroke_width=[0, 2]
    ).replace(lying=OnBoard())
    page = flat(drawing, bench)
    ink = page.find(f".//{SVG}g[@id='ink']")
    assert [path.get("fill") for path in ink] == ["#4a7f92", None]
    assert any("Not yet strokes" in text for text in words(page))


def test_artwork_is_shown_with_its_own_miter_limit(bench: TrialContext) -> None:
    """Source: SVG 1.1 (2nd ed.), 11.4: 4 where none is written."""
    feelers = [[np.array([(20.0, 20.0 + at), (80.0, 25.0 + at), (20.0, 30.0 + at)])] for at in (0.0, 30.0)]
    drawing = Drawing.build(
        feelers,
        (100.0, 100.0),
        Job(),
        fill=["", "#123456"],
        stroke="#1b1b3a",
        stroke_width=2.0,
        miter_limit=[10.0, 4.0],
    )
    assert ink_layer(drawing, "ink").count("stroke-miterlimit") == 1
    assert 'stroke-linejoin="miter" stroke-miterlimit="10"' in ink_layer(drawing, "ink")


def test_artwork_not_yet_fitted_is_refused_where_the_job_sets_a_face(bench: TrialContext) -> None:
    job = job_from_data({"canvas": {"face": "12 x 16 in"}, "marker": [OUTLINE]}, "early")
    drawing = Drawing.build([[[(-5, 10), (60, 110)]]], (100, 80), job, stroke="#1b1b3a", stroke_width=1.0)
    with pytest.raises(CannotDo, match="not on its board yet"):
        flat(drawing, bench)


def test_artwork_without_a_job_is_shown_on_its_page_with_what_is_beyond(bench: TrialContext) -> None:
    drawing = Drawing.build([[[(-5, 10), (60, 110)]]], (100, 80), Job(), stroke="#1b1b3a", stroke_width=1.0)
    told = words(flat(drawing, bench))
    assert "canvas on its" in told and any("100 × 80" in text for text in told)


def test_a_turned_panel_is_shown_as_it_lies(bench: TrialContext) -> None:
    job = job_from_data(SIX["48 x 20 in"], "turned")
    panel = Panel.of(job).turned()
    drawing = Drawing.build(
        [[[(50, 50), (100, 900)]]], panel.board, job, marker="outline", load=1, stroke="#1b1b3a", stroke_width=1.0
    )
    turned = drawing.replace(lying=OnBoard(turned=True))
    told = " ".join(words(flat(turned, bench)))
    assert "as it lies, its top to the right" in told
    assert "face 48 × 20 in" in told  # as it hangs
    as_it_hangs = drawing.replace(coords=turned.coords[:, ::-1], sheet=Panel.of(job).board, lying=OnBoard())
    assert "its top to the right" not in " ".join(words(flat(as_it_hangs, bench)))


def test_nothing_to_draw_is_said_and_shown(bench: TrialContext) -> None:
    job = job_from_data({**SIX["4 x 4 in"], "marker": [OUTLINE, ACCENT]}, "bare")
    drawing = Drawing.build([], Panel.of(job).board, job, lying=OnBoard())
    page = flat(drawing, bench)
    assert "canvas to cut" in words(page)
    assert any("nothing to draw" in line for line in bench.warnings)


def test_a_name_from_right_to_left_turns_nothing_beside_it(bench: TrialContext) -> None:
    """UAX #9: what stands between an isolate's beginning and its end does not order what is around it."""
    job = job_from_data({"canvas": {"face": "12 x 16 in"}, "marker": [{"name": "\u202egold"}]}, "\u202emoth")
    page = flat(garden_strokes(job), bench)
    told = "".join("".join(item.itertext()) for tag in ("title", "text") for item in page.iter(SVG + tag))
    assert told.count("\u202e") == told.count("\u2068\u202egold\u2069") + told.count("\u2068\u202emoth\u2069") > 2
