"""The sheet tells the shop everything once, in words that agree with the drawing, the panel and the program."""

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest
from garden_panels import ACCENT, OUTLINE, SIX, garden_strokes, panel_drawing
from in_browser import CHROMIUM, WHY_NOT, evaluate, printed_pages
from lxml import html

from underdraw import CannotDo, Drawing, InputError, Panel
from underdraw.drawing.facts import Motion, OnBoard, Palette, PaletteColour, Reading
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.machine.clock import Schedule, drawing_speed
from underdraw.machine.loads import loads_of
from underdraw.panel import Lying
from underdraw.testing.trial import TrialContext
from underdraw.words.quantities import clock, speed
from underdraw.words.units import unit_of
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode
from underdraw_stages.sheet import SheetSettings
from underdraw_stages.sheet.contents import Facts
from underdraw_stages.sheet.fading import Share, shares
from underdraw_stages.sheet.prices import VOLUME_UNITS, Price
from underdraw_stages.sheet.stage import sheet

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason=WHY_NOT)


def page(drawing: Drawing, bench: TrialContext, **written: object) -> str:
    """The sheet's HTML."""
    result = sheet(drawing, read_settings(SheetSettings, written), bench)
    assert result.drawing is drawing
    [file] = result.files
    assert (file.suffix, file.label) == (".html", "sheet")
    return file.data.decode()


def words(text: str) -> str:
    """What a reader reads, on one line."""
    root = html.fromstring(text)
    for style in root.iter("style"):
        style.drop_tree()
    return " ".join(unescape(" ".join(root.itertext())).split())


def test_the_cutting_list_has_every_size_in_both_units(bench: TrialContext) -> None:
    told = words(page(panel_drawing("16 x 20 in, 2 1/2 in deep"), bench))
    # Common practice, no source: that panel's image is 22 x 26 in and its canvas 24 x 28 in, 1.5 in behind the frame.
    assert "canvas image and 1 in (25.4 mm) staple strip all round 24 × 28 in (609.6 × 711.2 mm)" in told
    assert "22 × 26 in (558.8 × 660.4 mm)" in told
    assert "behind the frame: bleed + staple strip 1 1/2 in (38.1 mm)" in told
    assert "1.79 times the face" in told  # 1.7875


def test_bars_are_listed_from_the_stock_that_the_job_names(bench: TrialContext) -> None:
    told = words(page(panel_drawing("12 x 16 in"), bench, bar="3/4 x 1 1/2 in", corners="butt"))
    assert "2 × long bar, running through 3/4 in thick, 1 1/2 in high 16 in (406.4 mm)" in told
    assert "2 × short bar, between them 3/4 in thick, 1 1/2 in high 10 1/2 in (266.7 mm)" in told
    mitred = words(page(panel_drawing("12 x 16 in"), bench, bar="3/4 x 2 in", corners="mitred"))
    assert "45° ends, 14 1/2 in inside; rip the bars from 2 in to 1.5 in 16 in (406.4 mm)" in mitred
    with pytest.raises(CannotDo, match="bars at least"):
        page(panel_drawing("12 x 16 in"), bench, bar="3/4 x 1 in")


