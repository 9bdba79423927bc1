"""The stage: it changes nothing, records the plan, hands on a palette, and draws a map that can be read and printed."""

import json
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from rendered import rendered
from test_plane import BOARD, WRAPPED, box, garden, on_board

from underdraw import CannotDo, Drawing, InputError
from underdraw.drawing.facts import Ground, OnBoard, Palette
from underdraw.drawing.paint.gradients import LinearGradient, Stop
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.sections import Job
from underdraw.job.settings import read_settings
from underdraw.page.canvas_page import MARGIN, PAGE_HEIGHT
from underdraw.page.text_width import text_width
from underdraw.plugins.parts import Result
from underdraw.testing import StageContract
from underdraw.testing.trial import TrialContext
from underdraw_stages.import_ import ImportSettings
from underdraw_stages.import_.stage import import_artwork
from underdraw_stages.paint import STAGE, PaintSettings
from underdraw_stages.paint.map.region_numbers import CAPITAL
from underdraw_stages.paint.stage import NOTHING, paint

SVG = "{http://www.w3.org/2000/svg}"


class TestPaintKeepsTheContract(StageContract):
    stage = STAGE


def painted(drawing: Drawing, bench: TrialContext, **written: object) -> Result:
    return paint(drawing, read_settings(PaintSettings, written), bench)


def map_of(result: Result) -> str:
    [file] = result.files
    assert (file.suffix, file.label) == (".svg", "paint")
    return file.data.decode()


def words(svg: str) -> str:
    return " ".join("".join(text.itertext()) for text in ElementTree.fromstring(svg).iter(f"{SVG}text"))


def test_the_record_has_a_colour_a_row_whose_areas_are_all_of_the_board(bench: TrialContext) -> None:
    figures = painted(garden(1), bench).figures
    assert json.loads(json.dumps(figures)) == figures
    on = [sum(row["on_mm2"].values()) for row in figures["colours"]] + [sum(figures["bare_mm2"].values())]
    assert sum(on) == pytest.approx(BOARD[0] * BOARD[1], abs=0.01)
    for row in figures["colours"]:
        shown = sum(row["on_mm2"][part] for part in ("face", "sides", "bleed"))
        assert row["area_mm2"] == pytest.approx(shown, abs=0.002)
        assert row["millilitres"] == pytest.approx(shown * 0.3 * 2 / 1000, abs=0.001)
    assert [row["number"] for row in figures["colours"]] == list(range(1, len(figures["colours"]) + 1))
    assert sum(row["too_narrow"] for row in figures["colours"]) == len(figures["narrow"])


def test_paint_grows_with_the_coats_and_their_thickness(bench: TrialContext) -> None:
    drawing = on_board([[box(30, 30, 60, 60)]], fill="#3d6f63")
    [row] = painted(drawing, bench, coat="0.5 mm", coats=3).figures["colours"]
    assert row["millilitres"] == pytest.approx(900 * 0.5 * 3 / 1000)


def test_the_palette_goes_on_with_the_drawing_and_nothing_else_changes(bench: TrialContext) -> None:
    drawing = garden(2)
    result = painted(drawing, bench)
    palette = result.drawing.palette
    assert isinstance(palette, Palette) and palette.file == "trial-paint.svg"
    assert sum(each.millilitres for each in palette.colours) == pytest.approx(
        sum(row["millilitres"] for row in result.figures["colours"])
    )
    assert write_drawing(result.drawing.replace(palette=None)) == write_drawing(drawing)
    assert read_drawing(write_drawing(result.drawing)).palette == palette


def test_artwork_without_fills_is_one_line_and_no_file(bench: TrialContext) -> None:
    drawing = on_board([[box(30, 30, 60, 60)]], stroke="#1b1b3a", stroke_width=0.7)
    result = painted(drawing, bench)
    assert (result.summary, result.files, result.drawing.palette) == (NOTHING, (), None)
    beyond = on_board([[box(300, 30, 360, 60)]], fill="#3d6f63")
    for hidden in (beyond, on_board([[box(30, 30, 30.05, 60)]], fill="#3d6f63")):
        result = painted(hidden, bench)
        assert (result.files, result.drawing.palette) == ((), None)
        assert result.summary == "nothing to paint: no fill shows that is wider than 0.1 mm"


