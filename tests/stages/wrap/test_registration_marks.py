"""Registration marks: a cross in each corner square, which folds away and is not painted."""

import numpy as np
import pytest
import shapely
from on_board import board, tendrils, wrapped

from underdraw import Drawing, Panel
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.panel import Lying, corner_marks
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.stage import tidy
from underdraw_stages.wrap import WrapSettings
from underdraw_stages.wrap.stage import wrap

LAYER = "registration marks"


def marked(**canvas: str) -> tuple[Drawing, dict[str, object], Panel]:
    drawing, panel = board(*tendrils(3), canvas=canvas)
    made, told, _ = wrapped(drawing, "mirror", marks=True)
    return made, told, panel


def test_a_cross_of_6_mm_is_in_the_middle_of_each_corner_square() -> None:
    made, told, panel = marked()
    crosses = made.select(made.layer == LAYER)
    assert crosses.part_lengths().tolist() == [6.0] * 8
    middles = [((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in panel.corner_squares]
    assert told["marks_mm"] == [list(middle) for middle in middles]
    assert made.lying is not None and made.lying.marks == tuple(middles)
    lines = crosses.part_lines()
    for index, middle in enumerate(middles):
        level, upright = lines[2 * index : 2 * index + 2]
        assert shapely.intersection(level, upright).coords[0] == pytest.approx(middle)


def test_no_mark_is_on_the_face_or_a_side() -> None:
    made, _, panel = marked(depth="20 mm", bleed="0 mm")
    crosses = shapely.union_all(made.select(made.layer == LAYER).part_lines())
    squares = shapely.union_all([shapely.box(*square) for square in panel.corner_squares])
    assert crosses.length == pytest.approx(48) and crosses.within(squares)


def test_a_narrow_corner_has_a_smaller_cross_and_the_narrowest_has_none() -> None:
    assert [mark.size for mark in corner_marks(Panel((300, 400), 5.0, 0.0, 25.0))] == [3.0] * 4
    assert corner_marks(Panel((300, 400), 2.0, 0.0, 25.0)) == ()
    assert corner_marks(Panel((300, 400), 40.0, 10.0, 25.0, mount="stretched")) == ()


def test_marks_can_be_left_out() -> None:
    drawing, _ = board(*tendrils(3))
    made, told, _ = wrapped(drawing, "mirror", marks=False)
    assert told["marks_mm"] == [] and LAYER not in set(made.layer)
    assert made.lying is not None and made.lying.marks == ()


def two_markers(*colours: str) -> Drawing:
    """Two vines, of these markers; a third marker, the thinnest, draws nothing."""
    drawing, _ = board(
        [(20, 20), (200, 300)], [(40, 20), (220, 300)], marker=np.array(colours, dtype=object), stroke="#1b1b3a"
    )
    markers = [{"name": name, "tip": tip} for name, tip in (("broad", "1 mm"), ("fine", "0.5 mm"), ("hair", "0.2 mm"))]
    return drawing.replace(job=job_from_data({**drawing.job.data, "marker": markers}, "moths"))


@pytest.mark.parametrize(("used", "chosen"), [(("broad", "fine"), "fine"), (("broad", "broad"), "broad")])
def test_the_thinnest_marker_in_use_draws_them_and_none_is_put_in_for_them_alone(used, chosen) -> None:
    made, *_ = wrapped(two_markers(*used), "plain", marks=True)
    crosses = made.select(made.layer == LAYER)
    assert set(crosses.marker) == {chosen}
    assert set(crosses.stroke_width) == {made.job.marker(chosen).tip}


def test_a_pale_marker_draws_no_marks_where_a_darker_one_is_used() -> None:
    drawing = two_markers("broad", "fine")
    markers = [{**marker, "colour": colour} for marker, colour in zip(
        drawing.job.data["marker"], ("#1b1b3a", "#f4f0d8", "#1b1b3a"), strict=True
    )]  # fmt: skip
    pale = drawing.replace(job=job_from_data({**drawing.job.data, "marker": markers}, "moths"))
    made, *_ = wrapped(pale, "plain", marks=True)
    assert set(made.marker[made.layer == LAYER]) == {"broad"}
    alone = pale.select(pale.marker == "fine")
    made, *_ = wrapped(alone, "plain", marks=True)
    assert set(made.marker[made.layer == LAYER]) == {"fine"}


@pytest.mark.parametrize("colour", ["#1b1b3a", "#ffffff", "#f4f0d8"])
def test_tidy_leaves_every_mark_as_it_is_in_any_ink(colour: str) -> None:
    """No left-over, not doubled, and no edge that the eye hardly sees, not even of a pale marker on bare canvas."""
    drawing, _ = board(*tendrils(3))
    marker = [{"name": "outline", "tip": "0.7 mm", "colour": colour}]
    drawing = drawing.replace(job=job_from_data({**drawing.job.data, "marker": marker}, "moths"))
    made, *_ = wrapped(drawing, "mirror", marks=True)
    left = tidy(made, TidySettings(), TrialContext(Registry())).drawing
    kept = left.select(left.layer == LAYER)
    assert sorted(kept.part_lengths().round(3)) == [6.0] * 8
    assert left.lying is not None and left.lying.marks == made.lying.marks  # type: ignore[union-attr]


def test_marks_travel_on_the_wire_and_turn_with_the_panel() -> None:
    drawing, _ = board(*tendrils(3), turned=True)
    made, *_ = wrapped(drawing, "mirror", marks=True)
    again = read_drawing(write_drawing(made))
    assert again.lying == made.lying
    lying = Lying.of(again, Registry())
    hung = lying.hung_drawing(again)
    crosses = hung.select(hung.layer == LAYER).part_lines()
    for number, middle in enumerate(hung.lying.marks):  # type: ignore[union-attr]
        assert shapely.distance(shapely.Point(middle), crosses[2 * number]) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("bed", "words"),
    [
        ("900 x 900 mm", "4 registration marks in the corners, which fold away"),
        ("600 x 400 mm", "8 registration marks in corners and bleed, out of sight later"),
    ],
)
def test_where_the_marks_are_is_in_the_summary(bed: str, words: str) -> None:
    """A board of 400 x 500 mm on a bed that takes it, and on one that takes it in sections with marks between."""
    canvas = {"face": "300 x 400 mm", "depth": "40 mm", "bleed": "10 mm", "staple": "25 mm"}
    job = job_from_data({"canvas": canvas, "machine": {"bed": bed, "sections": "auto"}}, "moths")
    drawing = board(*tendrils(3))[0].replace(job=job)
    result = wrap(drawing, read_settings(WrapSettings, {}), TrialContext(Registry.installed()))
    assert result.summary.splitlines()[1].strip() == words
    assert len(result.figures["marks_mm"]) == int(words[0])


@pytest.mark.parametrize(
    ("edges", "words"),
    [
        (None, "sides stay bare (--edges mirror or run-on carries the drawing round)"),
        ("plain", "sides plain"),
        ("mirror", "sides mirrored"),
    ],
)
def test_sides_that_nobody_asked_for_are_named_with_what_would_carry_the_drawing_round(edges, words) -> None:  # type: ignore[no-untyped-def]
    drawing, _ = board([(10.0, 20.0), (200.0, 20.0)])
    settings = read_settings(WrapSettings, {} if edges is None else {"edges": edges})
    result = wrap(drawing, settings, TrialContext(Registry()))
    assert result.summary.startswith(f"{words}, image ")
