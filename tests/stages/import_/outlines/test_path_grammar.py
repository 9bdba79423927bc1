"""The grammar of path data, against svgelements for sound data, and SVG 1.1's F.2 for data with errors."""

import contextlib
import re

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from svgelements import Move
from svgelements import Path as TheirPath

from underdraw.errors import UnderdrawError
from underdraw_stages.import_.outlines.path_data import read_path_data

# svgelements reflects across kinds of curve, where SVG 1.1, 8.3.6 and 8.3.7, start straight
MIXED = re.compile(r"[CcSs][^A-Za-z]*[Tt]|[QqTt][^A-Za-z]*[Ss]")
MANY = 100_000
NEAR = 1e-3  # segments shorter than this are not compared
number = st.floats(-200, 200, allow_nan=False, width=16).map(lambda value: f"{value:.3f}".rstrip("0").rstrip("."))
radius = st.floats(1, 90, width=16).map(lambda value: f"{value:.2f}")
flag = st.sampled_from("01")
ARGUMENTS = {
    "L": [number] * 2, "H": [number], "V": [number], "C": [number] * 6, "S": [number] * 4, "Q": [number] * 4,
    "T": [number] * 2, "A": [radius, radius, number, flag, flag, number, number], "M": [number] * 2,
}  # fmt: skip


@st.composite
def path_data(draw: st.DrawFn) -> str:
    """Sound path data with every command, repeated arguments, and blanks or commas as one likes."""
    words = ["M", draw(number), draw(number)]
    for _ in range(draw(st.integers(1, 8))):
        command = draw(st.sampled_from([*ARGUMENTS, "Z"]))
        words.append(draw(st.sampled_from([command, command.lower()])))
        for _ in range(draw(st.integers(1, 2)) if command != "Z" else 0):
            words += [draw(kind) for kind in ARGUMENTS[command]]
    return draw(st.sampled_from([" ", ",", " , "])).join(words).replace(",M", " M")


def ends_of(data: str) -> list[tuple[float, float]]:
    """Where our segments end."""
    outline = read_path_data(data)
    return [tuple(point) for point in outline.curves[outline.vertex, 3].round(6).tolist()]


@pytest.mark.slow
@settings(max_examples=200, deadline=None)
@given(path_data())
def test_sound_data_is_read_as_an_independent_library_reads_it(data: str) -> None:
    data = " ".join(data.replace(",", " ").split())
    assume(not MIXED.search(data))
    outline = read_path_data(data)
    theirs = [segment for segment in TheirPath(data) if not isinstance(segment, Move)]
    moving = [segment for segment in theirs if abs(segment.start - segment.end) > NEAR]
    first = np.flatnonzero(np.concatenate([[True], outline.vertex[:-1]])) if len(outline) else np.empty(0, dtype=int)
    last = np.flatnonzero(outline.vertex)
    ours = [outline.curves[a : b + 1] for a, b in zip(first, last, strict=True)]
    ours = [curves for curves in ours if np.hypot(*(curves[0, 0] - curves[-1, 3])) > NEAR]
    assert len(ours) == len(moving)
    for curves, segment in zip(ours, moving, strict=True):
        line = shapely.LineString(np.concatenate([_dense(curve) for curve in curves]))
        for share in (0.0, 0.3, 0.7, 1.0):
            point = segment.point(share)
            assert line.distance(shapely.Point(point.x, point.y)) < 0.01, (data, segment, share)


def _dense(curve: NDArray[np.float64]) -> NDArray[np.float64]:
    t = np.linspace(0, 1, 400)[:, None]
    s = 1 - t
    return s**3 * curve[0] + 3 * s * s * t * curve[1] + 3 * s * t * t * curve[2] + t**3 * curve[3]