def test_strokes_of_a_marker_are_refused_for_their_fills_are_gone(bench: TrialContext) -> None:
    strokes = on_board([[box(30, 30, 60, 60)]], marker="outline").replace(hides_nothing=True, ground=Ground("#123456"))
    with pytest.raises(InputError, match="^paint looks at the fills of the artwork; put it between wrap and tidy$"):
        painted(strokes, bench)


def test_an_inch_job_speaks_square_inches_and_a_metric_one_square_centimetres(bench: TrialContext) -> None:
    metric = painted(on_board([[box(30, 30, 60, 60)]], fill="#3d6f63"), bench)
    assert metric.summary.startswith("1 colour, 9.0 cm², 0.5 ml in 2 coats")
    assert "cm² ml narrowest" in words(map_of(metric)) and "sq in" not in map_of(metric)
    job = job_from_data({"canvas": {"face": "3 x 2 in", "mount": "stretched"}}, "moth")
    drawing = Drawing.build([[box(0, 0, 50.8, 25.4)]], (76.2, 50.8), job, fill="#3d6f63").replace(lying=OnBoard())
    inches = painted(drawing, bench)
    assert inches.summary.startswith("1 colour, 2.0 sq in, 0.8 ml in 2 coats")
    assert "sq in ml narrowest" in words(map_of(inches)) and "cm²" not in map_of(inches)


def test_a_stretched_canvas_has_a_face_and_nothing_else(bench: TrialContext) -> None:
    job = job_from_data({"canvas": {"face": "80 x 60 mm", "mount": "stretched"}}, "moth")
    drawing = Drawing.build([[box(0, 0, 40, 60)]], (80.0, 60.0), job, fill="#3d6f63").replace(lying=OnBoard())
    figures = painted(drawing, bench).figures
    [row] = figures["colours"]
    assert row["on_mm2"] == {"face": 2400.0, "sides": 0.0, "bleed": 0.0, "corners": 0.0}
    assert figures["bare_mm2"] == {"face": 2400.0, "sides": 0.0, "bleed": 0.0, "corners": 0.0}


def test_the_narrow_ones_are_counted_listed_and_hatched(bench: TrialContext) -> None:
    drawing = on_board([[box(30, 30, 60, 31.5)], [box(30, 40, 60, 60)]], fill=["#3d6f63", "#f4c95d"])
    result = painted(drawing, bench)
    assert result.summary.splitlines()[1] == "1 region narrower than the tool, 2 mm"
    [place] = result.figures["narrow"]
    assert place["width_mm"] == pytest.approx(1.5, abs=0.02)
    svg = map_of(result)
    assert "Narrower than 2 mm: 1 region" in words(svg) and svg.count('class="x"') == 1
    fine = painted(drawing, bench, tool="1 mm")
    assert "Narrower" not in words(map_of(fine)) and 'class="x"' not in map_of(fine)
    assert "\n" not in fine.summary


def test_the_notes_name_the_folds_of_a_panel_that_has_some(bench: TrialContext) -> None:
    folded = on_board([[box(30, 30, 60, 60)]], fill="#3d6f63")
    assert "Ticks beside the map: the folds." in words(map_of(painted(folded, bench)))
    flat = folded.replace(job=Job(), lying=None)
    svg = map_of(painted(flat, bench))
    assert "fold" not in words(svg) and "in their order" in words(svg)


@pytest.mark.parametrize(("wide", "tall"), [(1, 1), (3, 1), (1, 3)], ids=["square", "wide", "tall"])
@pytest.mark.parametrize("colours", [1, 4, 12, 30, 49, 52, 60, 90])
@pytest.mark.parametrize("bars", [1, 3, 40, 600])
def test_the_list_of_narrow_regions_has_room_on_the_page(bench: TrialContext, wide, tall, colours, bars) -> None:
    job = job_from_data({"canvas": {"face": f"{300 * wide} x {300 * tall} mm", "mount": "stretched"}}, "moth")
    row, column = np.divmod(np.arange(colours + bars), 30)
    left, top = 2 + 9.5 * column * wide, 2 + 12 * row * tall
    width = np.where(np.arange(colours + bars) < colours, 5.0, 1.2)
    shapes = [[box(x, y, x + w, y + 8)] for x, y, w in zip(left, top, width, strict=True)]
    shades = [f"#{40 + 2 * (at // 10):02x}{250 - 24 * (at % 10):02x}{24 * (at % 10):02x}" for at in range(colours)]
    fills = [*shades, *(shades[at % colours] for at in range(bars))]
    drawing = Drawing.build(shapes, (300 * wide, 300 * tall), job, fill=fills).replace(lying=OnBoard())
    result = painted(drawing, bench, alike=0)
    svg = map_of(result)
    assert len(result.figures["narrow"]) == bars
    listed = re.findall(r">(1\.2 mm;[^<]*)<", svg)
    more = re.findall(r">and ([\d,]+) more, hatched too<", svg)
    assert len(listed) >= min(bars, 3)
    assert len(listed) + sum(int(count.replace(",", "")) for count in more) == bars
    assert max(float(y) for y in re.findall(r'<text[^>]* y="([\d.]+)"', svg)) <= PAGE_HEIGHT - MARGIN


