"""Outside check: colours at places, against an independent renderer's picture of the same artwork (resvg)."""

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from rendered import rendered

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.paint.colours import stack_of
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.plugins.parts import Result

SIDE = 100  # mm, user units and pixels
PAGE = f'width="{SIDE}mm" height="{SIDE}mm" viewBox="0 0 {SIDE} {SIDE}"'
SVG = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
SCENES, PLACES = 200, 60
CLEAR_MM = 1.0  # a pixel nearer to an edge is a mixture of both its sides
WITHIN = 2  # of 255
STEEP = 16  # of 255 from a pixel to those around it: a gradient turns back or jumps there
Random = np.random.Generator


def apart(random: Random) -> NDArray[np.float64]:
    """Offsets of two to five stops."""
    return np.sort(random.uniform(0, 1, int(random.integers(2, 6))))


def twice(random: Random) -> NDArray[np.float64]:
    """Offsets of stops of which two or three each lie on one, at the ends of the way, too."""
    once = np.clip(random.uniform(-0.4, 1.4, 2), 0, 1)
    return np.sort(np.repeat(once, random.integers(1, 4, 2)))


def scene(random: Random, stops: Callable[[Random], NDArray[np.float64]] = apart) -> str:
    """Artwork with 4 to 9 shapes at random, most of them painted with gradients, many see-through."""
    defs, shapes = [], []
    for number in range(int(random.integers(4, 10))):
        for part in ("fill", "stroke"):
            defs.append(gradient(f"{part}-{number}", random, stops(random)))
        x, y, w, h = random.uniform(0, 60, 2).round(1).tolist() + random.uniform(15, 60, 2).round(1).tolist()
        outline = (
            f'<rect x="{x}" y="{y}" width="{w}" height="{h}"',
            f'<ellipse cx="{x + w / 2:.1f}" cy="{y + h / 2:.1f}" rx="{w / 2:.1f}" ry="{h / 2:.1f}"',
            f'<path d="M{x},{y}h{w}l{-w / 3:.1f},{h}l{-w / 2:.1f},{-h / 2:.1f}z"',
        )[int(random.integers(3))]
        fill = f"url(#fill-{number})" if random.random() < 0.8 else colour(random)
        words = f' fill="{fill}" fill-opacity="{random.choice([1, 1, 0.7, 0.3])}"'
        if random.random() < 0.3:
            stroke = f"url(#stroke-{number})" if random.random() < 0.7 else colour(random)
            words += f' stroke="{stroke}" stroke-width="{random.uniform(4, 9):.1f}" stroke-opacity="0.8"'
        turn = f' transform="rotate({random.uniform(-40, 40):.1f} 50 50) skewX({random.uniform(-20, 20):.1f})"'
        group = f'<g opacity="{random.choice([1, 0.6])}"{turn if random.random() < 0.5 else ""}>'
        shapes.append(f"{group if 'stroke' not in words else '<g>'}{outline}{words}/></g>")
    return f"<defs>{''.join(defs)}</defs>{''.join(shapes)}"


def gradient(identity: str, random: Random, offsets: NDArray[np.float64]) -> str:
    stops = "".join(
        f'<stop offset="{offset:.3f}" stop-color="{colour(random)}" stop-opacity="{random.choice([1, 1, 0.5, 0])}"/>'
        for offset in offsets
    )
    by_box = random.random() < 0.5
    whole = 1.0 if by_box else float(SIDE)
    words = f'id="{identity}" gradientUnits="{"objectBoundingBox" if by_box else "userSpaceOnUse"}"'
    words += f' spreadMethod="{random.choice(["pad", "reflect", "repeat"])}"'
    if random.random() < 0.5:
        words += f' gradientTransform="rotate({random.uniform(-60, 60):.1f}) scale({random.uniform(0.6, 1.5):.2f} 1)"'
    a, b, c, d = (random.uniform(0.1, 0.9, 4) * whole).round(3).tolist()
    if random.random() < 0.5:
        return f'<linearGradient {words} x1="{a}" y1="{b}" x2="{c}" y2="{d}">{stops}</linearGradient>'
    radius = round(whole * random.uniform(0.2, 0.6), 3)
    fx, fy = a + radius * random.uniform(-0.5, 0.5), b + radius * random.uniform(-0.5, 0.5)
    words += f' cx="{a}" cy="{b}" r="{radius}" fx="{fx:.4f}" fy="{fy:.4f}"'
    return f"<radialGradient {words}>{stops}</radialGradient>"


