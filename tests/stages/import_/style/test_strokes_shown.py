"""Outside check: what strokes cover, against an independent renderer's picture of them (resvg)."""

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from rendered import rendered

from underdraw.drawing.paint.colours import stack_of
from underdraw.plugins.parts import Result

SIDE, PER_MM, EVERY = 100, 8, 3  # mm; pixels; one pixel of so many each way is looked at
PAGE = f'width="{SIDE}mm" height="{SIDE}mm" viewBox="0 0 {SIDE} {SIDE}"'
BLACK, WHITE = 20, 235  # of 255: a pixel at an edge is in between


def stroke(random: np.random.Generator) -> str:
    """A line of three to seven points with corners at random, open or closed, of any cap, join and miter limit."""
    points = random.uniform(20, 80, (int(random.integers(3, 8)), 2)).round(2)
    words = f'stroke-width="{random.uniform(1, 8):.2f}" stroke-linecap="{random.choice(["butt", "round", "square"])}" '
    words += f'stroke-linejoin="{random.choice(["miter", "miter", "round", "bevel"])}"'
    if random.random() < 0.5:
        words += f' stroke-miterlimit="{random.choice([1, 1.5, 2, 10, 40])}"'
    data = "M" + "L".join(f"{x},{y}" for x, y in points) + ("z" if random.random() < 0.5 else "")
    return f'<path d="{data}" fill="none" stroke="#000" {words}/>'


@pytest.mark.parametrize("block", range(4))
def test_strokes_cover_what_a_renderer_shows_of_them(run: Callable[..., Result], block: int) -> None:
    random = np.random.default_rng(block)
    x, y = np.meshgrid(np.arange(0, SIDE * PER_MM, EVERY), np.arange(0, SIDE * PER_MM, EVERY))
    for _ in range(40):
        body = stroke(random)
        band = shapely.union_all(stack_of(run(body, PAGE).drawing).area)
        shown = rendered(f'<svg xmlns="http://www.w3.org/2000/svg" {PAGE}>{body}</svg>', SIDE * PER_MM)[y, x, 0]
        shapely.prepare(band)
        covered = shapely.contains_xy(band, (x + 0.5) / PER_MM, (y + 0.5) / PER_MM)
        assert covered[shown < BLACK].all() and not covered[shown > WHITE].any(), body
        assert covered.any()