def label_boxes(svg: str) -> list[tuple[str, float, float, float, float]]:
    """Each number on the map with its box, in the widest face that a reader may have."""
    [group] = [each for each in ElementTree.fromstring(svg).iter(f"{SVG}g") if each.get("id") == "numbers"]
    boxes = []
    for text in group.iter(f"{SVG}text"):
        x, y, size = (float(text.get(name) or "nan") for name in ("x", "y", "font-size"))
        half = text_width(text.text or "", size, bold=True) / 2
        boxes.append((text.text or "", x - half, y - CAPITAL * size, x + half, y))
    return boxes


def drawn(svg: str, numbers: bool, per_mm: float = 12.0) -> np.ndarray:
    """(h, w) where resvg puts ink: the numbers alone, or all but text."""
    if numbers:
        [group] = re.findall(r'<g id="numbers".*?</g>', svg, re.DOTALL)
        svg = re.sub(r'(<g font-family="[^>]*>).*</g>\n</svg>', rf"\1{group}</g></svg>", svg, flags=re.DOTALL)
    else:
        svg = re.sub(r"<text.*?</text>", "", svg, flags=re.DOTALL)
    width = float(re.search(r'width="([\d.]+)mm"', svg)[1])  # type: ignore[index]
    return np.asarray(rendered(svg, round(width * per_mm)).min(axis=2) < 200)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_number_is_over_a_line_or_another_number(bench: TrialContext, seed: int) -> None:
    """As resvg renders it: no pixel of a number on a pixel of an outline, a leader or a hatching."""
    svg = map_of(painted(garden(seed, 90), bench))
    boxes = label_boxes(svg)
    assert len(boxes) > 30
    for at, (_, x0, y0, x1, y1) in enumerate(boxes):
        for _, a0, b0, a1, b1 in boxes[:at]:
            assert x1 < a0 or a1 < x0 or y1 < b0 or b1 < y0
    letters, lines = drawn(svg, numbers=True), drawn(svg, numbers=False)
    assert letters.sum() > 1000 and lines.sum() > 10_000
    assert not (letters & lines).any()


def test_a_number_with_room_is_in_its_region_and_one_without_has_a_leader_to_it(bench: TrialContext) -> None:
    drawing = on_board([[box(30, 30, 60, 60)], [box(80, 40, 82.5, 42.5)]], fill=["#f4c95d", "#3d6f63"])
    svg = map_of(painted(drawing, bench))
    boxes = {name: (x0, y0, x1, y1) for name, x0, y0, x1, y1 in label_boxes(svg)}
    scale = float(re.search(r"scale 1 : ([\d.]+)", svg)[1])  # type: ignore[index]
    assert set(boxes) == {"1", "2"}
    leaders = re.findall(r'class="p" d="M([\d. ]+)L([\d. ]+)"/>\n<g id="numbers"', svg)
    assert len(leaders) == 1
    (x0, y0), (x1, y1) = (map(float, point.split()) for point in leaders[0])
    small = boxes["2"]
    assert small[0] - 1 < x0 < small[2] + 1 and small[1] - 1 < y0 < small[3] + 1  # begins at the number …
    big = boxes["1"]
    middle = ((big[0] + big[2]) / 2, (big[1] + big[3]) / 2)
    assert x1 - middle[0] == pytest.approx((81.25 - 45) / scale, abs=0.5)  # … and ends in the region
    assert y1 - middle[1] == pytest.approx((41.25 - 45) / scale, abs=0.5)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_map_fits_a_page_of_a4_and_of_letter(bench: TrialContext, seed: int) -> None:
    svg = ElementTree.fromstring(map_of(painted(garden(seed, 90), bench)))
    assert svg.get("width") == "190mm" and float((svg.get("height") or "").removesuffix("mm")) <= 260


