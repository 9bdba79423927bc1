"""The stage: it changes nothing, records its spots, shows them ringed and numbered, and says what would help."""

import re

import numpy as np
import pytest
from constructs import loop, pair
from garden_panels import panel_drawing
from lxml import etree
from rendered import rendered

from underdraw import Drawing, InputError
from underdraw.drawing.facts import Artwork, OnBoard
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.settings import SettingError, read_settings
from underdraw.testing import StageContract
from underdraw.testing.trial import TrialContext
from underdraw_stages.inspect import STAGE, InspectSettings
from underdraw_stages.inspect.found.artwork_shown import ArtworkShown
from underdraw_stages.inspect.stage import inspect
from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.stage import tidy

INK, AMBER = "#1b1b3a", "#d9793a"
ALARM = "#b3123a"
SVG = "{http://www.w3.org/2000/svg}"


class TestInspectKeepsTheContract(StageContract):
    stage = STAGE
    huge = 8_000


def drawn(*lines: object, tip: float = 1.0, artwork: Artwork | None = None) -> Drawing:
    """Strokes in mm on a stretched canvas of 120 x 160 mm."""
    job = job_from_data(
        {
            "canvas": {"face": "120 x 160 mm", "mount": "stretched"},
            "marker": [{"name": "vine", "tip": f"{tip} mm", "colour": INK}],
        },
        "moonflower",
    )
    return Drawing.build(
        [[np.add(line, (60.0, 80.0))] for line in lines],
        (120.0, 160.0),
        job,
        marker="vine",
        stroke=INK,
        stroke_width=tip,
        cap="round",
        join="round",
        artwork=artwork,
    ).replace(hides_nothing=True, lying=OnBoard())


def dot_ring() -> list[object]:
    """A ring of 0.6 mm, away from the middle."""
    return [np.add(loop(0.6)[0], (10.0, 20.0))]


def disc(fill: str, radius: float = 2.0) -> Artwork:
    """Artwork that paints a disc round the middle."""
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    points = " ".join(f"{60 + radius * np.cos(a):.2f} {80 + radius * np.sin(a):.2f}" for a in turn)
    return Artwork((f"M{points}Z".replace(" ", "L", 0),), (fill,), (False,), ("",), (0.0,), (1.0,), (1.0,))


def test_the_drawing_goes_on_as_it_came_with_how_it_reads(bench: TrialContext) -> None:
    drawing = drawn(*pair(0.5), *dot_ring())
    result = inspect(drawing, InspectSettings(), bench)
    assert write_drawing(result.drawing.replace(reading=None)) == write_drawing(drawing)
    reading = result.drawing.reading
    assert reading is not None
    assert (reading.merges, reading.closed, reading.fine) == (1, 1, 0)
    assert reading.merge_mm == pytest.approx(60.0, rel=0.02)
    assert reading.digest == drawing.digest


def test_the_record_has_each_spot_with_its_position_strokes_and_length(bench: TrialContext) -> None:
    merge, close = inspect(drawn(*pair(0.5), *dot_ring()), InspectSettings(), bench).figures["spots"]
    assert set(merge) == {"kind", "at_mm", "strokes", "length_mm"}
    assert (merge["kind"], merge["strokes"]) == ("merge", [1, 2])
    assert merge["at_mm"][0] == pytest.approx(75.0, abs=1.0)
    assert (close["kind"], close["strokes"], close["at_mm"]) == ("close", [3], [70.0, 100.0])


def test_a_line_a_kind_says_how_much_and_what_would_help(bench: TrialContext) -> None:
    summary = inspect(drawn(*pair(0.6), *dot_ring(), [(0, 40), (0.7, 40)]), InspectSettings(), bench).summary
    whole, *details = summary.split("\n")
    counts, help_ = whole.split("; ")
    assert counts == "lines merge at 1 spot (60 mm), 1 region closes, 1 detail finer than the tip"
    assert help_ == "a 0.5 mm tip would show most of it"
    assert all(detail.startswith("  ") for detail in details)
    merge, close, fine = (detail.strip() for detail in details)
    assert merge.startswith("merge: 1 spot")
    assert "60 mm of line" in merge
    assert "0.5 mm ink or a face 2 times as large leaves none" in merge
    assert "tidy --same 1mm" in merge
    assert close.startswith("close: 1 region fills with ink")
    assert fine.startswith("fine: 1 detail smaller than the tip, 0.7 mm of line; 0.7 mm ink")


