"""Where a point of the flat canvas ends on the finished panel, and back."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from underdraw import Panel
from underdraw.panel.positions import image_points, in_space, places

PANELS = st.builds(
    Panel,
    face=st.tuples(st.floats(60, 900), st.floats(60, 900)),
    depth=st.floats(1, 120),
    bleed=st.floats(0, 25),
    staple=st.floats(0, 40),
    stretch=st.tuples(st.floats(0, 0.1), st.floats(0, 0.1)),
    mount=st.sampled_from(["board", "stretched"]),
)


@settings(max_examples=100, deadline=None)
@given(panel=PANELS, seed=st.integers(0, 2**31))
def test_the_map_and_its_inverse_agree(panel: Panel, seed: int) -> None:
    x0, y0, x1, y1 = panel.canvas_box
    points = np.random.default_rng(seed).uniform((x0, y0), (x1, y1), (200, 2))
    back = image_points(panel, places(panel, points))
    assert np.abs(back - points).max() < 1e-9


@settings(max_examples=60, deadline=None)
@given(panel=PANELS)
def test_folds_and_edges_land_where_they_should(panel: Panel) -> None:
    x0, y0, x1, y1 = panel.face_box
    corners = places(panel, [(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    w, h = panel.face
    assert corners.names == ["face"] * 4
    assert np.abs(corners.at - [(0, 0), (w, 0), (w, h), (0, h)]).max() < 1e-9
    if panel.wraps:
        bx, by = panel.frame_box[:2]
        backs = places(panel, [((x0 + x1) / 2, by), (bx, (y0 + y1) / 2)])
        assert backs.names == ["top", "left"]
        assert np.abs(backs.at[:, 1] - panel.depth).max() < 1e-9


def test_each_field_of_the_canvas_has_its_place() -> None:
    panel = Panel(face=(300, 400), depth=40, bleed=10, staple=25)
    asked = {
        (200, 200): "face",
        (200, 30): "top",
        (370, 200): "right",
        (200, 470): "bottom",
        (30, 200): "left",
        (200, 5): "behind top",
        (398, 200): "behind right",
        (200, 520): "behind bottom",
        (-20, 200): "behind left",
        (20, 20): "corner top left",
        (380, 20): "corner top right",
        (380, 480): "corner bottom right",
        (20, 480): "corner bottom left",
    }
    assert places(panel, list(asked)).names == list(asked.values())


def test_a_stretched_canvas_brings_the_drawing_to_the_depth_it_was_meant_for() -> None:
    panel = Panel(face=(300, 400), depth=40, bleed=10, staple=25, stretch=(0.006, 0.004))
    x0, y0, x1, _ = panel.face_box
    found = places(panel, [((x0 + x1) / 2, y0 - panel.flat_depth[1] / 2)])
    assert found.names == ["top"]
    assert np.allclose(found.at, [[150, 20]], atol=1e-9)


@settings(max_examples=40, deadline=None)
@given(panel=PANELS, seed=st.integers(0, 2**31))
def test_neighbours_on_the_canvas_stay_neighbours_round_the_frame(panel: Panel, seed: int) -> None:
    """Folding neither tears nor stretches: the way in space is never longer than on the canvas as it is stretched."""
    x0, y0, x1, y1 = panel.image_box
    start = np.random.default_rng(seed).uniform((x0, y0), (x1, y1), (200, 2))
    end = start + np.random.default_rng(seed + 1).uniform(-1, 1, (200, 2))
    here, there = (in_space(panel, places(panel, points)) for points in (start, end))
    seen = ~(np.isnan(here).any(axis=1) | np.isnan(there).any(axis=1))
    apart = np.linalg.norm(here - there, axis=1)[seen]
    drawn = np.linalg.norm((end - start) * panel.scale, axis=1)[seen]
    assert (apart <= drawn * 1.001 + 1e-6).all()


def test_a_corner_that_folds_away_shows_nowhere() -> None:
    panel = Panel(face=(300, 400), depth=40, bleed=10, staple=25)
    assert np.isnan(in_space(panel, places(panel, [(10, 10)]))).all()
