"""The folded view puts each line where the panel's geometry does."""

import math
import re

import numpy as np
import pytest
from garden_panels import SIX, panel_drawing
from lxml import etree

from underdraw import CannotDo, Drawing, Panel
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.panel.positions import in_space, places
from underdraw.testing.trial import TrialContext
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.stage import preview
from underdraw_stages.preview.views.axonometry import Axonometry
from underdraw_stages.preview.views.folded import UNROLLED, unrolled

SVG = "{http://www.w3.org/2000/svg}"
CORNERS = ("top-right", "top-left", "bottom-right", "bottom-left")


@pytest.mark.parametrize("corner", CORNERS)
def test_the_axes_are_those_of_a_true_dimetric_view(corner: str) -> None:
    # ISO 5456-3 (from memory): 7 and 42 degrees, 1 : 1 : 1/2. Gauss's theorem of axonometry: the squares of the
    # images of three equal axes, as complex numbers, sum to zero in an orthogonal projection.
    view = Axonometry(Panel((300, 400), 40, 10, 25), corner)
    origin = np.array(view.image(0, 0, 0))
    axes = [np.array(view.image(*axis)) - origin for axis in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
    assert [math.hypot(*axis) for axis in axes] == pytest.approx([1, 1, 0.5])
    assert sum(complex(*axis) ** 2 for axis in axes) == pytest.approx(0, abs=1e-12)
    slopes = [math.degrees(math.atan2(abs(axis[1]), abs(axis[0]))) for axis in (axes[0], axes[2])]
    assert slopes == pytest.approx([7.18, 41.41], abs=0.01)


@pytest.mark.parametrize("corner", CORNERS)
@pytest.mark.parametrize("stretch", [(0.0, 0.0), (0.01, 0.02)])
def test_lines_lie_where_the_panel_puts_them(corner: str, stretch: tuple[float, float]) -> None:
    panel = Panel((300, 400), 40, 10, 25, stretch=stretch)
    view = Axonometry(panel, corner)
    rng = np.random.default_rng(7)
    points = rng.uniform((0, 0), panel.image, (400, 2))
    found = places(panel, points)
    space = in_space(panel, found)
    seen = 0
    for name, point, where in zip(found.names, points, space, strict=True):
        if name not in ("face", *view.sides):
            continue
        a, b, c, d, e, f = view.matrix(name)
        drawn = (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)
        assert drawn == pytest.approx(view.image(*where), abs=1e-3)  # board sizes are kept to 1e-4
        seen += 1
    assert seen > 150


def test_the_corner_turned_to_you_shows_its_two_sides(bench: TrialContext) -> None:
    for corner in CORNERS:
        view = Axonometry(Panel((300, 400), 40, 10, 25), corner)
        assert set(view.sides) == set(corner.split("-"))
        outer = view.box
        for side in view.sides:  # a side that shows lies outside the face's outline
            face = np.array(view.outline("face"))
            beyond = [
                not (face.min(0)[0] + 1 < x < face.max(0)[0] - 1 and face.min(0)[1] < y < face.max(0)[1])
                for x, y in view.outline(side)[2:]
            ]
            assert any(beyond)
        assert outer[2] - outer[0] == pytest.approx(300 * math.sqrt(63 / 64) + 40 * 0.375)


def test_a_line_goes_on_over_the_fold_without_a_gap() -> None:
    panel = Panel((300, 400), 40, 10, 25)
    for corner in CORNERS:
        view = Axonometry(panel, corner)
        for side in view.sides:
            (x0, y0), (x1, y1) = panel.folds[side]
            for share in (0.3, 0.5, 0.6):
                point = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
                ends = [
                    (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)
                    for a, b, c, d, e, f in (view.matrix("face"), view.matrix(side))
                ]
                assert ends[0] == pytest.approx(ends[1], abs=1e-9)


@pytest.mark.parametrize("side", UNROLLED)
def test_an_unrolled_side_lies_with_its_front_edge_below(side: str) -> None:
    panel = Panel((300, 400), 40, 10, 25)
    turn, words = UNROLLED[side]  # type: ignore[index]
    a, b, c, d, e, f = unrolled(panel, side, turn, 4.0, 7.0, 100.0)  # type: ignore[arg-type]
    long = panel.face[0] if side in ("top", "bottom") else panel.face[1]

    def put(x: float, y: float) -> tuple[float, float]:
        return a * x + c * y + e, b * x + d * y + f

    fold = [put(*end) for end in panel.folds[side]]  # type: ignore[index]
    back = [put(*end) for end in panel.back_folds[side]]  # type: ignore[index]
    assert {round(y, 6) for _, y in fold} == {110.0}
    assert {round(y, 6) for _, y in back} == {100.0}
    (x0, y0, x1, y1) = panel.face_box
    ends = sorted(
        put(*corner)[0]
        for corner in {
            "top": [(x0, y0), (x1, y0)],
            "bottom": [(x0, y1), (x1, y1)],
            "left": [(x0, y0), (x0, y1)],
            "right": [(x1, y0), (x1, y1)],
        }[side]
    )
    assert ends == pytest.approx([7.0, 7.0 + long / 4])
    begins, ends = (min(fold, key=lambda at: at[0]), max(fold, key=lambda at: at[0]))
    first, last = (
        next(point for point in panel.folds[side] if put(*point) == pytest.approx(at))  # type: ignore[index]
        for at in (begins, ends)
    )
    way = {(1, 0): "from left to right", (-1, 0): "from right to left", (0, 1): "from the top down"}
    step = tuple(int(np.sign(after - before)) for before, after in zip(first, last, strict=True))
    assert words == way.get(step, "from the bottom up")  # y down


def test_sides_follow_one_another_clockwise() -> None:
    # The right end of each unrolled side and the left end of the next are one corner of the face.
    panel = Panel((300, 400), 40, 10, 25)
    (x0, y0, x1, y1) = panel.face_box
    corners = {
        "top": ((x0, y0), (x1, y0)),
        "right": ((x1, y0), (x1, y1)),
        "bottom": ((x1, y1), (x0, y1)),
        "left": ((x0, y1), (x0, y0)),
    }
    for side, (first, last) in corners.items():
        a, _, c, _, e, _ = unrolled(panel, side, UNROLLED[side][0], 4.0, 7.0, 100.0)  # type: ignore[arg-type,index]
        assert a * first[0] + c * first[1] + e == pytest.approx(7.0)
        assert a * last[0] + c * last[1] + e > 7.0


def test_ink_is_written_once_and_shown_seven_times(bench: TrialContext) -> None:
    data = preview(panel_drawing("12 x 16 in"), PreviewSettings(view=("folded",)), bench).files[0].data
    page = etree.fromstring(data)
    assert len(list(page.iter(f"{SVG}use"))) == 3 + 4
    assert len(page.findall(f".//{SVG}g[@id='ink']")) == 1
    clips = {clip.get("id") for clip in page.iter(f"{SVG}clipPath")}
    assert clips == {"face", "top", "right", "bottom", "left"}


def test_a_stretched_panel_shows_bare_sides(bench: TrialContext) -> None:
    data = preview(panel_drawing("stretched 8 x 8 in"), PreviewSettings(view=("folded",)), bench).files[0].data
    assert len(re.findall(b"<use ", data)) == 1


def test_artwork_not_yet_on_a_board_cannot_be_folded(bench: TrialContext) -> None:
    drawing = Drawing.build([[[(0, 0), (1, 1)]]], (10, 10), job_from_data(SIX["4 x 4 in"], "early"), marker="outline")
    with pytest.raises(CannotDo, match="not on its board yet"):
        preview(drawing, PreviewSettings(view=("folded",)), bench)


def test_a_turned_panel_is_folded_as_it_hangs(bench: TrialContext) -> None:
    """However it lies on the bed, the finished panel is the same picture."""
    hung = panel_drawing("16 x 20 in, 2 1/2 in deep")
    width = hung.sheet[1]
    coords = np.column_stack([width - hung.coords[:, 1], hung.coords[:, 0]])  # 90 degrees clockwise
    lies_turned = hung.replace(coords=coords, sheet=hung.sheet[::-1], lying=OnBoard(turned=True, wrapped=True))
    pictures = [
        re.sub(rb"<title>stroke.*?</title>", b"", preview(each, PreviewSettings(view=("folded",)), bench).files[0].data)
        for each in (hung, lies_turned)  # the titles have the time of each stroke: park is at another corner
    ]
    assert pictures[0] == pictures[1]
