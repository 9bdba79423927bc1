"""Artwork is placed on the board: as large as asked, where asked, on the folds after stretching, and on the bed.

Where things are due is worked out by hand from the sizes of page, face, depth and bleed.
"""

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from underdraw import CannotDo, Drawing, InputError, Panel
from underdraw.drawing.facts import Ground
from underdraw.drawing.paint.colours import stack_of
from underdraw.drawing.paint.gradients import LinearGradient, Stop
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel.positions import places
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw.words.lengths import parse_length
from underdraw_stages.fit import PLACES, FitSettings
from underdraw_stages.fit.stage import fit

PAGE = (90.0, 120.0)
FRAME = np.array([(0.0, 0.0), (90.0, 0.0), (90.0, 120.0), (0.0, 120.0), (0.0, 0.0)])
INCH = 25.4


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def artwork(*lines: NDArray[np.float64], job: dict[str, Any] | None = None, **looks: object) -> Drawing:
    said = job if job is not None else {"canvas": {"face": "300 x 400 mm", "depth": "40 mm", "bleed": "10 mm"}}
    given = {"stroke": "#1b1b3a", "stroke_width": 1.0, "marker": "outline", **looks}
    return Drawing.build([[line] for line in lines], PAGE, job_from_data(said, "moths"), **given)


def fitted(drawing: Drawing, registry: Registry, **said: object) -> tuple[Drawing, dict[str, Any], list[str]]:
    bench = TrialContext(registry)
    result = fit(drawing, read_settings(FitSettings, said), bench)
    return result.drawing.recorded("fit", {}, result.figures), result.figures, bench.warnings


def box(drawing: Drawing) -> list[float]:
    assert drawing.bounds is not None
    return list(drawing.bounds)


def test_contain_shows_all_of_the_page_on_the_face(registry: Registry) -> None:
    made, told, said = fitted(artwork(FRAME), registry)
    assert box(made) == pytest.approx([50, 50, 350, 450])
    assert made.sheet == (400.0, 500.0)
    assert told["scale"] == pytest.approx(400 / 120)
    assert said == []


def test_a_page_taken_as_the_face_keeps_the_unit_of_the_job(registry: Registry) -> None:
    made, *_ = fitted(artwork(FRAME, job={"machine": {"bed": "24 x 48 in"}}), registry)
    assert made.job.canvas.face == PAGE
    assert Panel.of(made.job).unit == "in"


def test_contain_leaves_room_at_the_sides_of_a_wider_face(registry: Registry) -> None:
    made, *_ = fitted(
        artwork(FRAME, job={"canvas": {"face": "400 x 400 mm", "depth": "40 mm", "bleed": "10 mm"}}), registry
    )
    assert box(made) == pytest.approx([100, 50, 400, 450])


@pytest.mark.parametrize("face", ["400 x 500 mm", "300 x 500 mm"])
def test_cover_fills_a_face_that_is_wider_than_the_page_and_one_that_is_taller(registry: Registry, face: str) -> None:
    job = {"canvas": {"face": face, "depth": "40 mm", "bleed": "10 mm"}}
    _, told, _ = fitted(artwork(FRAME, FRAME / 2 + 20, job=job), registry, how="cover")
    width, height = (float(side) for side in face.removesuffix(" mm").split(" x "))
    assert told["scale"] == pytest.approx(max(width / 90, height / 120))
    assert told["scale"] * 90 >= width - 1e-6 and told["scale"] * 120 >= height - 1e-6


def test_cover_leaves_no_part_bare_and_tells_what_is_lost(registry: Registry) -> None:
    wide = {"canvas": {"face": "400 x 400 mm", "depth": "40 mm", "bleed": "10 mm"}}
    cross = np.array([(45.0, 0.0), (45.0, 120.0)])
    made, told, said = fitted(artwork(cross, job=wide), registry, how="cover")
    assert box(made) == pytest.approx([250, 0, 250, 500])
    assert told["lost_mm"] == pytest.approx(120 * 400 / 90 - 500, abs=1e-3)
    assert len(said) == 1
    assert "33 mm of line in one shape" in said[0] and "top by 16.67 mm, bottom by 16.67 mm" in said[0]


