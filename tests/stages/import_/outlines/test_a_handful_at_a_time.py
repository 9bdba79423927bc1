"""Shapes are flattened a handful at a time, as they are found: the same drawing, and few curves held at once."""

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from underdraw.errors import CannotDo
from underdraw.plugins.parts import Result
from underdraw_stages.import_.file import limits
from underdraw_stages.import_.outlines.path_data import read_path_data
from underdraw_stages.import_.shapes import flattened_shapes
from underdraw_stages.import_.shapes.flattened_shapes import flatten_shapes
from underdraw_stages.import_.shapes.found_shape import FoundShape
from underdraw_stages.import_.style.svg_paint import NO_PAINT, Paint

VINE = "".join(
    f'<path d="M{x},5 c3,4 -2,8 1,11 s-2,7 1,9 M{x},30 h1 M{x},32 l0,0" fill="none" stroke="#1b1b3a" '
    f'stroke-width="0.5" stroke-linecap="round"/><circle cx="{x}" cy="20" r="1.4" fill="#f4f1de"/>'
    for x in range(3, 36, 2)
)
CUT = '<clipPath id="c"><path d="M0,0h40v22h-40z"/></clipPath><g clip-path="url(#c)">' + VINE + "</g>"
DASHED = '<path d="M4,4 h9 v9 h-9 z m12,0 h9 v9 h-9 z" stroke-dasharray="2 1" fill="none" stroke="#264653"/>' + VINE


@pytest.mark.parametrize("body", [VINE, CUT, DASHED], ids=["plain", "cut", "dashed"])
@pytest.mark.parametrize("curves", [1, 7, 40])
def test_the_drawing_is_the_same(
    run: Callable[..., Result], monkeypatch: pytest.MonkeyPatch, body: str, curves: int
) -> None:
    whole = run(body).drawing
    monkeypatch.setattr(flattened_shapes, "CHUNK", curves)
    again = run(body).drawing
    for column in ("coords", "parts", "shapes", "fill", "stroke", "element"):
        assert np.array_equal(getattr(again, column), getattr(whole, column)), column


def circles(count: int, seen: list[FoundShape]) -> Iterator[FoundShape]:
    """Shapes of four curves each; `seen` is given each one when it is found."""
    for at in range(count):
        outline = read_path_data(f"M{at},0 c1,0 1,1 0,1 c-1,0 -1,-1 0,-1 c1,0 1,1 0,1 c-1,0 -1,-1 0,-1 z")
        ink = Paint("#1b1b3a")
        shape = FoundShape(
            outline,
            (1.0, 0, 0, 1.0, 0, 0),
            NO_PAINT,
            ink,
            False,
            0.5,
            "butt",
            "miter",
            (),
            0.0,
            0.0,
            (),
            (),
            "c",
            ink.colour,
        )
        seen.append(shape)
        yield shape


def test_no_more_curves_are_held_than_a_handful(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(flattened_shapes, "CHUNK", 20)
    seen: list[FoundShape] = []
    most = 0

    def watched() -> Iterator[FoundShape]:
        nonlocal most
        for shape in circles(50, seen):
            most = max(most, sum(len(item.outline) for item in seen))
            yield shape

    items, flat = flatten_shapes(watched(), "moth.svg")
    assert items == seen and len(flat.shapes) == 51
    assert 20 <= most < 40
    assert all(item.outline.closed.all() and len(item.outline.closed) == 1 for item in items)


def test_the_most_points_are_those_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    points = len(flatten_shapes(circles(50, []), "moth.svg")[1].coords)
    monkeypatch.setattr(flattened_shapes, "CHUNK", 20)
    monkeypatch.setattr(limits, "MOST_POINTS", points - 1)
    with pytest.raises(CannotDo, match=f"more than {points - 1:,} points"):
        flatten_shapes(circles(50, []), "moth.svg")
    monkeypatch.setattr(limits, "MOST_POINTS", points)
    assert len(flatten_shapes(circles(50, []), "moth.svg")[1].coords) == points
