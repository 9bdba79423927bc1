"""Panels come out as the trade makes them, and sizes that cannot be are refused with the limit and why."""

from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from underdraw import InputError, Panel
from underdraw.cli.load_job import load_job
from underdraw.job.file import job_from_data
from underdraw.plugins.registry import Registry

INCH = 25.4
LENGTHS = st.floats(0.0, 400.0)
FACES = st.tuples(st.floats(40.0, 3000.0), st.floats(40.0, 3000.0))


def gallery_panel() -> Panel:
    """The panel that the trade's sums are quoted for: common practice, no source."""
    job = job_from_data(
        {
            "canvas": {"face": "16 x 20 in", "depth": "2 1/2 in", "bleed": "0.5 in", "staple": "1 in"},
            "machine": {"bed": "24 x 48 in"},
        },
        "gallery",
    )
    return Panel.of(job)


def panel(**sizes: object) -> Panel:
    return Panel(**{"face": (300.0, 400.0), "depth": 40.0, "bleed": 10.0, "staple": 25.0, **sizes})  # type: ignore[arg-type]


def test_a_16_by_20_face_takes_a_22_by_26_image_and_a_24_by_28_canvas() -> None:
    """Common practice, no source."""
    made = gallery_panel()
    assert made.image == pytest.approx((22 * INCH, 26 * INCH))
    assert made.board == made.image
    assert made.canvas == made.cut == pytest.approx((24 * INCH, 28 * INCH))


def test_an_inch_and_a_half_reaches_behind_its_frame() -> None:
    """Common practice, no source: at least 1 in; there 1.5 in."""
    assert gallery_panel().return_mm == pytest.approx(1.5 * INCH)


def test_its_image_is_a_little_over_three_quarters_larger_than_its_face() -> None:
    """Common practice, no source (1.7875); areas by shapely."""
    made = gallery_panel()
    by_shapely = shapely.box(*made.image_box).area / shapely.box(*made.face_box).area
    assert made.area_ratio == pytest.approx(1.7875)
    assert made.area_ratio == pytest.approx(by_shapely)
    gives = replace(made, stretch=(0.01, 0.02))  # what is drawn, over the face as it is in the end
    assert gives.area_ratio == pytest.approx(gives.image[0] * gives.image[1] / (made.face[0] * made.face[1]))


@settings(max_examples=100, deadline=None)
@given(face=FACES, depth=st.floats(1.0, 200.0), bleed=st.floats(0.0, 20.0), staple=LENGTHS)
def test_image_board_canvas_and_return_add_up_for_every_size(
    face: tuple[float, float], depth: float, bleed: float, staple: float
) -> None:
    made = panel(face=face, depth=depth, bleed=bleed, staple=staple)
    for axis in (0, 1):
        assert made.image[axis] == pytest.approx(made.face[axis] + 2 * (made.depth + made.bleed), abs=1e-9)
        assert made.board[axis] == made.image[axis]
        assert made.canvas[axis] == pytest.approx(made.image[axis] + 2 * made.staple, abs=1e-9)
        behind = (made.canvas[axis] - made.face[axis]) / 2 - made.depth
        assert behind == pytest.approx(made.return_mm, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    face=FACES,
    depth=st.floats(1.0, 200.0),
    bleed=st.floats(0.0, 20.0),
    along=st.floats(0, 0.1),
    across=st.floats(0, 0.1),
)
def test_face_sides_and_corners_tile_the_image(
    face: tuple[float, float], depth: float, bleed: float, along: float, across: float
) -> None:
    made = panel(face=face, depth=depth, bleed=bleed, stretch=(along, across))
    tiles = [made.face_box, *made.side_boxes.values(), *made.corner_squares]
    areas = [shapely.box(*box).area for box in tiles]
    image = shapely.box(*made.image_box)
    assert sum(areas) == pytest.approx(image.area, rel=1e-12)
    assert shapely.union_all([shapely.box(*box) for box in tiles]).area == pytest.approx(image.area, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(face=FACES, depth=st.floats(1.0, 200.0), along=st.floats(0, 0.1), across=st.floats(0, 0.1))
def test_what_is_drawn_lands_on_the_folds_once_the_canvas_has_stretched(
    face: tuple[float, float], depth: float, along: float, across: float
) -> None:
    made = panel(face=face, depth=depth, stretch=(along, across))
    for axis, share in ((0, along), (1, across)):
        drawn = made.face_box[axis + 2] - made.face_box[axis]
        assert drawn * (1 + share) == pytest.approx(made.face[axis], abs=2e-4)
        side = made.face_box[axis] - made.frame_box[axis]
        assert side * (1 + share) == pytest.approx(made.depth, abs=2e-4)


def test_a_canvas_on_its_frame_is_drawn_on_the_face_alone() -> None:
    made = panel(mount="stretched", stretch=(0.01, 0.01))
    assert made.image == made.board == made.canvas == made.face == (300.0, 400.0)
    assert made.face_box == made.image_box
    assert not made.folds and not made.corner_squares and not made.fold_marks
    assert made.cut == (300.0 + 2 * 75, 400.0 + 2 * 75)


def test_fold_marks_lie_in_the_bleed_at_each_fold_and_each_middle() -> None:
    made = panel()
    bleed = shapely.box(*made.image_box).difference(shapely.box(*made.frame_box))
    marks = [shapely.LineString(mark) for mark in made.fold_marks]
    assert len(marks) == 12
    assert all(bleed.buffer(1e-9).covers(mark) for mark in marks)
    at_top = sorted(mark[0][0] for mark in made.fold_marks if mark[0][1] == 0)
    assert at_top == [made.face_box[0], made.image[0] / 2, made.face_box[2]]


def test_without_bleed_there_is_no_place_for_fold_marks() -> None:
    assert panel(bleed=0.0).fold_marks == ()


def test_the_index_pins_stand_as_far_from_either_side() -> None:
    first, second = panel(pin=(30.0, 12.0)).pins
    w, h = panel().board
    assert first == (30.0, h - 12.0)
    assert second == (w - 30.0, h - 12.0)


@pytest.mark.parametrize(
    ("sizes", "limit", "why"),
    [
        ({"face": (0.0, 400.0)}, "above 0", "0 mm x 400 mm"),
        ({"face": (300.0, -1.0)}, "above 0", "-1 mm"),
        ({"depth": -1.0}, "at least 0", "depth"),
        ({"depth": 0.0}, "stretched", "no side"),
        ({"bleed": 151.0}, "at most 150 mm", "half the face"),
        ({"depth": 700.0, "bed": (600.0, 700.0)}, "less than 700 mm", "beyond the bed"),
        ({"stretch": (0.11, 0.0)}, "10 %", "tears"),
    ],
)
def test_a_panel_that_cannot_be_is_refused_with_the_limit_and_why(
    sizes: dict[str, object], limit: str, why: str
) -> None:
    with pytest.raises(InputError) as refused:
        panel(**sizes)
    assert limit in str(refused.value) and why in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_job_file_with_such_sizes_is_told_the_line(tmp_path: Path) -> None:
    job = tmp_path / "moths.toml"
    job.write_text('[canvas]\nface = "12 x 16 in"\ndepth = "1 in"\nbleed = "7 in"\n')
    with pytest.raises(InputError, match=r"moths.toml:4: \[canvas\] bleed: 7 in is more than half"):
        load_job(job, Registry())


def test_a_job_without_a_face_is_told_what_would_do() -> None:
    with pytest.raises(InputError, match="12 x 16 in"):
        Panel.of(job_from_data({"canvas": {"depth": "40 mm"}}, "bare"))