def test_what_is_drawn_past_the_page_is_kept_for_the_sides(registry: Registry) -> None:
    """A drawing program lets lines run past the page; as far as the image goes, wrap may want them."""
    made, told, said = fitted(artwork(np.array([(45.0, 60.0), (45.0, 130.0)])), registry)
    assert box(made)[3] == pytest.approx(450 + 10 * 400 / 120)
    assert told["lost_mm"] == 0 and said == []


def test_on_a_canvas_on_its_frame_nothing_lies_past_the_face(registry: Registry) -> None:
    """What lay past the artwork's page goes with a word; what lay on it goes with a warning."""
    stretched = {"canvas": {"face": "300 x 400 mm", "mount": "stretched"}}
    line = artwork(np.array([(45.0, 60.0), (45.0, 130.0)]), job=stretched)
    made, _, said = fitted(line, registry)
    assert box(made)[3] == 400
    assert said == []
    summary = fit(line, read_settings(FitSettings, {}), TrialContext(registry)).summary
    assert "on a stretched canvas of 300 × 400 mm\n  left out 33 mm of line past the artwork's page" in summary
    square = {"canvas": {"face": "300 x 300 mm", "mount": "stretched"}}
    on_page = artwork(np.array([(45.0, 60.0), (45.0, 115.0)]), job=square)
    assert "bottom by 33.33 mm" in fitted(on_page, registry, how="cover")[2][0]


def test_a_loss_no_longer_than_a_tip_is_wide_goes_without_a_word(registry: Registry) -> None:
    line = np.array([(45.0, 0.0), (45.0, 135.0 + 0.15)])  # scaled by 3.3: half a millimetre beyond the board
    _, told, said = fitted(artwork(line), registry)
    assert told["lost_mm"] == pytest.approx(0.5)
    assert said == []


def test_actual_keeps_the_size_that_was_drawn(registry: Registry) -> None:
    made, told, _ = fitted(artwork(FRAME), registry, how="actual")
    assert told["scale"] == 1.0
    assert box(made) == pytest.approx([155, 190, 245, 310])


def test_artwork_drawn_for_the_whole_image_covers_its_sides(registry: Registry) -> None:
    made, *_ = fitted(artwork(FRAME), registry, covers="image", how="cover")
    assert box(made)[0::2] == pytest.approx([0, 400])


def test_what_is_drawn_may_be_fitted_instead_of_its_page(registry: Registry) -> None:
    leaf = np.array([(30.0, 30.0), (60.0, 70.0)])
    made, *_ = fitted(artwork(leaf), registry, of="artwork")
    assert box(made) == pytest.approx([50, 50, 350, 450])


@pytest.mark.parametrize("place", PLACES)
def test_it_lies_where_it_is_asked_to(place: str, registry: Registry) -> None:
    made, *_ = fitted(artwork(FRAME), registry, how="actual", align=place)
    x0, y0, x1, y1 = box(made)
    left, right, top, bottom = x0 - 50, 350 - x1, y0 - 50, 450 - y1
    assert (left == pytest.approx(0)) == ("left" in place)
    assert (right == pytest.approx(0)) == ("right" in place)
    assert (top == pytest.approx(0)) == ("top" in place)
    assert (bottom == pytest.approx(0)) == ("bottom" in place)


def test_a_margin_is_kept_free_inside_the_face(registry: Registry) -> None:
    made, *_ = fitted(artwork(FRAME), registry, margin="20 mm")
    x0, y0, x1, y1 = box(made)
    assert min(x0 - 50, 350 - x1, y0 - 50, 450 - y1) == pytest.approx(20)


def test_a_margin_that_leaves_nothing_is_refused_with_the_limit(registry: Registry) -> None:
    with pytest.raises(CannotDo, match="use less than 150 mm"):
        fitted(artwork(FRAME), registry, margin="150 mm")