def test_loads_are_listed_one_by_one_with_their_strokes_and_times(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in", loads=3)
    text = page(drawing, bench)
    schedule = Schedule.of(drawing, bench.registry)
    loads = loads_of(drawing, bench.registry, schedule)
    assert len(loads) == 12 and sum(load.strokes for load in loads) == len(drawing)
    assert sum(load.seconds for load in loads) == pytest.approx(schedule.total)
    assert sum(load.drawn_mm for load in loads) == pytest.approx(drawing.drawn_mm)
    registry, job = bench.registry, drawing.job
    speeds = {load.marker.name: speed(drawing_speed(job, load.marker.name, registry), unit_of(job)) for load in loads}
    rows = [" ".join(" ".join(row.itertext()).split()) for row in html.fromstring(text).iter("tr")]
    for load in loads:
        row = next(row for row in rows if f"{load.first:,}–{load.last:,} (" in row)
        assert row.startswith(
            f"{load.marker.name} {load.ink.name} {load.marker.tip:g} mm {speeds[load.marker.name]} "
            f"{load.marker.looks} {load.number} "
        )
        assert clock(load.start) in row
    told = words(text)
    assert told.count("swap: ") == len(loads) - 1


def test_each_ink_is_sealed_or_not_before_a_coat(bench: TrialContext) -> None:
    # Common practice, no source: permanent and oil-paint lines run under resin unless sealed; acrylic-paint do not.
    told = words(page(panel_drawing("12 x 16 in"), bench))
    assert "permanent: seal before a resin coat" in told and "oil-paint: seal before a resin coat" in told
    assert "acrylic-paint: need not be sealed" in told


def test_resin_is_worked_out_for_the_area_that_is_coated(bench: TrialContext) -> None:
    told = words(page(panel_drawing("12 x 16 in"), bench, resin="1/8 in"))
    # 12 x 16 x 1/8 in³ on the face, with 56 in of side 1.5 in high as well; 1 in³ = 16.387064 ml.
    assert f"{12 * 16 / 8 * 16.387064:.0f} ml" in told
    assert f"{(12 * 16 + 56 * 1.5) / 8 * 16.387064:.0f} ml" in told


def test_rules_of_thumb_are_marked_and_the_mark_is_explained(bench: TrialContext) -> None:
    text = page(panel_drawing("12 x 16 in"), bench)
    told = words(text)
    assert "† Rule of thumb: common practice, no source" in told
    for item in html.fromstring(text).iter("li"):
        line = " ".join("".join(item.itertext()).split())
        if re.search(r"seal|hours|about a day|hold little|Tape would|At least 1 in|1 in at least is", line):
            assert "†" in line or "safety data" in line, line


def test_steps_say_where_zero_is_and_how_high_the_marker_goes(bench: TrialContext) -> None:
    told = words(page(panel_drawing("48 x 20 in"), bench))
    assert "Zero X and Y with the tip over the face’s lower left corner" in told
    pinned = words(page(panel_drawing("16 x 20 in, 2 1/2 in deep"), bench))
    assert "index pins at 1/2 × 1/2 in and 21 1/2 × 1/2 in from its lower left corner" in pinned
    assert "lift 5 mm, press 1.5 mm" in pinned
    assert "Spindle off, and unplugged or locked out" in pinned
    offset = words(page(panel_drawing("deep square"), bench))
    assert "offset 40 × -25 mm from the axis" in offset
    assert "Zero X and Y with the tip over the" in offset
    drawing = panel_drawing("deep square")
    job = replace(drawing.job, holder=replace(drawing.job.holder, zero_with="axis"))
    by_axis = words(page(drawing.replace(job=job), bench))
    assert "Zero X and Y with the spindle’s axis, not the tip, over the" in by_axis  # the program takes the offset off


def test_hops_and_a_folded_strip_are_in_the_steps(bench: TrialContext) -> None:
    drawing = panel_drawing("16 x 20 in, 2 1/2 in deep")
    assert "Staple the canvas to the edge of the board, 1 in over on each side" in words(page(drawing, bench))
    job = drawing.job.with_canvas(strip="down")
    job = replace(job, holder=replace(job.holder, hop=2.0, hop_within=1000.0))
    told = words(page(drawing.replace(job=job), bench))
    assert "Fold the staple strip of 1 in down on each side, and staple it to the edge of the board" in told
    assert "lift 5 mm (2 mm to strokes within 1000 mm: saves about" in told


def test_a_marker_that_presses_or_waits_in_its_own_way_is_told(bench: TrialContext) -> None:
    pens = [OUTLINE, {**ACCENT, "press": "0.5 mm", "settle": "0.3 s"}]
    told = words(page(garden_strokes(job_from_data({**SIX["4 x 4 in"], "marker": pens}, "pens")), bench))
    assert "“accent”: press 0.5 mm, waits 0.3 s with the tip down." in told
    assert "“outline”: press" not in told
    shared = [OUTLINE, {**ACCENT, "press": "0.5 mm", "body": "outline"}]
    told = words(page(garden_strokes(job_from_data({**SIX["4 x 4 in"], "marker": shared}, "pens")), bench))
    assert "“accent”: press 0.5 mm." in told


def test_heights_are_in_the_unit_that_they_are_written_in(bench: TrialContext) -> None:
    holder = {"lift": "1/4 in", "hop": "1/8 in", "hop_within": "40 in", "press": "1.2 mm", "swap_lift": "50 mm"}
    data = {**SIX["4 x 4 in"], "marker": [OUTLINE, ACCENT], "holder": holder}
    told = words(page(garden_strokes(job_from_data(data, "pens")), bench))
    assert "lift 1/4 in (1/8 in to strokes within 40 in: saves about" in told
    assert "swaps at 50 mm, press 1.2 mm" in told


def test_the_first_stroke_may_lie_beside_the_canvas(bench: TrialContext) -> None:
    drawing = panel_drawing("stretched 8 x 8 in")
    coords = drawing.coords.copy()
    coords[0] = (-50.8, 25.4)
    assert "the first stroke, 2 × 1 in left and down from the canvas’s upper left" in words(
        page(drawing.replace(coords=coords), bench)
    )


def test_areas_begin_with_the_unit_of_the_job(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in")
    assert re.search(r"Paint [\d.]+ sq ft \([\d.]+ m²\), ", words(page(drawing, bench)))
    metric = replace(drawing.job, data={**drawing.job.data, "canvas": {"face": "305 x 406 mm"}})
    assert re.search(r"Paint [\d.]+ m² \([\d.]+ sq ft\), ", words(page(drawing.replace(job=metric), bench)))


def test_a_stretched_canvas_is_supported_not_stapled(bench: TrialContext) -> None:
    told = words(page(panel_drawing("stretched 8 x 8 in"), bench))
    assert "support under the canvas" in told and "gives under the tip" in told
    assert "Staple the canvas" not in told and "bleed" not in told
    assert "Zero X and Y with the tip over the canvas’s lower left corner" in told
    assert "board’s" not in told and "the board" not in told

    assert "Folds are solid" not in told and "The red ring is zero." in told


def test_a_canvas_that_gives_more_one_way_has_its_folds_where_they_are_drawn_each_way(bench: TrialContext) -> None:
    """40 + 12 mm at 4 % across: 50 on the flat canvas; none down: 52."""
    canvas = {"face": "312 x 300 mm", "depth": "40 mm", "bleed": "12 mm", "staple": "25 mm"}
    even = garden_strokes(job_from_data({"canvas": canvas, "marker": [OUTLINE]}, "moths"))
    told = words(page(even, bench))
    assert "they are 52 mm inside the image’s edge and 77 mm from the canvas’s cut edge." in told
    assert "image = face + 2 × (depth + bleed) 416 × 404 mm" in told and "from image edge to fold 52 mm (" in told
    assert "25.4 mm at least is usual there.†" in told
    data = {"canvas": {**canvas, "stretch": "4 % x 0 %"}, "marker": [OUTLINE]}
    told = words(page(garden_strokes(job_from_data(data, "moths")), bench))
    assert (
        "they are 50 mm inside the image’s left and right edges and 52 mm inside the other two, 75 mm and 77 mm from "
        "the canvas’s cut edges."
    ) in told
    assert "image = face + 2 × (depth + bleed), less the stretch 400 × 404 mm" in told
    assert re.search(r"from image edge to fold 50 mm \([^)]*\) left and right, 52 mm \([^)]*\) top and bottom", told)


@pytest.mark.parametrize("motion", [None, Motion(0.5, (1.0, -2.0))])
def test_after_a_fade_a_board_that_was_measured_is_not_zeroed_over_its_corner(bench: TrialContext, motion) -> None:
    drawing = panel_drawing("12 x 16 in")
    assert drawing.lying is not None
    told = words(page(drawing.replace(lying=replace(drawing.lying, motion=motion)), bench))
    assert ("Zero Z again, and X and Y too if the power was off." in told) is (motion is None)
    assert ("set it as at the beginning, then measure the marks again" in told) is (motion is not None)


def test_a_panel_that_lies_a_quarter_round_says_where_its_top_is(bench: TrialContext) -> None:
    drawing = panel_drawing("48 x 20 in")
    assert "picture’s top" not in words(page(drawing, bench))
    turned = drawing.replace(coords=drawing.coords[:, ::-1], sheet=drawing.sheet[::-1], lying=OnBoard(turned=True))
    told = words(page(turned, bench))
    assert "The panel is turned 90° clockwise on the bed" in told
    side = next(side for side in ("left", "right") if Lying.of(turned, bench.registry).hung_side(side) == "top")
    assert f"the picture’s top is to the {side}" in told


def test_a_lift_for_swaps_and_the_tip_that_zero_is_set_with_are_named(bench: TrialContext) -> None:
    drawing = panel_drawing("4 x 4 in")
    job = replace(drawing.job, holder=replace(drawing.job.holder, lift=5.0, swap_lift=40.0))
    assert "lift 5 mm, swaps at 40 mm," in words(page(drawing.replace(job=job), bench))
    pens = [OUTLINE, {**ACCENT, "offset": "1 x 2 mm"}]
    told = words(page(garden_strokes(job_from_data({**SIX["4 x 4 in"], "marker": pens}, "pens")), bench))
    assert "Zero X and Y with the tip of “outline” over" in told
    assert "Zero Z again, and if the power was off X and Y too, with the tip of “outline” over the" in told


def test_a_rehearsal_of_a_board_that_was_measured_waits_over_its_marks(bench: TrialContext) -> None:
    drawing = panel_drawing("4 x 4 in")
    assert drawing.lying is not None
    for measured in ((), ((10.0, 20.0), (100.0, 90.0))):
        lying = replace(drawing.lying, measured=measured, motion=Motion(0.0, (0.0, 0.0)) if measured else None)
        made = gcode(drawing.replace(lying=lying), read_settings(GcodeSettings, {"rehearse": True}), bench).drawing
        told = words(page(made, bench))
        assert "goes round with the marker lifted" in told
        assert ("waits over each mark that was measured" in told) is bool(measured)


def test_clamps_and_the_scrap_for_priming_have_their_places_on_the_sheet(bench: TrialContext) -> None:
    plain = words(page(panel_drawing("stretched 8 x 8 in"), bench))
    assert "clamps stand there alone" not in plain and "run the marker in" not in plain
    box = {"name": "left clamp", "at": "-1 x 3 in", "size": "1 x 2 in", "height": "30 mm"}
    pens = [{**OUTLINE, "prime": "4 in"}, ACCENT]
    machine = {"bed": "24 x 24 in", "keep_out": [box], "prime_at": "-3 x 1 in"}
    data = {**SIX["stretched 8 x 8 in"], "marker": pens, "machine": machine}
    told = words(page(garden_strokes(job_from_data(data, "moths")), bench))
    assert (
        "clamps stand there alone: “left clamp”, 1 × 2 in from -1 × 3 in on, lower than 30 mm above the canvas (right "
        "and up from the canvas’s lower left corner)."
    ) in told
    assert re.search(r"Lay a scrap of 2.37 × 1.58 in beside the canvas .* 3 × 1 in left and up from the canvas’s", told)
    assert "to run the marker in: “outline” 4 in." in told
    # The scrap begins 3 in left of the canvas: there, too, the tip must get.
    assert "Its lower left corner lies at least 3 in to the right of the travel’s near left end and 0 in away" in told
    near = {**data, "machine": {"bed": "24 x 24 in", "park": "0 x -2 in"}, "marker": [OUTLINE, ACCENT]}
    drawing = garden_strokes(job_from_data(near, "moths"))
    assert "at least 0 in to the right of the travel’s near left end and 2 in away from you" in words(
        page(drawing, bench)
    )
    lying = Lying.of(drawing, bench.registry)
    assert lying.corner_on_bed(0) == pytest.approx((0.0, 50.8))
    assert "lies at least" not in plain
    wrapped = {**SIX["12 x 16 in"], "marker": pens}
    told = words(page(garden_strokes(job_from_data(wrapped, "moths")), bench))
    assert "drawn in a corner square, which folds away, to run the marker in: “outline” 4 in." in told


def test_a_caution_names_the_inks_that_fade_and_no_others(bench: TrialContext) -> None:
    told = words(page(panel_drawing("12 x 16 in"), bench))
    inks = [bench.registry.ink(name) for name in ("oil-paint", "acrylic-paint", "permanent", "pencil")]
    named = told.split("Markers of ")[1].split(" hold little ink")[0].split(", ")
    assert set(named) == {ink.name for ink in inks if ink.fades_soon} and 0 < len(named) < 4


def test_each_load_wants_a_marker_that_is_counted_and_paid_for(bench: TrialContext) -> None:
    told = words(page(panel_drawing("12 x 16 in", loads=3), bench, marker_price="4 EUR"))
    assert "Markers 12 " in told and "48.00 EUR" in told


def test_what_was_found_in_other_strokes_is_not_repeated(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in")
    for digest, repeated in ((drawing.digest, True), ("0" * 16, False)):
        read = drawing.replace(reading=Reading(3, 10.0, 0, 0, "moth-inspect.svg", digest))
        assert ("What will not read" in words(page(read, bench))) is repeated


def test_bars_are_as_long_as_their_sides_and_what_is_cut_is_never_too_small(bench: TrialContext) -> None:
    told = words(page(panel_drawing("12 x 16 in"), bench))
    assert "2 × frame bars, upright outside, if mitred; 1 1/2 in (38.1 mm) deep 16 in (406.4 mm)" in told
    assert "2 × frame bars, lying outside, if mitred; 1 1/2 in (38.1 mm) deep 12 in (304.8 mm)" in told
    assert "they are 2 in inside the image’s edge and 3 in from the canvas’s cut edge" in told
    canvas = {"face": "300.004 x 400.004 mm", "bleed": "10 mm", "depth": "40 mm"}
    told = words(page(garden_strokes(job_from_data({"canvas": canvas, "marker": [OUTLINE]}, "moths")), bench))
    assert "it does not lift the board† 400.01 × 500.01 mm" in told


def test_a_quart_is_a_quarter_of_a_gallon() -> None:
    """NIST Handbook 44, appendix C: a US gallon is 231 cubic inches, 3785.411784 ml, and four quarts."""
    assert Price.kind(VOLUME_UNITS).read("1 USD/qt").of(3785411.784) == pytest.approx(4.0)


def test_an_ink_that_wants_a_spring_is_warned_about_in_a_rigid_holder(bench: TrialContext) -> None:
    data = {**SIX["12 x 16 in"], "holder": {"use": "clamp"}}
    told = words(page(garden_strokes(job_from_data(data, "rigid")), bench))
    assert "permanent wants a sprung holder, and “clamp” is rigid" in told
    assert "oil-paint wants" not in told


def with_palette(drawing: Drawing, count: int) -> Drawing:
    """The drawing after its painting was planned: colours of 100, 200 … mm², 0.06 ml a hundred."""
    colours = tuple(
        PaletteColour(n, f"#0000{n:02x}", (f"#0000{n:02x}",), 100.0 * n, 0.06 * n) for n in range(1, count + 1)
    )
    return drawing.replace(palette=Palette(colours, 0.3, 2, 2.0, 3, "moth-paint.svg"))


def paint_rows_of(text: str) -> list[str]:
    rows = html.fromstring(text).xpath("//div[@class='paints']//tr[td]")
    return [" ".join(" ".join(row.itertext()).split()) for row in rows]


def test_the_palette_is_on_the_sheet_and_the_time_to_paint_comes_from_its_areas(bench: TrialContext) -> None:
    text = page(with_palette(panel_drawing("12 x 16 in"), 3), bench)
    assert paint_rows_of(text) == [
        "1 #000001 0.2 sq in 0.1 ml",
        "2 #000002 0.3 sq in 0.1 ml",
        "3 #000003 0.5 sq in 0.2 ml",
    ]
    shown = words(text)
    assert "in 3 colours by the map “moth-paint.svg”: some 0.5 hours.† Before you begin, look at the 3 regions" in shown
    assert "2 coats of 0.3 mm, wet;†" in shown
    # Common practice, no source: an image of 22 x 26 in takes some eight hours.
    whole = PaletteColour(1, "#000001", ("#000001",), 22 * 26 * 25.4**2, 221.0)
    planned = panel_drawing("12 x 16 in").replace(palette=Palette((whole,), 0.3, 2, 2.0, 0, "moth-paint.svg"))
    assert "in 1 colour by the map “moth-paint.svg”: some 8 hours.†" in words(page(planned, bench))
    assert "Colours to paint" not in words(page(panel_drawing("12 x 16 in"), bench))


def test_of_many_colours_those_that_take_most_paint_have_a_row_and_the_rest_are_counted(bench: TrialContext) -> None:
    ten = paint_rows_of(page(with_palette(panel_drawing("12 x 16 in"), 10), bench))
    assert [row.split()[0] for row in ten] == [str(n) for n in range(1, 11)]
    rows = paint_rows_of(page(with_palette(panel_drawing("12 x 16 in"), 30), bench))
    assert [row.split()[0] for row in rows[:-1]] == [str(n) for n in range(22, 31)]
    assert rows[-1] == f"21 more, on the map {100 * 231 / 25.4**2:.1f} sq in {0.06 * 231:.1f} ml"


def test_paint_costs_what_its_price_and_the_palette_make(bench: TrialContext) -> None:
    drawing = with_palette(panel_drawing("12 x 16 in"), 30)
    shown = words(page(drawing, bench, **{"paint-price": "40 EUR/l"}))
    assert f"27.9 ml (0.9 US fl oz) 40 EUR/l {40 * 0.06 * 465 / 1000:.2f} EUR" in shown
    assert "What it costs" not in words(page(panel_drawing("12 x 16 in"), bench, **{"paint-price": "40 EUR/l"}))


def test_it_costs_what_the_prices_make(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in", loads=1)
    prices = {"canvas-price": "20 EUR/m2", "marker-price": "4.50 EUR", "resin-price": "25 EUR/l"}
    told = words(page(drawing, bench, **prices))
    canvas = 20 * (18 * 22) * 25.4**2 / 1e6
    resin = 25 * (12 * 16 + 56 * 1.5) / 8 * 16.387064 / 1000
    assert f"20 EUR/m2 {canvas:.2f} EUR" in told
    assert "4 4.50 EUR 18.00 EUR" in told
    assert f"together {canvas + 18 + resin:.2f} EUR" in told
    assert "What it costs" not in words(page(drawing, bench))


@pytest.mark.parametrize("text", ["18", "18 EUR/l", "EUR", "18 EUR/acre", "cheap", "18 EUR EUR/m2", ""])
def test_what_is_no_price_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(InputError, match=r"^canvas-price: expected a price such as 18 EUR/m2, got"):
        read_settings(SheetSettings, {"canvas-price": text})


def test_signs_before_and_after_the_amount_are_read() -> None:
    for text in ("$9.50/ft2", "9.50 USD/ft2", "9.50USD / ft²"):
        price = read_settings(SheetSettings, {"canvas-price": text}).canvas_price
        assert price.of((12 * 25.4) ** 2) == pytest.approx(9.5)


def test_the_cautions_are_there(bench: TrialContext) -> None:
    told = words(page(panel_drawing("4 x 4 in"), bench))
    for caution in (
        "locked out",
        "hands",
        "stay with it",
        "safety data sheets",
        "fresh air",
        "gloves",
        "dust mask",
        "local rules",
    ):
        assert caution in told, caution


def test_cautions_come_before_anything_is_cut_or_started(bench: TrialContext) -> None:
    told = words(page(panel_drawing("12 x 16 in"), bench))
    assert told.index("Take care") < told.index("To cut and to have") < told.index("At the machine")


@pytest.mark.parametrize("name", ["4 x 4 in", "12 x 16 in", "48 x 20 in"])
def test_the_parts_of_the_job_hold_every_stroke_once_and_begin_when_their_first_is_drawn(
    bench: TrialContext, name: str
) -> None:
    drawing = panel_drawing(name)
    facts = Facts.of(drawing, bench)
    parts = shares(facts)
    assert [part.first for part in parts] == [1, *(part.last + 1 for part in parts[:-1])]
    assert parts[-1].last == len(drawing) and 1 < len(parts) <= 12
    assert [part.start for part in parts] == [facts.schedule.touch[part.first - 1] for part in parts]
    captions = [caption.text for caption in html.fromstring(page(drawing, bench)).iter("figcaption")]
    assert captions == [part.caption for part in parts]


def test_a_job_of_few_strokes_has_few_parts(bench: TrialContext) -> None:
    drawing = panel_drawing("4 x 4 in")
    few = drawing.select(np.arange(3))
    parts = shares(Facts.of(few, bench))
    assert parts[0].first == 1 and parts[-1].last == 3 and len(parts) in (2, 3)


def test_a_share_is_captioned_with_its_strokes_and_its_time() -> None:
    assert Share(1, 66, 2.4).caption == "1–66, 0:02" and Share(1_204, 1_204, 61.0).caption == "1,204, 1:01"


def test_zero_at_the_face_is_where_two_folds_cross(bench: TrialContext) -> None:
    for zero, folds in (("face", True), ("board", False)):
        data = {**SIX["4 x 4 in"], "machine": {"zero": zero}}
        told = words(page(garden_strokes(job_from_data(data, "moths")), bench))
        assert ("where the left and the lower fold cross" in told) is folds


def test_zero_is_marked_where_the_program_has_it(bench: TrialContext) -> None:
    drawing = panel_drawing("16 x 20 in, 2 1/2 in deep")
    x, y = Facts.of(drawing, bench).lying.zero_on_board
    marks = list(html.fromstring(page(drawing, bench)).iter("circle"))
    assert len(marks) == 2  # in the picture, and on the plan of the bed
    for mark in marks:
        assert (float(mark.get("cx")), float(mark.get("cy"))) == pytest.approx((x, y), abs=1e-3)


def test_the_bed_is_shown_with_the_canvas_where_the_tip_reaches_it(bench: TrialContext) -> None:
    """A tip 100 mm right of the axis reaches the bed from 100 mm on: the corner of the board is there."""
    job = job_from_data({"canvas": SIX["4 x 4 in"]["canvas"], "machine": {"bed": "600 x 1200 mm"}}, "plan")
    beside = job_from_data({**job.data, "holder": {"offset": "100 x 0 mm"}}, "plan")
    strip, image = Panel.of(job).staple, Panel.of(job).image
    for asked, left in ((job, strip), (beside, 100.0)):
        [plan] = html.fromstring(page(garden_strokes(asked), bench)).find_class("plan")
        x, y = map(float, re.findall(r"[-\d.]+", plan.find(".//g").get("transform")))
        assert (x, y) == pytest.approx((left, 1200.0 - strip - image[1]), abs=0.01)
    without = job_from_data({"canvas": SIX["4 x 4 in"]["canvas"]}, "plan")
    assert not html.fromstring(page(garden_strokes(without), bench)).find_class("plan")


def test_a_job_cannot_put_markup_on_the_sheet(bench: TrialContext) -> None:
    data = {**SIX["4 x 4 in"], "name": "<script>alert(1)</script>", "marker": [{**OUTLINE, "name": "<img src=x>"}]}
    text = page(garden_strokes(job_from_data(data, "x")), bench)
    root = html.fromstring(text)
    assert not list(root.iter("script", "img", "link", "iframe"))
    assert "<script>alert(1)</script>" in words(text)


def test_a_drawing_that_is_not_of_strokes_is_told_what_it_lacks(bench: TrialContext) -> None:
    drawing = panel_drawing("4 x 4 in").replace(fill="#ffffff")
    with pytest.raises(InputError, match="put `tidy` and `order` before it"):
        page(drawing, bench)


def test_nothing_to_draw_still_makes_a_sheet(bench: TrialContext) -> None:
    job = job_from_data({**SIX["4 x 4 in"], "marker": [OUTLINE, ACCENT]}, "bare")
    assert "To cut and to have" in words(page(Drawing.build([], Panel.of(job).board, job, lying=OnBoard()), bench))


@needs_browser
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_it_prints_on_both_sides_of_one_leaf(bench: TrialContext, tmp_path: Path, paper: str) -> None:
    for name in ("4 x 4 in", "12 x 16 in", "48 x 20 in"):
        prices = {"canvas-price": "20 EUR/m2", "marker-price": "4.50 EUR", "resin-price": "25 EUR/l"}
        prices["paint-price"] = "40 EUR/l"
        text = page(with_palette(panel_drawing(name, loads=2), 30), bench, bar="3/4 x 2 in", **prices)
        target = tmp_path / f"{name.replace(' ', '-')}.html"
        target.write_text(text.replace("@page {", f"@page {{ size: {paper};"), encoding="utf-8")
        assert printed_pages(target, tmp_path) == 2, name


WIDER = """
return [...document.querySelectorAll('body *')]
  .filter(element => !element.closest('svg') && !element.closest('.wide'))
  .filter(element => element.getBoundingClientRect().right > innerWidth + 1)
  .map(element => element.tagName + ' ' + element.textContent.slice(0, 40));
"""


@needs_browser
def test_on_a_phone_nothing_runs_off_the_screen(bench: TrialContext, tmp_path: Path) -> None:
    text = page(panel_drawing("12 x 16 in"), bench, bar="3/4 x 2 in")
    body = re.search(r"<style>.*?</style>", text, re.DOTALL)[0] + re.search(r"<body>(.*)</body>", text, re.DOTALL)[1]
    assert (
        evaluate(f'<meta name="viewport" content="width=device-width">{body}', WIDER, tmp_path, "--window-size=500,900")
        == []
    )


def test_a_name_from_right_to_left_turns_nothing_beside_it(bench: TrialContext) -> None:
    """UAX #9: what stands between an isolate's beginning and its end does not order what is around it."""
    job = job_from_data({"canvas": {"face": "12 x 16 in"}, "marker": [{"name": "\u202egold"}]}, "\u202emoth")
    told = page(garden_strokes(job), bench)
    assert told.count("\u202e") == told.count("\u2068\u202egold\u2069") + told.count("\u2068\u202emoth\u2069") > 2