@pytest.mark.parametrize(
    ("data", "drawn"),
    [
        ("M0 0 L1 0 L2", 1),
        ("M0 0 L1 0 2 0 3", 2),
        ("M0 0 L1 0 K 2 0", 1),
        ("M0 0 L1 0 L2 0,", 2),
        ("M0 0 L1 0 L 2 0 #", 2),
        ("M0 0 C1 1 2 2 3 3 4 4", 1),
        ("M0 0 H1 V2 Hx", 2),
        ("M0 0 A1 1 0 0 1 2 0 A1 1 0 2 1 4 0", 1),
        ("M0 0 A1 1 0 0 1 2", 0),
        ("M0 0 L1 1 Z 5 5 L9 9", 2),
        ("M0 0 L1 0 M", 1),
        ("L1 1", 0),
        ("0 0 L1 1", 0),
        ("M", 0),
        ("M0 0 L1e 5", 0),
        ("M0 0 L1 0 L nan 5", 1),
        ("M0 0 L1 0 L+-2 5", 1),
    ],
)
def test_data_with_an_error_is_drawn_up_to_the_last_good_segment(data: str, drawn: int) -> None:
    """Source: SVG 1.1 (2nd ed.), appendix F.2."""
    outline = read_path_data(data)
    segments = int(outline.vertex.sum())
    assert (segments, outline.cut_short) == (drawn, True)


@pytest.mark.parametrize(
    ("packed", "plain"),
    [
        ("M10-20L.5.5-.5-.5", "M 10 -20 L 0.5 0.5 L -0.5 -0.5"),
        ("M1e1-2E1l1e+1,1e-1", "M 10 -20 l 10 0.1"),
        ("M0 0a5 5 0 0110 0", "M 0 0 a 5 5 0 0 1 10 0"),
        ("M0 0a5,5,0,1,110,0a5 5 0 00-10 0", "M 0 0 a 5 5 0 1 1 10 0 a 5 5 0 0 0 -10 0"),
        ("m1 1 2 2 3 3", "M 1 1 l 2 2 l 3 3"),
        ("M 1. 2. L 3. 4.", "M 1 2 L 3 4"),
        ("M+1+2L+3+4", "M 1 2 L 3 4"),
        ("\tM\n1\r2\fL3 4", "M 1 2 L 3 4"),
    ],
)
def test_packed_data_is_the_same_as_plain(packed: str, plain: str) -> None:
    assert ends_of(packed) == ends_of(plain)
    assert not read_path_data(packed).cut_short


def test_a_close_after_a_close_draws_nothing_more() -> None:
    assert len(read_path_data("M0 0 L1 0 L1 1 Z Z z").parts) == 2


def test_data_of_digits_alone_is_read_at_once() -> None:
    """A grammar of nested repeats would try every way to split them."""
    assert read_path_data("M0 0 L" + "1" * 200_000 + "x").cut_short
    assert read_path_data("M0 0 L" + "1," * 200_000 + ",x").cut_short


@pytest.mark.slow
@pytest.mark.parametrize("digits", ["4" * MANY, "4" + " " * MANY, "4" + "," * MANY, "4 " * MANY, "a" * MANY])
def test_values_of_one_thing_alone_are_read_at_once(digits, run) -> None:  # type: ignore[no-untyped-def]
    wing = '<path d="M5 5L30 5L30 30" fill="none" stroke="#000"/>'
    for body in (
        f'<rect width="{digits}x" height="3"/>',
        f'<g transform="rotate({digits}x"><path d="M0 0H9V9"/></g>',
        f'<g opacity="{digits}x" stroke-dasharray="{digits}x" font-size="{digits}%x"><path d="M0 0H9V9"/></g>',
        f'<g style="font:{digits}x"><path d="M0 0H9V9"/></g>',
        f'<symbol id="s" viewBox="0 0 {digits}x 4"><path d="M0 0H9V9"/></symbol><use href="#s" width="{digits}x"/>',
        f'<polyline points="{digits}x"/>',
        f'<path d="M0 0H9V9" fill="url({digits}x" stroke="red {digits}x" transform="{digits}("/>',
        f'<path d="M0 0H9V9" clip-path="url(#{digits}" class="{digits}" systemLanguage="en,{digits}"/>',
        f'<style media="{digits}x">a{{}}</style><style>{digits}{{fill:{digits}}} @media {digits}x {{}}</style>',
    ):
        with contextlib.suppress(UnderdrawError):  # a style with a number of so many digits, or as many selectors
            run(body + wing)
    run(wing, head=f'width="{digits}x" height="40mm" viewBox="0 0 {digits}x 4"')


def test_an_arc_turned_out_of_all_measure_is_a_line() -> None:
    assert len(read_path_data("M5 5A3 4 1e400 0 1 9 9").curves) == 1