def test_a_margin_just_below_the_limit_that_a_refusal_names_is_kept(registry: Registry) -> None:
    odd = artwork(FRAME).replace(job=artwork(FRAME).job.with_canvas(face="11.3337 x 15.0003 in"))
    with pytest.raises(CannotDo) as refused:
        fitted(odd, registry, margin="6 in")
    limit = parse_length(re.findall("use less than (.*)", str(refused.value))[0])
    fitted(odd, registry, margin=f"{limit - 1e-6} mm")


def test_a_quarter_turn_is_clockwise_and_exact(registry: Registry) -> None:
    corner = np.array([(0.0, 0.0), (10.0, 0.0), (0.0, 20.0)])
    made, *_ = fitted(artwork(corner, FRAME), registry, how="actual", turn=90)
    assert box(made) == pytest.approx([140, 205, 260, 295])
    assert made.part_coords(0).tolist() == [[260, 205], [260, 215], [240, 205]]


@settings(max_examples=30, deadline=None)
@given(turn=st.floats(-360, 360))
def test_any_turn_keeps_all_of_the_page_on_the_face(turn: float) -> None:
    made, told, said = fitted(artwork(FRAME), _holders(), turn=turn)
    x0, y0, x1, y1 = box(made)
    assert x0 >= 50 - 1e-3 and y0 >= 50 - 1e-3 and x1 <= 350 + 1e-3 and y1 <= 450 + 1e-3
    assert made.drawn_mm == pytest.approx(420 * told["scale"], rel=1e-4)
    assert said == []


def _holders() -> Registry:
    return Registry.installed()


def test_lines_grow_as_broad_as_the_artwork_grows_large(registry: Registry) -> None:
    made, told, _ = fitted(artwork(FRAME), registry)
    assert made.stroke_width[0] == pytest.approx(told["scale"], abs=1e-4)


def test_blurs_grow_with_the_artwork(registry: Registry) -> None:
    made, told, _ = fitted(artwork(FRAME, blur=0.5), registry)
    assert made.blur.tolist() == pytest.approx([0.5 * told["scale"]], abs=1e-4) and told["scale"] > 3


def test_stretched_canvas_brings_the_drawing_onto_the_folds(registry: Registry) -> None:
    canvas = {"face": "300 x 400 mm", "depth": "40 mm", "bleed": "10 mm", "stretch": "0.6 % x 0.4 %"}
    made, *_ = fitted(artwork(FRAME, job={"canvas": canvas}), registry)
    panel = Panel.of(made.job)
    assert box(made) == pytest.approx(list(panel.face_box), abs=1e-4)
    ends = places(panel, made.coords)
    assert ends.names == ["face"] * len(FRAME)
    assert ends.at == pytest.approx(FRAME * 400 / 120, abs=2e-4)


def test_without_a_face_the_page_is_the_face(registry: Registry) -> None:
    made, *_ = fitted(artwork(FRAME, job={"canvas": {"mount": "stretched"}}), registry)
    assert made.job.canvas.face == PAGE
    assert made.sheet == PAGE


def test_a_panel_is_turned_on_the_bed_where_only_that_fits(registry: Registry) -> None:
    job = {"canvas": {"face": "40 x 16 in", "depth": "2.5 in"}, "machine": {"bed": "24 x 48 in"}}
    corner = np.array([(0.0, 0.0), (9.0, 0.0)])
    made, told, _ = fitted(artwork(corner, FRAME, job=job), registry, how="contain", align="top-left")
    hung = Panel.of(made.job)
    panel = hung.turned()
    assert told["turned"] is True and made.lying is not None and made.lying.turned
    assert hung.face == pytest.approx((40 * INCH, 16 * INCH))  # the job keeps the panel as it hangs
    assert made.sheet == panel.board == pytest.approx((22 * INCH, 46 * INCH))
    _, y0, x1, _ = panel.face_box
    line = made.part_coords(0)  # the face's upper left corner lies at the upper right, its upper edge goes down
    assert line[0].tolist() == pytest.approx([x1, y0]) and line[1].tolist() == pytest.approx([x1, y0 + 30.48])