def test_the_finer_tip_that_is_named_helps(bench: TrialContext) -> None:
    drawing = drawn(*pair(0.6), *dot_ring(), [(0, 40), (0.7, 40)])
    named = max(map(float, re.findall(r"([\d.]+) mm ink", inspect(drawing, InspectSettings(), bench).summary)))
    assert named < 1.0
    assert inspect(drawing, InspectSettings(tip=0.4), bench).figures["spots"] == []


def test_the_larger_face_that_is_named_helps(bench: TrialContext) -> None:
    lines = [*pair(0.6), *dot_ring()]
    found = re.search(r"face ([\d.]+) times", inspect(drawn(*lines), InspectSettings(), bench).summary)
    assert found is not None
    larger = [np.asarray(line) * float(found[1]) for line in lines]
    assert [spot["kind"] for spot in inspect(drawn(*larger), InspectSettings(), bench).figures["spots"]] == []


def test_a_face_that_would_have_to_be_more_than_four_times_as_large_is_no_remedy(bench: TrialContext) -> None:
    for apart, words in ((0.27, "a face 3.8 times as large leaves none"), (0.2, "no usual tip is fine enough")):
        assert words in inspect(drawn(*pair(apart)), InspectSettings(), bench).summary


@pytest.mark.parametrize(("tip", "offered"), [(10.0, True), (10.5, False)])
def test_tidy_is_named_only_with_what_it_takes(bench: TrialContext, tip: float, offered: bool) -> None:
    words = f"tidy --same {tip:g}mm"
    lines = [[(-55.0, y), (55.0, y)] for y in (0.0, 4.0)]
    summary = inspect(drawn(*lines), InspectSettings(tip=tip), bench).summary
    assert "merge: 1 spot" in summary and (words in summary) is offered
    if offered:
        assert read_settings(TidySettings, {"same": f"{tip:g}mm"}).same == tip
    else:
        with pytest.raises(SettingError):
            read_settings(TidySettings, {"same": f"{tip:g}mm"})


@pytest.mark.parametrize(("length", "tip"), [(9, 0.5), (15, 0.3)])
def test_a_tip_is_named_with_which_three_quarters_of_it_reads(bench: TrialContext, length: float, tip: float) -> None:
    """Two lines of 30 mm 0.6 mm apart, and two of so many mm that are 0.35 mm apart."""
    nearer = [[(-30.0, 40 + y), (length - 30.0, 40 + y)] for y in (0.0, 0.35)]
    summary = inspect(drawn(*pair(0.6), *nearer), InspectSettings(), bench).summary
    assert f"; a {tip} mm tip would show most of it" in summary


def test_lines_that_tidy_is_told_to_draw_once_merge_no_more(bench: TrialContext) -> None:
    drawing = drawn(*pair(0.6))
    once = tidy(drawing, TidySettings(same=1.0), bench).drawing
    assert len(once) == 1
    assert inspect(once, InspectSettings(), bench).figures["spots"] == []


def test_where_all_reads_one_line_says_so(bench: TrialContext) -> None:
    result = inspect(drawn(*pair(3.0)), InspectSettings(), bench)
    assert result.summary == "every line reads: none merge, no region closes, no detail is finer than the tip"
    assert not bench.warnings


def test_a_tip_that_is_tried_leaves_no_fact_behind(bench: TrialContext) -> None:
    result = inspect(drawn(*pair(1.5)), InspectSettings(tip=2.0), bench)
    assert [spot["kind"] for spot in result.figures["spots"]] == ["merge"]
    assert result.drawing.reading is None


def test_a_measured_line_goes_before_the_tip(bench: TrialContext) -> None:
    job = job_from_data(
        {"canvas": {"face": "120 x 160 mm", "mount": "stretched"},
         "marker": [{"name": "vine", "tip": "1 mm", "line": "1.4 mm"}]}, "moonflower",
    )  # fmt: skip
    drawing = drawn(*pair(1.2)).replace(job=job, stroke_width=0.0)
    assert [spot["kind"] for spot in inspect(drawing, InspectSettings(), bench).figures["spots"]] == ["merge"]


def test_a_region_that_the_artwork_shows_in_the_inks_colour_is_no_fault(bench: TrialContext) -> None:
    def kinds(artwork: Artwork | None) -> list[str]:
        found = inspect(drawn(*loop(0.8), artwork=artwork), InspectSettings(), bench).figures["spots"]
        return [spot["kind"] for spot in found]

    assert kinds(None) == ["close"]  # nobody knows: it counts as open
    assert kinds(disc("")) == ["close"]
    assert kinds(disc(AMBER)) == ["close"]
    assert kinds(disc("#202040")) == []  # as good as the ink's own
    assert kinds(disc(INK)) == []


