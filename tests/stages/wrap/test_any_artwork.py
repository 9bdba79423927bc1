"""Whatever the artwork and the panel: all stays on the image, out of the corners, and shows the same on both sides.

Corner squares by shapely; which fill shows at a point by its winding, summed over angles.
"""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from on_board import board, crossings, in_corner_squares, wrapped

from underdraw import CannotDo, Drawing, Panel
from underdraw_stages.wrap.side_frame import SideFrame

CANVASES = st.fixed_dictionaries(
    {
        "face": st.sampled_from(["300 x 400 mm", "120 x 77.7 mm", "12 x 16 in"]),
        "depth": st.sampled_from(["1 mm", "20 mm", "10.33 mm"]),
        "bleed": st.sampled_from(["0 mm", "5 mm", "1/2 in"]),
        "stretch": st.sampled_from(["0 % x 0 %", "1 % x 2 %"]),
    }
)
SIDES = ("top", "right", "bottom", "left")
MODES = st.tuples(*[st.sampled_from(["plain", "mirror", "run-on", "drawn"]) for _ in SIDES])


def confetti(seed: int, size: tuple[float, float]) -> tuple[list[NDArray[np.float64]], NDArray[np.object_]]:
    """Random polygons and scribbles over a face and past it, some with corners right on its edges; and their fills."""
    rng = np.random.default_rng(seed)
    lines = []
    for _ in range(rng.integers(1, 12)):
        line = rng.uniform(-0.3, 1.3, (rng.integers(1, 9), 2))
        line = np.round(line * 4) / 4 if rng.random() < 0.4 else line
        line = line * size
        lines.append(np.vstack([line, line[:1]]) if rng.random() < 0.6 else line)
    return lines, np.array([rng.choice(["", "#6b8e4e", "#d9793a", "#1b1b3a"]) for _ in lines], dtype=object)


def scattered(seed: int, canvas: dict[str, str]) -> tuple[Drawing, Panel]:
    _, panel = board(canvas=canvas)
    lines, fill = confetti(seed, panel.flat_face)
    stroke = np.where(fill == "", "#1b1b3a", np.where(np.arange(len(fill)) % 2 == 0, "", "#1b1b3a"))
    return board(*lines, canvas=canvas, fill=fill, stroke=stroke.astype(object), evenodd=seed % 2 == 0)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**31), canvas=CANVASES, modes=MODES, margin=st.sampled_from([0.0, 2.0]))
def test_all_stays_on_the_image_and_out_of_the_corners(
    seed: int, canvas: dict[str, str], modes: tuple[str, ...], margin: float
) -> None:
    drawing, panel = scattered(seed, canvas)
    edges = ", ".join(f"{side} {mode}" for side, mode in zip(SIDES, modes, strict=True))
    try:
        made, *_ = wrapped(drawing, edges, corner_bleed=f"{margin} mm", fold_marks=True)
    except CannotDo as refused:
        assert "nothing of the drawing lies on the face" in str(refused)
        return
    assert (made.coords >= 0).all() and (made.coords <= panel.image).all()
    assert (np.diff(made.shapes) > 0).all() and (np.diff(made.parts) > 0).all()
    artwork = made.select(made.layer != "fold marks")
    assert in_corner_squares(artwork, panel, margin) < 1e-3


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**31), canvas=CANVASES)
@example(seed=14251, canvas={"face": "120 x 77.7 mm", "depth": "20 mm", "bleed": "1/2 in", "stretch": "0 % x 0 %"})
def test_lines_of_any_artwork_meet_their_mirrored_edge(seed: int, canvas: dict[str, str]) -> None:
    drawing, panel = scattered(seed, canvas)
    try:
        made, *_ = wrapped(drawing, "mirror")
    except CannotDo:
        return
    assert crossings(made.select(made.fill == ""), panel)[1] < 0.001


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**31), side=st.sampled_from(SIDES))
def test_a_mirrored_side_shows_the_same_colours_as_the_face(seed: int, side: str) -> None:
    """The topmost fill at any place on the side is that at the place it reflects."""
    drawing, panel = scattered(seed, {})
    try:
        made, *_ = wrapped(drawing, "mirror")
    except CannotDo:
        return
    frame = SideFrame.of(side, panel.face_box, panel.side_width)  # type: ignore[arg-type]
    rng = np.random.default_rng(seed)
    there = frame.points(rng.uniform(frame.low, frame.high, 60), rng.uniform(0, frame.width, 60))
    same = topmost(made, there) == topmost(drawing, frame.reflect(there))
    assert same.mean() > 0.95  # a place on an outline may fall to either side of it


def topmost(drawing: Drawing, points: NDArray[np.float64]) -> NDArray[np.object_]:
    """(n,) the fill that shows at each point, by summed angles."""
    shown = np.full(len(points), "", dtype=object)
    for row in np.flatnonzero(drawing.fill != ""):
        winding = np.zeros(len(points))
        for part in range(drawing.shapes[row], drawing.shapes[row + 1]):
            ring = drawing.part_coords(part)
            arms = np.vstack([ring, ring[:1]])[None] - points[:, None]
            turn = np.diff(np.arctan2(arms[..., 1], arms[..., 0]), axis=1)
            winding += np.round(((turn + np.pi) % (2 * np.pi) - np.pi).sum(axis=1) / (2 * np.pi))
        covered = winding % 2 == 1 if drawing.evenodd[row] else winding != 0
        shown[covered] = drawing.fill[row]
    return shown