def test_a_panel_is_not_turned_where_that_was_forbidden(registry: Registry) -> None:
    job = {"canvas": {"face": "40 x 16 in", "depth": "2.5 in"}, "machine": {"bed": "24 x 48 in"}}
    with pytest.raises(CannotDo, match="turn it 90°"):
        fitted(artwork(FRAME, job=job), registry, auto_turn=False)


def test_a_job_that_misses_the_bed_by_a_millimetre_is_refused_and_the_remedy_works(registry: Registry) -> None:
    canvas = {"face": "407.4 x 600 mm", "depth": "2.5 in"}
    with pytest.raises(CannotDo) as refused:
        fitted(artwork(FRAME, job={"canvas": canvas, "machine": {"bed": "24 x 48 in"}}), registry)
    assert "1 mm too wide" in str(refused.value) and 'bleed = "12 mm"' in str(refused.value)
    canvas["bleed"] = "12 mm"
    made, *_ = fitted(artwork(FRAME, job={"canvas": canvas, "machine": {"bed": "24 x 48 in"}}), registry)
    assert made.sheet[0] + 2 * INCH <= 24 * INCH


def test_the_holders_offset_takes_from_the_reach(registry: Registry) -> None:
    job: dict[str, Any] = {"canvas": {"face": "16 x 40 in", "depth": "2.5 in"}, "machine": {"bed": "24 x 48 in"}}
    fitted(artwork(FRAME, job={**job, "holder": {"offset": "0 x -25 mm"}}), registry)
    with pytest.raises(CannotDo, match="holder's offset of -2.362 in"):
        fitted(artwork(FRAME, job={**job, "holder": {"offset": "0 x -60 mm"}}), registry)


def test_a_markers_own_offset_takes_from_the_reach_too(registry: Registry) -> None:
    """Beside the 1 in strip, so the first 25.4 mm cost nothing, on either side."""

    def job(left: str, right: str) -> dict[str, Any]:
        markers = [
            {"name": "outline"},
            {"name": "gold", "colours": ["#d9793a"], "offset": left},
            {"name": "silver", "colours": ["#999999"], "offset": right},
        ]
        canvas = {"face": "16 x 40 in", "depth": "2.5 in"}
        return {"canvas": canvas, "machine": {"bed": "24 x 48 in"}, "marker": markers}

    def put(left: str, right: str) -> None:
        colours = np.array(["#d9793a", "#999999"], dtype=object)
        fitted(artwork(FRAME, FRAME, job=job(left, right), marker="", stroke=colours), registry)

    put("25 x 0 mm", "-25 x 0 mm")
    short = (
        "^marker 'gold' does not reach all of the image on this bed: by its own offset of 1.18 × 0 in it ends 0.19 in"
    )
    with pytest.raises(CannotDo, match=short):
        put("30 x 0 mm", "0 x 0 mm")
    narrow = job("60 x 0 mm", "-60 x 0 mm")
    narrow["canvas"] = {"face": "14 x 40 in", "depth": "2.5 in"}  # 2 in to spare: enough for either, not for both
    colours = np.array(["#d9793a", "#999999"], dtype=object)
    with pytest.raises(CannotDo, match="the markers' offsets differ so much"):
        fitted(artwork(FRAME, FRAME, job=narrow, marker="", stroke=colours), registry)


def test_a_colour_without_a_marker_gets_the_jobs(registry: Registry) -> None:
    job = {
        "marker": [{"name": "outline"}, {"name": "accent", "colours": ["#d9793a"]}],
        "canvas": {"face": "300 x 400 mm"},
    }
    made, *_ = fitted(
        artwork(FRAME, FRAME, job=job, marker="", stroke=np.array(["#d9793a", "#000000"], dtype=object)), registry
    )
    assert made.marker.tolist() == ["accent", "outline"]


def test_artwork_that_lies_outside_altogether_is_refused(registry: Registry) -> None:
    away = np.array([(500.0, 500.0), (600.0, 500.0)])
    with pytest.raises(CannotDo, match="outside the board"):
        fitted(artwork(away), registry)


