"""Sides may differ, some are left plain, some were drawn: and the corners and fold marks with them."""

import numpy as np
import pytest
import shapely
from on_board import board, in_corner_squares, tendrils, wrapped

from underdraw import CannotDo, Drawing, InputError, Panel
from underdraw.drawing.facts import OnBoard
from underdraw_stages.wrap.edges import Edges


def on_side(drawing: Drawing, panel: Panel, side: str) -> float:
    """Length of line on a side."""
    inner = shapely.box(*panel.side_boxes[side]).buffer(-1e-3)  # type: ignore[index]
    return float(shapely.length(shapely.intersection(drawing.shape_lines(), inner)).sum())


def test_plain_leaves_the_sides_blank() -> None:
    drawing, panel = board(*tendrils(2))
    made, _, said = wrapped(drawing, "plain")
    assert made.drawn_mm == pytest.approx(drawing.drawn_mm)
    assert sum(on_side(made, panel, side) for side in panel.side_boxes) == 0
    assert said == []


def test_plain_tells_of_lines_that_it_leaves_out() -> None:
    drawing, _ = board([(200.0, 200.0), (340.0, 200.0)])
    made, _, said = wrapped(drawing, "plain")
    assert made.coords[:, 0].max() == 350
    assert said == ["left out 40 mm of line past the face's edge; --edges drawn keeps it"]


@pytest.mark.parametrize(("past", "warned"), [(0.69, 0), (0.8, 1)])
def test_a_line_that_passes_the_face_by_less_than_the_tip_is_left_out_without_a_word(past: float, warned: int) -> None:
    drawing, _ = board([(200.0, 200.0), (300.0 + past, 200.0)])
    assert min(marker.tip for marker in drawing.job.markers) == 0.7
    assert len(wrapped(drawing, "plain")[2]) == warned


@pytest.mark.parametrize("side", ["top", "right", "bottom", "left"])
def test_each_side_may_have_a_mode_of_its_own(side: str) -> None:
    drawing, panel = board(*tendrils(4, 120))
    made, *_ = wrapped(drawing, f"mirror, {side} plain")
    for other in panel.side_boxes:
        assert (on_side(made, panel, other) == 0) == (other == side)
    assert in_corner_squares(made, panel) == 0


def test_all_four_modes_at_once_meet_at_their_folds_and_leave_the_corners_blank() -> None:
    drawing, panel = board(*tendrils(6, 150), [(150.0, 380.0), (150.0, 450.0)])
    made, *_ = wrapped(drawing, "top mirror, right run-on, bottom drawn, left plain")
    assert on_side(made, panel, "left") == 0
    assert on_side(made, panel, "bottom") == pytest.approx(50, abs=0.01)
    assert on_side(made, panel, "top") > 100 and on_side(made, panel, "right") > 100
    assert in_corner_squares(made, panel) == 0


def test_sides_are_named_as_the_panel_hangs_even_if_it_lies_turned() -> None:
    """Laid a quarter clockwise, the panel's top lies at the right of the bed."""
    drawing, panel = board(*tendrils(4, 120), turned=True)
    made, *_ = wrapped(drawing, "plain, top mirror")
    assert [side for side in panel.side_boxes if on_side(made, panel, side) > 0] == ["right"]


def test_a_warning_names_a_side_as_the_panel_hangs() -> None:
    drawing, _ = board([(150.0, 100.0), (150.0, 0.0)], turned=True)  # reaches the edge that lies at the top: its left
    _, _, said = wrapped(drawing, "run-on, bottom plain")
    assert said[0].startswith("no line reaches the face's edge at top, right, so")


def test_a_drawing_none_of_which_is_on_the_face_is_refused() -> None:
    drawing, _ = board([(310.0, 100.0), (340.0, 100.0)])
    with pytest.raises(CannotDo, match="nothing of the drawing lies on the face"):
        wrapped(drawing, "mirror")


def test_drawn_sides_keep_what_was_drawn_for_them() -> None:
    drawing, _ = board([(-50.0, 200.0), (350.0, 200.0)], [(150.0, -50.0), (150.0, 450.0)])
    made, told, said = wrapped(drawing, "drawn")
    assert made.drawn_mm == pytest.approx(400 + 500)
    assert said == [] and told["falls_short_mm"] == {}