def test_hundreds_of_colours_still_fit_one_page_and_the_rest_is_counted(bench: TrialContext) -> None:
    shapes = [
        [box(20 + 4 * (at % 20), 20 + 4 * (at // 20), 23 + 4 * (at % 20), 23 + 4 * (at // 20))] for at in range(200)
    ]
    codes = np.random.default_rng(5).integers(0, 1 << 24, 200)
    drawing = on_board(shapes, fill=[f"#{code:06x}" for code in codes])
    result = painted(drawing, bench, alike=0)
    svg = map_of(result)
    assert float((ElementTree.fromstring(svg).get("height") or "").removesuffix("mm")) <= 260
    assert len(result.figures["colours"]) == 200 and "124 small colours without a row" in words(svg)


def test_at_full_size_it_is_one_to_one_on_pages_that_overlap(bench: TrialContext) -> None:
    job = job_from_data({"canvas": {**WRAPPED["canvas"], "face": "300 x 200 mm"}}, "moth")
    shapes = [[box(100, 100, 140, 130)], [box(10, 10, 300, 90)]]
    drawing = Drawing.build(shapes, (340.0, 240.0), job, fill=["#f4c95d", "#3d6f63"])
    drawing = drawing.replace(lying=OnBoard(wrapped=True))
    result = painted(drawing, bench, full_size=True)
    labels = [file.label for file in result.files]
    assert labels == [f"paint-{row}-{column}" for row in (1, 2) for column in (1, 2, 3)]
    first = result.files[0].data.decode()
    assert "scale 1 : 1, row 1 of 2, column 1 of 3" in words(first)
    [data] = re.findall(r'class="g" d="([^"]+)"', first)
    points = np.array(re.findall(r"[-\d.]+", data), dtype=float).reshape(-1, 2)
    corner = [(100.0, 100.0), (140.0, 100.0), (100.0, 130.0), (140.0, 130.0)]
    for x, y in corner:
        assert np.isclose(points, (x, y), atol=0.01).all(axis=1).any()
    seen = [name for file in result.files for name, *_ in label_boxes(file.data.decode())]
    assert {"1", "2"} <= set(seen)


def test_a_map_at_full_size_of_hundreds_of_pages_is_refused(bench: TrialContext) -> None:
    job = job_from_data({"canvas": {"face": "9000 x 9000 mm", "mount": "stretched"}}, "moth")
    drawing = Drawing.build([[box(0, 0, 500, 500)]], (9000.0, 9000.0), job, fill="#3d6f63").replace(lying=OnBoard())
    with pytest.raises(CannotDo, match=r"takes [\d,]+ pages, expected at most 400\n  try: paint --no-full-size"):
        painted(drawing, bench, full_size=True)


def test_a_job_cannot_put_markup_on_the_map(bench: TrialContext) -> None:
    drawing = on_board([[box(30, 30, 60, 60)]], fill="#3d6f63")
    named = drawing.replace(job=job_from_data(WRAPPED, "<script>alert(1)</script>"))
    assert "<script" not in map_of(painted(named, bench))


def test_the_same_drawing_gives_the_same_bytes(bench: TrialContext) -> None:
    assert map_of(painted(garden(3), bench)) == map_of(painted(garden(3), bench))


def test_a_pattern_of_the_artwork_is_an_entry_of_its_own(bench: TrialContext, tmp_path: Path) -> None:
    """From the file on: import reads that it is a pattern, the wire carries it, the plan names it."""
    artwork = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        '<pattern id="scales" width="4" height="4" patternUnits="userSpaceOnUse">'
        '<circle cx="2" cy="2" r="1" fill="#6f5a95"/></pattern>'
        '<path d="M5 5H25V25H5Z" fill="url(#scales)"/><path d="M30 5H50V25H30Z" fill="#6f5a95"/></svg>'
    )
    (tmp_path / "wing.svg").write_text(artwork)
    settings = read_settings(ImportSettings, {"file": str(tmp_path / "wing.svg")})
    read = import_artwork(None, settings, bench).drawing
    there = read_drawing(write_drawing(read.replace(lying=OnBoard())))
    assert there.fill_pattern.tolist() == [True, False]
    rows = painted(there, bench).figures["colours"]
    assert {row["colour"]: round(row["area_mm2"]) for row in rows} == {"pattern, #6f5a95": 400, "#6f5a95": 400}


def wing(*stops: Stop, **columns: object) -> Drawing:
    """A square of 40 mm on the face, painted with a gradient from left to right."""
    gradient = np.array([LinearGradient(stops, (40.0, 0.0, 0.0, 40.0, 30.0, 30.0))], dtype=object)
    return on_board([[box(30, 30, 70, 70)]], fill="#6f5a95", fill_gradient=gradient, **columns)


def colours_of(result: Result) -> dict[str, float]:
    return {row["colour"]: round(row["area_mm2"], 3) for row in result.figures["colours"]}


def test_between_hard_stops_each_band_is_an_entry_and_only_one_that_fades_is_a_gradient(bench: TrialContext) -> None:
    night = (Stop(0.25, "#101840"), Stop(0.25, "#5d6aab"), Stop(0.75, "#f4ead8"), Stop(0.75, "#3d6f63"))
    result = painted(wing(*night), bench)
    assert colours_of(result) == {
        "linear gradient #5d6aab #f4ead8": 800.0,
        "#3d6f63": 400.0,
        "#101840": 400.0,
    }
    shown = words(map_of(result))
    assert "gradient" in shown and "linear" not in shown and "#3d6f63" in shown  # the swatch shows what it fades from


def test_a_fade_narrower_than_the_tool_is_painted_as_an_edge(bench: TrialContext) -> None:
    fade = (Stop(0.475, "#101840"), Stop(0.5, "#f4ead8"))  # 1 mm wide
    assert colours_of(painted(wing(*fade), bench)) == {"#f4ead8": 820.0, "#101840": 780.0}
    assert list(colours_of(painted(wing(*fade), bench, tool="0.9 mm"))) == ["linear gradient #101840 #f4ead8"]
    assert painted(wing(*fade), bench).drawing.fill_gradient[0].stops == fade  # who comes after has it as it was


def test_a_band_that_is_clear_shows_the_canvas(bench: TrialContext) -> None:
    result = painted(wing(Stop(0.5, "#101840"), Stop(0.5, "#101840", 0.0)), bench)
    assert colours_of(result) == {"#101840": 800.0}
    assert sum(result.figures["bare_mm2"].values()) == pytest.approx(BOARD[0] * BOARD[1] - 800, abs=0.01)


def test_a_page_in_bands_is_cut_along_its_horizon(bench: TrialContext) -> None:
    dusk = LinearGradient((Stop(0.6, "#101840"), Stop(0.6, "#3d6f63")), (0.0, 100.0, 100.0, 0.0, 0.0, 0.0))
    page = on_board([[box(0, 0, *BOARD)]], fill="#101840", fill_gradient=np.array([dusk], dtype=object))
    on_sky = sum(painted(page, bench).figures["colours"][1]["on_mm2"].values())
    assert on_sky == pytest.approx(0.6 * BOARD[0] * BOARD[1], abs=0.01)


def test_a_band_over_a_fade_and_a_fade_over_a_colour_are_mixed_as_they_are_seen(bench: TrialContext) -> None:
    """Source-over of Porter and Duff (1984), at the stops: half black over a fade, and a fade to half over blue."""
    bands = (Stop(0.5, "#000000", 0.5), Stop(0.5, "#ffffff"))
    fade = (Stop(0, "#ff0000"), Stop(1, "#ffffff"))
    across = (40.0, 0.0, 0.0, 40.0, 30.0, 30.0)
    gradients = np.array([LinearGradient(fade, across), LinearGradient(bands, across)], dtype=object)
    square = [box(30, 30, 70, 70)]
    found = colours_of(painted(on_board([square, square], fill="#ff0000", fill_gradient=gradients), bench))
    assert found == {"linear gradient #800000 #808080": 800.0, "#ffffff": 800.0}
    thin = np.array([None, LinearGradient((Stop(0, "#ff0000"), Stop(1, "#ff0000", 0.5)), across)], dtype=object)
    found = colours_of(painted(on_board([square, square], fill="#0000ff", fill_gradient=thin), bench))
    assert found == {"linear gradient #ff0000 #800080": 1600.0}
