"""Mirror: each side shows the face's border band, reflected at the fold, each line going on as one stroke."""

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from on_board import board, crossings, in_corner_squares, tendrils, wrapped

from underdraw import CannotDo, Panel
from underdraw.drawing.drawing import NO_MARKER
from underdraw.drawing.paint.colours import stack_of
from underdraw.drawing.paint.gradients import RadialGradient, Stop
from underdraw_stages.wrap.side_frame import SideFrame

SIDES = ("top", "right", "bottom", "left")


@settings(max_examples=60, deadline=None)
@given(
    face=st.tuples(st.floats(120, 900), st.floats(120, 900)),
    depth=st.floats(1, 50),
    side=st.sampled_from(SIDES),
    inside=st.floats(0, 60),
    along=st.floats(0, 100),
)
def test_a_mirrored_point_lies_as_far_outside_as_its_original_inside(
    face: tuple[float, float], depth: float, side: str, inside: float, along: float
) -> None:
    panel = Panel(face=face, depth=depth, bleed=10, staple=25)
    frame = SideFrame.of(side, panel.face_box, panel.side_width)  # type: ignore[arg-type]
    point = frame.points(np.array([along]), np.array([-inside]))
    image = frame.reflect(point)
    assert frame.out(image)[0] == pytest.approx(inside, abs=1e-9)
    assert frame.along(image)[0] == along
    assert frame.reflect(image) == pytest.approx(point, abs=1e-9)


def with_length(lines):  # type: ignore[no-untyped-def]
    """The union of lines without isolated points, where they only touch."""
    parts = shapely.get_parts(shapely.union_all(lines))
    return shapely.union_all(parts[shapely.length(parts) > 0])


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 2**31))
@example(seed=1800)  # a line touches a fold in one point
def test_each_side_is_the_band_that_shapely_reflects(seed: int) -> None:
    """Reflection by shapely's affine matrix, clipping by its intersection."""
    drawing, panel = board(*tendrils(seed))
    made, *_ = wrapped(drawing, "mirror")
    lines = shapely.union_all(drawing.shape_lines())
    x0, y0, x1, y1 = panel.face_box
    matrices = {
        "top": (1, -1, 0, 2 * y0),
        "right": (-1, 1, 2 * x1, 0),
        "bottom": (1, -1, 0, 2 * y1),
        "left": (-1, 1, 2 * x0, 0),
    }
    for side, (a, d, tx, ty) in matrices.items():
        due = shapely.transform(lines, lambda xy, a=a, d=d, tx=tx, ty=ty: xy * (a, d) + (tx, ty))
        box = shapely.box(*panel.side_boxes[side])  # type: ignore[index]
        due = with_length(shapely.intersection(due, box))  # a line that only touches a fold leaves nothing beyond it
        there = with_length(shapely.intersection(made.shape_lines(), box))
        assert there.length == pytest.approx(due.length, abs=0.05)
        if due.length:
            assert shapely.hausdorff_distance(there, due) < 1e-3


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 2**31))
def test_a_mirrored_edge_meets_its_line_at_the_fold(seed: int) -> None:
    drawing, panel = board(*tendrils(seed))
    made, *_ = wrapped(drawing, "mirror")
    met, widest = crossings(made, panel)
    assert met > 0
    assert widest < 0.001
    assert in_corner_squares(made, panel) == 0


def test_a_line_that_crosses_a_fold_is_one_stroke() -> None:
    drawing, _ = board([(250.0, 200.0), (300.0, 180.0)])
    made, *_ = wrapped(drawing, "mirror")
    assert made.coords.tolist() == [[300, 250], [350, 230], [400, 250]]


def test_a_line_over_two_folds_is_one_stroke_over_three_fields() -> None:
    drawing, _ = board([(0.0, 200.0), (300.0, 200.0)])
    made, *_ = wrapped(drawing, "mirror")
    assert len(made.parts) == 2
    assert [made.bounds[0], made.bounds[2]] == [0, 400]  # type: ignore[index]


def test_a_loop_on_the_fold_closes_with_its_reflection() -> None:
    drawing, _ = board([(300.0, 100.0), (280.0, 120.0), (300.0, 140.0)])
    made, *_ = wrapped(drawing, "mirror")
    assert len(made.parts) == 2 and made.part_closed().all()


def test_a_line_along_the_fold_is_drawn_once() -> None:
    drawing, _ = board([(250.0, 100.0), (300.0, 100.0), (300.0, 150.0), (250.0, 150.0)])
    made, *_ = wrapped(drawing, "mirror")
    on_fold = shapely.intersection(made.shape_lines(), shapely.LineString([(350, 100), (350, 250)]))
    assert shapely.length(on_fold).sum() == pytest.approx(50)


def test_a_frame_drawn_along_the_faces_edge_is_neither_lost_nor_doubled() -> None:
    drawing, panel = board([(0.0, 0.0), (300.0, 0.0), (300.0, 400.0), (0.0, 400.0), (0.0, 0.0)])
    made, *_ = wrapped(drawing, "mirror")
    face = shapely.box(*panel.face_box)
    assert shapely.length(shapely.intersection(made.shape_lines(), face)).sum() == pytest.approx(1400)
    assert in_corner_squares(made, panel) == 0