def colour(random: Random) -> str:
    return "#" + "".join(f"{value:02x}" for value in random.integers(0, 256, 3))


def clear_of_edges(drawing: Drawing, random: Random) -> NDArray[np.int64]:
    """(PLACES, 2) pixels at random, column and row, that no edge of any paint comes near."""
    edges = shapely.union_all(shapely.boundary(stack_of(drawing).area))
    found = random.integers(0, SIDE, (20 * PLACES, 2))
    far = ~shapely.dwithin(shapely.points(found + 0.5), edges, CLEAR_MM)
    return np.asarray(found[far][:PLACES])


def far_off(drawing: Drawing, picture: NDArray[np.float64], random: Random) -> NDArray[np.float64]:
    """(k,) how far the colour at places is from the picture's, of 255.

    Where a gradient is so steep, or jumps, that the pixels around differ by more, a pixel says nothing of its middle.
    """
    at = clear_of_edges(drawing, random)
    shown = 255 * stack_of(drawing).at(at + 0.5).rgb
    around = np.stack(
        [picture[(at[:, 1] + dy) % SIDE, (at[:, 0] + dx) % SIDE] for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
    )
    steep = np.ptp(around, axis=0).max(axis=1) > STEEP
    off = np.abs(np.round(shown) - np.round(picture[at[:, 1], at[:, 0]]))
    return np.asarray(off.max(axis=1)[~steep])


@pytest.mark.slow
@pytest.mark.parametrize("block", range(4))
def test_colours_are_those_that_a_renderer_shows(run: Callable[..., Result], block: int) -> None:
    random = np.random.default_rng(block)
    off = []
    for _ in range(SCENES // 4):
        body = scene(random)
        drawing = run(body, PAGE).drawing
        off.append(far_off(drawing, rendered(f"<svg {SVG} {PAGE}>{body}</svg>", SIDE), random))
    every = np.concatenate(off)
    assert len(every) > 0.8 * PLACES * SCENES / 4
    assert (every <= WITHIN).all(), np.sort(every)[-20:]


def test_hard_stops_show_what_a_renderer_shows_before_and_after_them(run: Callable[..., Result]) -> None:
    """Beside 200 scenes of fades: here a layer's rounding to eight bits may add up to 3 of 255 now and then."""
    random = np.random.default_rng(6)
    off = []
    for _ in range(30):
        body = scene(random, twice)
        off.append(far_off(run(body, PAGE).drawing, rendered(f"<svg {SVG} {PAGE}>{body}</svg>", SIDE), random))
    every = np.concatenate(off)
    assert len(every) > 0.8 * PLACES * 30
    assert (every <= WITHIN).mean() > 0.998 and every.max() <= WITHIN + 1


def test_the_drawing_on_the_wire_looks_like_the_artwork(run: Callable[..., Result]) -> None:
    random = np.random.default_rng(9)
    for _ in range(10):
        body = scene(random)
        written = write_drawing(run(body, PAGE).drawing)
        one, other = rendered(f"<svg {SVG} {PAGE}>{body}</svg>", SIDE), rendered(written.decode(), SIDE)
        assert (np.abs(one - other).max(axis=2) <= WITHIN + 1).mean() > 0.98  # else at the pixels of an edge
        assert write_drawing(read_drawing(written)) == written