def test_lines_past_the_page_are_an_alarm_only_where_the_page_does_not_show_whole(registry: Registry) -> None:
    """On a face of another shape a page that covers it runs on over the folds: what lies past it may be wanted."""
    past = np.array([(-40.0, 60.0), (130.0, 60.0)])
    wider = {"canvas": {"face": "320 x 400 mm", "depth": "40 mm", "bleed": "10 mm"}}
    *_, said = fitted(artwork(FRAME, past, job=wider), registry, how="cover", covers="face")
    assert any("lies outside the board and is left out" in line for line in said)
    *_, said = fitted(artwork(FRAME, past), registry, how="cover", covers="face")
    assert said == []


def test_an_empty_drawing_is_refused(registry: Registry) -> None:
    with pytest.raises(CannotDo, match="no lines"):
        fitted(artwork(), registry)


def test_a_drawing_is_not_fitted_twice(registry: Registry) -> None:
    made, *_ = fitted(artwork(FRAME), registry)
    with pytest.raises(InputError, match="fitted already"):
        fitted(made, registry)


def test_fit_changes_nothing_it_was_given(registry: Registry) -> None:
    given = artwork(FRAME, np.array([(45.0, -20.0), (45.0, 140.0)]))
    before = given.coords.copy()
    one, *_ = fitted(given, registry, how="cover")
    two, *_ = fitted(given, registry, how="cover")
    assert (given.coords == before).all() and (one.coords == two.coords).all()


SIDES_DRAWN = {"canvas": {"face": "16 x 20 in", "depth": "2.5 in", "bleed": "0.5 in", "staple": "1 in"}}


def on_a_page(width: float, height: float, job: dict[str, Any] = SIDES_DRAWN) -> Drawing:
    """A frame round a page of this size in inches, and a line right across it."""
    w, h = width * INCH, height * INCH
    frame = np.array([(0.0, 0.0), (w, 0.0), (w, h), (0.0, h), (0.0, 0.0)])
    return artwork(frame, np.array([(0.0, h / 2), (w, h / 2)]), job=job).replace(sheet=(w, h))


@pytest.mark.parametrize(("width", "height"), [(22, 26), (22.4, 25.6)])
def test_a_page_of_the_images_size_is_the_image_with_its_sides_drawn(
    registry: Registry, width: float, height: float
) -> None:
    """Common practice, no source: a 16 x 20 in face, 2.5 in deep, 0.5 in bleed has an image of 22 x 26 in."""
    made, told, warned = fitted(on_a_page(width, height), registry)
    assert told["covers"] == "image" and warned == []
    assert made.lying is not None and made.lying.sides_drawn
    assert made.bounds is not None
    assert max(made.bounds[2] - made.bounds[0], 0) == pytest.approx(22 * INCH, rel=0.04)
    (line,) = chosen(made, registry, on_a_page(width, height))
    assert "whole image" in line and "--covers" in line


@pytest.mark.parametrize(
    ("face", "depth", "bleed", "staple"),
    [(2000.0, 15.0, 5.0, 25.0), (1900.0, 40.0, 10.0, 20.0), (3000.0, 9.0, 1.0, 10.0)],
)
def test_a_page_of_any_finished_size_keeps_its_size_on_a_panel_so_large_that_they_are_alike(
    registry: Registry, face: float, depth: float, bleed: float, staple: float
) -> None:
    """Face, image and canvas of a large, shallow panel differ by less than a drawing program may round."""
    job = {
        "canvas": {
            "face": f"{face} x {face} mm",
            "depth": f"{depth} mm",
            "bleed": f"{bleed} mm",
            "staple": f"{staple} mm",
        }
    }
    image = face + 2 * (depth + bleed)
    for name, side in (("face", face), ("image", image), ("canvas", image + 2 * staple)):
        _, told, warned = fitted(on_a_page(side / INCH, side / INCH, job), registry)
        assert (told["covers"], warned) == (name, [])
        assert told["scale"] == pytest.approx(1, abs=1e-9)