def test_fills_wrap_as_fills_and_the_fold_is_no_outline() -> None:
    """A leaf cut by the face's edge: its fill covers both sides of the fold, its outline crosses it twice."""
    leaf = [(260.0, 100.0), (300.0, 100.0), (300.0, 160.0), (260.0, 160.0), (260.0, 100.0)]
    drawing, panel = board(leaf, fill="#6b8e4e", stroke="")
    made, *_ = wrapped(drawing, "mirror")
    covers = made.select(made.marker == NO_MARKER)
    area = shapely.union_all([shapely.Polygon(covers.part_coords(part)) for part in range(len(covers.parts) - 1)])
    assert area.area == pytest.approx(80 * 60)
    lines = made.select(made.fill == "").shape_lines()
    fold = shapely.LineString(panel.folds["right"])
    assert shapely.length(shapely.intersection(lines, fold)).sum() == pytest.approx(0)
    assert shapely.length(lines).sum() == pytest.approx(2 * 80 + 2 * 60)


def test_what_covers_what_on_the_face_does_so_on_the_side() -> None:
    below = [(250.0, 100.0), (300.0, 100.0)]
    above = [(270.0, 90.0), (290.0, 90.0), (290.0, 110.0), (270.0, 110.0), (270.0, 90.0)]
    drawing, panel = board(below, above, fill=np.array(["", "#d9793a"], dtype=object))
    made, *_ = wrapped(drawing, "mirror")
    out = made.coords[:, 0] > panel.face_box[2]
    rows = np.repeat(np.repeat(np.arange(len(made)), np.diff(made.shapes)), np.diff(made.parts))
    line = {int(row) for row in rows[out] if made.fill[row] == ""}
    fill = {int(row) for row in rows[out] if made.fill[row] != ""}
    assert fill and max(line) < min(fill)


def test_corner_bleed_carries_lines_a_little_into_the_corners() -> None:
    drawing, panel = board(*tendrils(5, 120))
    for margin in (0.0, 2.0, 7.0):
        made, *_ = wrapped(drawing, "mirror", corner_bleed=f"{margin} mm")
        assert in_corner_squares(made, panel, margin) == 0
        assert (in_corner_squares(made, panel) > 0) == (margin > 0)


def test_lines_in_the_corner_margin_go_on_from_the_side() -> None:
    """A line across the upper edge close to the corner: in the margin beside it, its reflection from the left."""
    drawing, _ = board([(0.0, 3.0), (20.0, 3.0)])
    made, *_ = wrapped(drawing, "mirror", corner_bleed="5 mm")
    up = [part for part in range(len(made.parts) - 1) if (made.part_coords(part)[:, 1] < 50).any()]
    reflected = made.part_coords(up[0])
    assert reflected[:, 0].min() == 30 and set(reflected[:, 1]) == {47.0}


def test_a_band_wider_than_the_face_cannot_be_mirrored() -> None:
    drawing, _ = board([(5.0, 5.0), (20.0, 20.0)], canvas={"face": "45 x 300 mm"})
    with pytest.raises(CannotDo, match=r"50 mm with its bleed, and the face only 45 mm"):
        wrapped(drawing, "mirror")
    made, *_ = wrapped(drawing, "mirror, left plain, right plain")
    assert len(made)


def test_stretched_canvas_mirrors_in_its_own_measure() -> None:
    drawing, panel = board(
        *tendrils(3),
        canvas={"stretch": "2 % x 1 %"},
    )
    made, *_ = wrapped(drawing, "mirror")
    assert made.sheet == panel.board
    assert in_corner_squares(made, panel) == 0


def test_a_gradient_is_mirrored_with_its_shape() -> None:
    """The colour at a place beyond the fold is that of the place inside that is reflected there, at corners too."""
    sky = [(200.0, 300.0), (300.0, 300.0), (300.0, 400.0), (200.0, 400.0), (200.0, 300.0)]
    stops = (Stop(0, "#1b1b3a"), Stop(0.4, "#d9793a", 0.5), Stop(1, "#f6e3b4"))
    dusk = RadialGradient(stops, (90.0, 20.0, -10.0, 60.0, 330.0, 400.0), "reflect", (0.2, 0.1))
    drawing, panel = board(sky, fill="#1b1b3a", stroke="", fill_gradient=dusk)
    made, *_ = wrapped(drawing, "mirror")
    x1, y1 = panel.face_box[2:]
    inside = np.random.default_rng(3).uniform((x1 - 40, y1 - 40), (x1 - 2, y1 - 2), (200, 2))
    shown = stack_of(drawing).at(inside).rgb
    assert np.ptp(shown, axis=0).min() > 0.1
    for across in ((True, False), (False, True)):
        mirrored = np.where(across, 2 * np.array([x1, y1]) - inside, inside)
        assert stack_of(made).at(mirrored).rgb == pytest.approx(shown, abs=1e-6)