def test_a_line_of_the_artwork_that_is_broad_itself_fills_its_loop(bench: TrialContext) -> None:
    ring = Artwork(("M59.6 80L60 80.4 60.4 80 60 79.6Z",), ("",), (False,), (INK,), (1.2,), (1.0,), (1.0,))
    found = inspect(drawn(*loop(0.8), artwork=ring), InspectSettings(), bench).figures["spots"]
    assert found == []


def test_the_artwork_goes_with_its_strokes_through_tidy_and_the_wire(bench: TrialContext) -> None:
    dot = [(10, 10), (11.2, 10), (11.2, 11.2), (10, 11.2), (10, 10)]
    board = Drawing.build([[dot]], (50, 50), drawn(*pair(3)).job, fill=AMBER)
    tidied = read_drawing(write_drawing(tidy(board, TidySettings(), bench).drawing))
    assert tidied.artwork is not None
    assert (tidied.artwork.fills, len(tidied.artwork.paths)) == ((AMBER,), 1)
    again = tidy(tidied, TidySettings(), bench).drawing
    assert again.artwork == tidied.artwork


def rings(svg: bytes) -> list[etree._Element]:
    found = etree.fromstring(svg).iter(f"{SVG}circle")
    return [ring for ring in found if ring.get("stroke") == ALARM and ring.get("r") != "1.7"]  # 1.7: in the legend


def test_the_picture_has_a_ring_a_spot_as_many_as_asked_for(bench: TrialContext) -> None:
    lines = [np.add(line, (0, 4 * row - 40)) for row in range(20) for line in pair(0.5, 20 - row / 2)]
    drawing = drawn(*lines)
    (every,) = inspect(drawing, InspectSettings(), bench).files
    (few,) = inspect(drawing, InspectSettings(most=3), bench).files
    assert (every.suffix, every.label) == (".svg", "inspect")
    assert (len(rings(every.data)), len(rings(few.data))) == (20, 3)
    assert every.data.count(b'id="close-up-') == 12  # and no more
    assert few.data.count(b'id="close-up-') == 3
    assert b"17 spots more without a ring" in few.data


@pytest.mark.slow
def test_a_ring_is_round_its_spot_and_a_close_up_shows_artwork_under_ink(bench: TrialContext) -> None:
    drawing = drawn(*pair(0.5), artwork=disc(AMBER, 12.0))
    (file,) = inspect(drawing, InspectSettings(), bench).files
    (ring,) = rings(file.data)
    picture = rendered(file.data.decode(), 1900)
    x, y, r = (float(ring.get(name)) * 10 for name in ("cx", "cy", "r"))
    angle = np.linspace(0, 2 * np.pi, 40)
    colours = picture[(y + r * np.sin(angle)).astype(int), (x + r * np.cos(angle)).astype(int)]
    assert (np.abs(colours - (0xB3, 0x12, 0x3A)).sum(axis=1) < 60).mean() > 0.6
    amber = np.abs(picture - (0xD9, 0x79, 0x3A)).sum(axis=2) < 30
    assert amber.sum() > 10_000  # beneath the ink, in the close-up alone


@pytest.mark.parametrize("name", ["12 x 16 in", "48 x 20 in", "4 x 4 in"])
def test_every_panel_has_a_picture_that_is_plain_svg(name: str, bench: TrialContext) -> None:
    (file,) = inspect(panel_drawing(name), InspectSettings(tip=6.0), bench).files
    root = etree.fromstring(file.data)
    width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    assert (width, height <= 277.0) == (190.0, True)  # a page of A4 with its margin


def test_artwork_that_is_not_strokes_yet_is_refused_in_one_line(bench: TrialContext) -> None:
    with pytest.raises(InputError, match="put tidy before it"):
        inspect(Drawing.build([[[(0, 0), (9, 0), (9, 9)]]], (10, 10), drawn().job, fill=INK), InspectSettings(), bench)


def test_no_stroke_at_all_reads_well(bench: TrialContext) -> None:
    assert inspect(drawn(), InspectSettings(), bench).figures["spots"] == []


def test_of_paints_that_lie_on_one_another_the_uppermost_shows() -> None:
    square = "M0 0L10 0 10 10 0 10Z"
    two = Artwork((square, square), ("#ffffff", "#1b1b3a"), (False,) * 2, ("",) * 2, (0.0,) * 2, (1.0,) * 2, (1.0,) * 2)
    shown = ArtworkShown(two)
    assert shown.paint_at((5.0, 5.0)) == "#1b1b3a" and shown.paint_at((15.0, 5.0)) is None
    assert not shown.shows_open((5.0, 5.0), ["#1b1b3a"]) and shown.shows_open((5.0, 5.0), ["#ffffff"])