def chosen(_made: Drawing, registry: Registry, drawing: Drawing) -> list[str]:
    """The lines of the summary that report a choice by size."""
    result = fit(drawing, read_settings(FitSettings, {}), TrialContext(registry))
    return [line for line in result.summary.splitlines() if "is the size of" in line]


def test_a_page_of_the_canvass_size_is_the_canvas_and_its_strips_are_left_out(registry: Registry) -> None:
    made, told, warned = fitted(on_a_page(24, 28), registry)
    assert told["covers"] == "canvas" and warned == []
    line = made.part_coords(len(made.parts) - 2)
    assert sorted(line[:, 0].tolist()) == pytest.approx([0.0, 22 * INCH])  # cut at the image's edges, not shrunk


def test_a_page_of_the_faces_size_is_the_face_without_a_word(registry: Registry) -> None:
    made, told, warned = fitted(on_a_page(16, 20), registry)
    assert (told["covers"], warned) == ("face", [])
    assert made.lying is not None and not made.lying.sides_drawn
    assert chosen(made, registry, on_a_page(16, 20)) == []


def test_a_page_of_the_images_proportions_goes_on_the_face_with_a_warning(registry: Registry) -> None:
    _, told, warned = fitted(on_a_page(11, 13), registry)
    assert told["covers"] == "face"
    assert len(warned) == 1 and "proportions of the whole image" in warned[0] and "covers = image" in warned[0]
    assert fitted(on_a_page(11, 13), registry, covers="face")[2] == []  # the setting that it names ends it


def test_what_a_setting_says_goes_before_the_size(registry: Registry) -> None:
    assert fitted(on_a_page(22, 26), registry, covers="face")[1]["covers"] == "face"
    assert fitted(on_a_page(22, 26), registry, covers="canvas")[1]["covers"] == "canvas"


def test_bare_bands_of_the_face_are_reported(registry: Registry) -> None:
    drawing = on_a_page(12, 20)
    told = fit(drawing, read_settings(FitSettings, {}), TrialContext(registry)).summary
    assert "bands of the face stay bare: right 2 in, left 2 in; --how cover" in told
    assert "stay bare" not in fit(drawing, read_settings(FitSettings, {"how": "cover"}), TrialContext(registry)).summary


def test_a_remedy_that_is_in_force_already_is_not_offered(registry: Registry) -> None:
    stray = on_a_page(22, 26)
    coords = stray.coords.copy()
    coords[-1] += (50.0, 0.0)  # beyond the page, and so beyond the board
    _, _, warned = fitted(
        stray.replace(coords=coords), registry, covers="face", of="artwork", align="left", how="actual"
    )
    assert warned and "--how contain keeps all of it" in warned[0]


@pytest.mark.parametrize("bed", ("900 x 900 mm", "700 x 455 mm"))
def test_gradients_go_where_their_shapes_go(registry: Registry, bed: str) -> None:
    """The colour of a place on the page is the colour of the place on the board where it lands, turned or not."""
    job = {"canvas": {"face": "300 x 400 mm", "depth": "40 mm", "bleed": "10 mm"}, "machine": {"bed": bed}}
    dusk = LinearGradient((Stop(0, "#1b1b3a"), Stop(1, "#f6e3b4")), (60.0, 30.0, -30.0, 60.0, 10.0, 20.0))
    drawing = artwork(FRAME, job=job, fill="#1b1b3a", stroke="", fill_gradient=dusk)
    made, told, _ = fitted(drawing.replace(ground=Ground("#1b1b3a", dusk)), registry, turn=180)
    assert told["turned"] is (bed == "700 x 455 mm")
    share = np.random.default_rng(1).uniform(0.02, 0.98, (100, 2))
    corner, right, _, below = np.array(made.part_coords(0))[:4]
    landed = corner + share[:, :1] * (right - corner) + share[:, 1:] * (below - corner)
    shown = stack_of(drawing).at(share * np.array(PAGE)).rgb
    for there in (made, made.select([])):  # the shape, and the page beneath it
        assert stack_of(there).at(landed).rgb == pytest.approx(shown, abs=1e-4)