def on_page(drawing: Drawing, x0: float, y0: float, x1: float, y1: float) -> Drawing:
    """The drawing as made for sides and all, on a page with these corners in face coordinates (mm)."""
    page = tuple((50.0 + x, 50.0 + y) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
    return drawing.replace(lying=OnBoard(page=page, sides_drawn=True))


def test_drawn_tells_which_side_falls_short_where_and_by_how_much() -> None:
    drawing, _ = board([(-50.0, 200.0), (335.0, 200.0)], [(150.0, -50.0), (150.0, 450.0)])
    _, told, said = wrapped(on_page(drawing, -50, -50, 335, 450), "drawn")
    assert said == [
        "the right side: lines end at the page's edge, short of the image's: from 200 mm to 200 mm by 15 mm; "
        "fit --how cover reaches the image's edge"
    ]
    assert told["falls_short_mm"] == {"right": [[200.0, 200.0, 15.0]]}


@pytest.mark.parametrize(("short", "told"), [(0.4, False), (0.6, True), (4.0, True)])
def test_half_a_millimetre_at_the_very_edge_is_not_missed_and_more_is(short: float, told: bool) -> None:
    right = 350.0 - short
    drawing, _ = board([(-50.0, 200.0), (right, 200.0)], [(150.0, -50.0), (150.0, 450.0)])
    _, found, said = wrapped(on_page(drawing, -50, -50, right, 450), "drawn")
    assert list(found["falls_short_mm"]) == ["right"] * told and bool(said) is told


@pytest.mark.parametrize("sides", ["mirror", "plain, left mirror", "plain, top mirror, right mirror"])
def test_the_folds_that_mirror_are_known_to_whoever_comes_after(sides: str) -> None:
    """Left and right are at an x, top and bottom at a y, of the face's edges."""
    drawing, panel = board([(10.0, 200.0), (290.0, 200.0)], [(150.0, 10.0), (150.0, 390.0)])
    x0, y0, x1, y1 = panel.face_box
    at = {"left": ("x", x0), "right": ("x", x1), "top": ("y", y0), "bottom": ("y", y1)}
    made, *_ = wrapped(drawing, sides)
    mirrored = {(fold.axis, fold.at_mm) for fold in made.mirror_folds}
    assert mirrored == {at[side] for side in at if sides == "mirror" or f"{side} mirror" in sides}


def test_a_sky_that_ends_with_a_page_too_small_falls_short_all_along() -> None:
    sky = [(-50.0, -50.0), (335.0, -50.0), (335.0, 450.0), (-50.0, 450.0), (-50.0, -50.0)]
    drawing, _ = board(sky, fill="#1b1b3a", stroke="")
    _, told, said = wrapped(on_page(drawing, -50, -50, 335, 450), "drawn")
    assert told["falls_short_mm"] == {"right": [[0.0, 400.0, 15.0]]}
    assert "all along by 15 mm" in said[0]


@pytest.mark.parametrize(
    "cloud",
    [
        [(280.0, 100.0), (330.0, 100.0), (330.0, 160.0), (280.0, 160.0), (280.0, 100.0)],  # ends on the right side
        [(-50.0, -50.0), (350.0, -50.0), (350.0, 450.0), (-50.0, 450.0), (-50.0, -50.0)],  # a sky as large as the page
    ],
)
def test_what_was_drawn_to_end_where_it_ends_sets_off_no_warning(cloud: list[tuple[float, float]]) -> None:
    drawing, _ = board(cloud, [(150.0, 10.0), (150.0, 340.0)], fill="#1b1b3a", stroke="")
    _, told, said = wrapped(on_page(drawing, -50, -50, 350, 450), "drawn")
    assert (told["falls_short_mm"], said) == ({}, [])


def test_sides_that_nobody_asked_for_are_drawn_where_the_artwork_covers_them_and_else_said_to_stay_bare() -> None:
    drawing, _ = board([(-40.0, 200.0), (340.0, 200.0)])
    made, told, _ = wrapped(on_page(drawing, -50, -50, 350, 450), None)
    assert told["edges"] == "drawn" and made.bounds == drawing.bounds
    made, told, _ = wrapped(drawing.replace(lying=OnBoard()), None)
    assert told["edges"] == "plain" and made.bounds == (50.0, 250.0, 350.0, 250.0)


def test_what_was_drawn_in_the_corners_is_left_out() -> None:
    drawing, panel = board([(-40.0, -40.0), (340.0, 440.0)])
    made, *_ = wrapped(drawing, "drawn")
    assert in_corner_squares(made, panel) == 0
    x0, y0, x1, y1 = panel.face_box
    assert made.bounds == (x0, y0, x1, y1) or in_corner_squares(made, panel, 0.0) == 0


def test_a_canvas_on_its_frame_is_not_wrapped() -> None:
    drawing, _ = board(*tendrils(1), canvas={"mount": "stretched"})
    made, _, said = wrapped(drawing, "mirror", fold_marks=True)
    assert made is drawing and said == []


def test_fold_marks_are_strokes_of_the_first_marker_on_a_layer_of_their_own() -> None:
    drawing, panel = board(*tendrils(1))
    made, told, _ = wrapped(drawing, "mirror", fold_marks=True)
    marks = made.select(made.layer == "fold marks")
    assert len(marks) == told["fold_marks"] == 12
    assert set(marks.marker) == {"outline"} and set(marks.fill) == {""}
    assert np.concatenate(panel.fold_marks).tolist() == marks.coords.tolist()
    assert (made.layer[-12:] == "fold marks").all()


def test_fold_marks_can_be_left_out() -> None:
    drawing, _ = board(*tendrils(1))
    made, told, _ = wrapped(drawing, "mirror", fold_marks=False)
    assert told["fold_marks"] == 0 and "fold marks" not in set(made.layer)


def test_a_drawing_that_is_not_on_its_board_is_refused() -> None:
    drawing, _ = board(*tendrils(1))
    with pytest.raises(InputError, match="put fit before wrap"):
        wrapped(drawing.replace(sheet=(300.0, 400.0), lying=None), "mirror")


def test_a_drawing_is_not_wrapped_twice() -> None:
    drawing, _ = board(*tendrils(1))
    made, told, _ = wrapped(drawing, "mirror")
    with pytest.raises(InputError, match="wrapped already"):
        wrapped(made.recorded("wrap", {}, told), "mirror")


def test_wrap_changes_nothing_it_was_given_and_repeats_itself_exactly() -> None:
    drawing, _ = board(*tendrils(9))
    before = drawing.coords.copy()
    one, *_ = wrapped(drawing, "mirror, top run-on")
    two, *_ = wrapped(drawing, "mirror, top run-on")
    assert (drawing.coords == before).all()
    assert (one.coords == two.coords).all() and (one.parts == two.parts).all()


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("mirror", ("mirror",) * 4),
        ("mirror, top plain", ("plain", "mirror", "mirror", "mirror")),
        ("plain, left=run-on, right: drawn", ("plain", "drawn", "plain", "run-on")),
        ("top plain, right mirror, bottom drawn, left run-on", ("plain", "mirror", "drawn", "run-on")),
    ],
)
def test_modes_are_written_for_all_sides_or_for_each(written: str, read: tuple[str, ...]) -> None:
    kind = Edges()
    assert kind.read(written) == read
    assert kind.read(kind.plain(read)) == read


@pytest.mark.parametrize(
    ("written", "answer"),
    [
        ("miror", "did you mean 'mirror'"),
        ("mirror, topp plain", "did you mean 'top'"),
        ("mirror, plain", "named twice"),
        ("mirror, top plain, top drawn", "top named twice"),
        ("top plain", "sets nothing for right, bottom, left"),
        ("mirror,, top plain", "empty entry"),
        ("", "expected one of"),
    ],
)
def test_modes_that_cannot_be_read_are_told_what_would_do(written: str, answer: str) -> None:
    with pytest.raises(ValueError, match=answer):
        Edges().read(written)


def test_lines_that_lay_past_the_page_are_told_of_without_alarm() -> None:
    drawing, _ = board([(200.0, 200.0), (340.0, 200.0)])
    on_face = ((50.0, 50.0), (350.0, 50.0), (350.0, 450.0), (50.0, 450.0))
    assert wrapped(drawing.replace(lying=OnBoard(page=on_face)), "plain")[2] == []
    wider = ((40.0, 50.0), (360.0, 50.0), (360.0, 450.0), (40.0, 450.0))
    for page in (wider, ()):
        assert len(wrapped(drawing.replace(lying=OnBoard(page=page)), "plain")[2]) == 1
